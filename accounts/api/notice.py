"""One's own inbox: list, read, done, put off; and the kinds there are, how early they come and which one is spared."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import heartbeat, notice
from accounts.commands.entry import Answer
from accounts.gate import ActView, unseen
from accounts.models import Notice, NoticeLead, NoticeMute
from darkroom_service import clock
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, DayField, Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of
from darkroom_service.due import DAYS, KINDS, PACKS, PERCENT


class NoticeOut(serializers.Serializer):
    """Something one must be told."""

    id = Id(source="public_id")
    kind = Code(max_length=40)
    text = Text(max_length=1000)
    path = Text(max_length=200, help_text="What it is about, below the darkroom's own address.")
    safety = Flag()
    due_on = DayField()
    posted_at = InstantField()
    read_at = InstantField(allow_null=True)
    done_at = InstantField(allow_null=True)
    snoozed_until = InstantField(allow_null=True)


class NoticeFilter(QueryShape):
    """Which of one's notices to list."""

    unread = serializers.ChoiceField(["true"], required=False)
    open = serializers.ChoiceField(["true"], required=False, help_text="Neither done nor put off until later.")
    kind = Code(max_length=40, required=False)


class SnoozeIn(Shape):
    """Until when a notice is put off."""

    until = InstantField()


class LeadIn(Shape):
    """How early the darkroom is told, in the kind's own unit."""

    lead = Whole(low=0, high=32767)


class LeadSet(serializers.Serializer):
    """The lead now in force."""

    kind = Code(max_length=40)
    lead = Whole(low=0, high=32767)


class KindOut(serializers.Serializer):
    """A kind of notice, with the lead in force here and whether one is spared it."""

    kind = Code(max_length=40)
    title = Text(max_length=120)
    safety = Flag(help_text="Nobody is spared it.")
    muted = Flag()
    lead = Whole(low=0, high=32767, allow_null=True, help_text="How early; null for what is told when it happens.")
    unit = serializers.ChoiceField(["", DAYS, PERCENT, PACKS])


class KindsOut(serializers.Serializer):
    """All kinds there are."""

    items = KindOut(many=True)


class InInbox(ActView):
    """What every view of the inbox looks among."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.NOTICE_READ}
    keyed = False

    def mine(self) -> QuerySet[Notice]:
        """Return one's own notices."""
        return Notice.objects.filter(to=self.member)


class NoticesView(InInbox):
    """The inbox."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.NOTICE_READ}

    @extend_schema(operation_id="notices_list", parameters=[NoticeFilter, *PAGE], responses=page_of(NoticeOut))
    def get(self, request: Request, slug: str) -> Response:
        """List one's own notices, newest first."""
        heartbeat.tell_if_silent(self.member)
        given = NoticeFilter.read_query(request)
        rows: Any = self.mine()
        if "open" in given:
            rows = rows.open(clock.now())
        if "unread" in given:
            rows = rows.filter(read_at=None)
        if "kind" in given:
            rows = rows.filter(kind=given["kind"])
        return paging.page(request, rows, lambda found: NoticeOut(found, many=True).data)


class ReadingView(InInbox):
    """That a notice was read."""

    @extend_schema(operation_id="notices_read", request=None, responses={204: None})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Mark a notice of one's own as read; again does no harm."""
        notice.read(self.find(self.mine(), id))
        return Response(status=status.HTTP_204_NO_CONTENT)


class DoneView(InInbox):
    """That a notice is dealt with."""

    @extend_schema(operation_id="notices_do", request=None, responses={204: None})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Mark a notice of one's own as done; again does no harm."""
        notice.do(self.find(self.mine(), id))
        return Response(status=status.HTTP_204_NO_CONTENT)


class SnoozeView(InInbox):
    """That a notice is put off."""

    @extend_schema(operation_id="notices_snooze", request=SnoozeIn, responses={204: None})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Put a notice of one's own off until a stated time; again moves that time."""
        row = self.find(self.mine(), id)
        notice.snooze(row, SnoozeIn.read(request.data)["until"])
        return Response(status=status.HTTP_204_NO_CONTENT)


class KindsView(ActView):
    """The kinds of notices."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.NOTICE_READ}

    @extend_schema(operation_id="notice_kinds_list", responses=KindsOut)
    def get(self, request: Request, slug: str) -> Response:
        """List all kinds, with the leads of this darkroom and what one has muted."""
        leads = dict(NoticeLead.objects.filter(darkroom=self.darkroom).values_list("kind", "lead"))
        muted = set(NoticeMute.objects.filter(member=self.member).values_list("kind", flat=True))
        rows = [
            {
                "kind": code, "title": each.title, "safety": each.safety, "muted": code in muted, "unit": each.unit,
                "lead": leads.get(code, each.lead),
            }
            for code, each in KINDS.items()
        ]  # fmt: skip
        return Response(KindsOut({"items": rows}).data)


class OfKind(ActView):
    """What every view of one kind asks first: that there is such a kind."""

    @staticmethod
    def known(kind: str) -> str:
        """Return the kind by that code, or 404."""
        if kind not in KINDS:
            raise unseen()
        return kind


class MutingView(OfKind):
    """That one is spared a kind."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.NOTICE_READ, "DELETE": Act.NOTICE_READ}
    keyed = False

    @extend_schema(operation_id="notice_kinds_mute", request=None, responses={204: None})
    def post(self, request: Request, slug: str, kind: str) -> Response:
        """Mute a kind for oneself; a safety kind is refused."""
        notice.mute(self.member, self.known(kind))
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(operation_id="notice_kinds_unmute", request=None, responses={204: None})
    def delete(self, request: Request, slug: str, kind: str) -> Response:
        """Be told of a kind again."""
        notice.unmute(self.member, self.known(kind))
        return Response(status=status.HTTP_204_NO_CONTENT)


class LeadView(OfKind):
    """How early the darkroom is told of a kind."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.NOTICE_LEAD}

    @extend_schema(operation_id="notice_kinds_lead", request=LeadIn, responses={200: LeadSet})
    def post(self, request: Request, slug: str, kind: str) -> Response:
        """Set the lead of a kind for the whole darkroom."""
        given = LeadIn.read(request.data)
        return self.answer(notice.set_lead(self.ask(request, word=_lead), self.known(kind), lead=given["lead"]))


def _lead(row: NoticeLead) -> Answer:
    return Answer(200, {"kind": row.kind, "lead": row.lead})
