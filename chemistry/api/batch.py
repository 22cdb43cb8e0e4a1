"""Batches: list, read, ask for one, and its way from approval to release or withdrawal."""

from collections.abc import Callable
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Q, QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView
from chemistry.api.batchwords import BatchChanged, BatchOut, brief, shown
from chemistry.commands import batch
from chemistry.models import Batch, BatchState
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import DayField, DecimalText, Id, InstantField, Shape, Text
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of


class BatchIn(Shape):
    """What to mix: sealed packs of one formula, each whole."""

    formula = Id()
    packs = serializers.ListField(child=Id(), allow_empty=False, max_length=20)
    share = DecimalText(low=0, high=1, places=4, required=False, help_text="Of each packet: 1, which is the whole.")
    mix_on = DayField(required=False, help_text="When one means to mix it: sign-offs are looked at for that day.")


class NoteIn(Shape):
    """A word along with it."""

    note = Text(max_length=500, allow_blank=True, default="")


class ReasonIn(Shape):
    """Why."""

    reason = Text(max_length=500)


class WithdrawalIn(ReasonIn):
    """Why, and when the batch was put aside."""

    occurred_at = InstantField(required=False)


class BatchFilter(QueryShape):
    """Which batches to list."""

    formula = Id(required=False, help_text="Of this formula only.")
    state = serializers.ChoiceField(BatchState.choices, required=False, help_text="In this state now.")


def made(row: Batch) -> Answer:
    """Word a new batch."""
    address = f"/api/v1/darkrooms/{row.darkroom.slug}/batches/{row.public_id}"
    return Answer(201, brief(row), address)


def changed(row: Batch) -> Answer:
    """Word a change of state."""
    return Answer(200, brief(row))


class InBatches(ActView):
    """What every view of batches looks among."""

    def batches(self) -> QuerySet[Batch]:
        """Return the batches of this darkroom, each with what is shown of it."""
        people = ("requested_by", "approved_by", "mixed_by", "released_by")
        rows = Batch.objects.filter(darkroom=self.darkroom)
        return rows.select_related("darkroom", "formula_version__formula", *people).prefetch_related("packs", "vessels")


class BatchesView(InBatches):
    """All batches."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BATCH_READ, "POST": Act.BATCH_REQUEST}

    @extend_schema(operation_id="batches_list", parameters=[BatchFilter, *PAGE], responses=page_of(BatchOut))
    def get(self, request: Request, slug: str) -> Response:
        """List batches, the latest first."""
        rows, now = _filtered(self.batches(), request), clock.now()
        return paging.page(request, rows, lambda found: [shown(row, self.member, now) for row in found])

    @extend_schema(operation_id="batches_request", request=BatchIn, responses={201: BatchChanged})
    def post(self, request: Request, slug: str) -> Response:
        """Ask for a batch to be mixed."""
        given = BatchIn.read(request.data)
        return self.answer(batch.request(self.ask(request, word=made), **given))


class BatchView(InBatches):
    """One batch."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BATCH_READ}

    @extend_schema(operation_id="batches_read", responses=BatchOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a batch with every step on its way."""
        row = self.find(self.batches(), id)
        steps = row.steps.select_related("by", "entry").order_by("id")
        return Response(shown(row, self.member, clock.now(), steps))


class StepView(InBatches):
    """A change of a batch's state: a shape to read and a command to run."""

    shape: ClassVar[type[Shape]] = NoteIn
    command: ClassVar[Callable[..., Any]]

    def take(self, request: Request, id: UUID) -> Response:
        """Run the command on the batch with what was given."""
        row = self.find(Batch.objects.filter(darkroom=self.darkroom), id)
        given = self.shape.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        return self.answer(type(self).command(self.ask(request, word=self.worded, **claims), row, **given))

    def worded(self, row: Batch) -> Answer:
        """Word what came of it."""
        return changed(row)


class ApprovalView(StepView):
    """The approval of a batch."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_APPROVE}
    command = staticmethod(batch.approve)

    @extend_schema(operation_id="batches_approve", request=NoteIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Approve a request, as somebody else than who asked."""
        return self.take(request, id)


class RejectionView(StepView):
    """The rejection of a batch."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_APPROVE}
    shape = ReasonIn
    command = staticmethod(batch.reject)

    @extend_schema(operation_id="batches_reject", request=ReasonIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Say no before it is mixed; its packs are free again."""
        return self.take(request, id)


class CancellationView(StepView):
    """The cancellation of a batch."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_CANCEL}
    shape = ReasonIn
    command = staticmethod(batch.cancel)

    @extend_schema(operation_id="batches_cancel", request=ReasonIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a request back before it is mixed; its packs are free again."""
        return self.take(request, id)


class ReleaseView(StepView):
    """The release of a batch."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_RELEASE}
    command = staticmethod(batch.release)

    @extend_schema(operation_id="batches_release", request=NoteIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Release a rested and tested batch, as somebody else than who mixed it."""
        return self.take(request, id)


class WithdrawalView(StepView):
    """The withdrawal of a batch."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_WITHDRAW}
    shape = WithdrawalIn
    command = staticmethod(batch.withdraw)

    @extend_schema(operation_id="batches_withdraw", request=WithdrawalIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Take a batch and all made from it out of use for good; everybody who used it is told."""
        return self.take(request, id)


def _filtered(rows: QuerySet[Batch], request: Request) -> QuerySet[Batch]:
    """Narrow down by the address's query; a rest that is over counts as mixed."""
    given = BatchFilter.read_query(request)
    if "formula" in given:
        rows = rows.filter(formula_version__formula__public_id=given["formula"])
    rested = Q(state=BatchState.RESTING, rest_until__lte=clock.now())
    match given.get("state"):
        case BatchState.MIXED:
            return rows.filter(Q(state=BatchState.MIXED) | rested)
        case BatchState.RESTING:
            return rows.filter(~rested, state=BatchState.RESTING)
        case None:
            return rows
        case state:
            return rows.filter(state=state)


urls = [
    path("batches", BatchesView.as_view()),
    path("batches/<uuid:id>", BatchView.as_view()),
    path("batches/<uuid:id>/approval", ApprovalView.as_view()),
    path("batches/<uuid:id>/rejection", RejectionView.as_view()),
    path("batches/<uuid:id>/cancellation", CancellationView.as_view()),
    path("batches/<uuid:id>/release", ReleaseView.as_view()),
    path("batches/<uuid:id>/withdrawal", WithdrawalView.as_view()),
]
