"""The gate of every view inside a darkroom: visible or 404, permitted or 403.

A view says ``acts = {"GET": Act.X_READ, "POST": Act.X_CREATE}``. What no role of the asker grants is refused here,
before anything is read; a write is judged again inside the command, after the lock, and that judgement counts. A report
passes: its command also looks at the roles held when it happened.
"""

import uuid
from collections.abc import Callable
from datetime import datetime
from typing import Any, ClassVar, TypeVar

from django.db.models import Model, QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.acts import GRANTS, Act
from accounts.commands.entry import Answer, Ask, Receipt, by_id, permit
from accounts.models import Darkroom, Membership
from darkroom_service import clock
from darkroom_service.api import keys
from darkroom_service.api.fields import Id
from darkroom_service.refusal import NotFound

READING = frozenset({"GET", "HEAD", "OPTIONS"})
M = TypeVar("M", bound=Model)


def unseen() -> NotFound:
    """Return the one answer for what is not yours and for what is not there."""
    return NotFound("thing.unknown", "There is nothing here by that name.")


class Made(serializers.Serializer):
    """What is answered when something was made: its id; the Location header says where it is."""

    id = Id()


class ActView(APIView):
    """A view inside ``/darkrooms/{slug}/``; ``acts`` names the right behind each method."""

    acts: ClassVar[dict[str, Act]] = {}
    member: Membership

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        self.member = self.resolve(kwargs["slug"], request)
        act = self.acts.get("GET" if request.method in READING else str(request.method))
        if act and not GRANTS[act].report:
            now = clock.now()
            permit(self.member, act, occurred_at=now, now=now)

    @staticmethod
    def resolve(slug: str, request: Request) -> Membership:
        """Return the asker's membership of the darkroom by that name, or 404."""
        mine = Membership.objects.active().filter(darkroom__slug=slug, person=request.user.pk)
        if found := mine.select_related("darkroom").first():
            return found
        raise unseen()

    @property
    def darkroom(self) -> Darkroom:
        return self.member.darkroom

    def find(self, rows: QuerySet[M], public_id: uuid.UUID) -> M:
        """Return the row by that public id among ``rows`` (already limited to this darkroom), or 404."""
        if row := rows.filter(public_id=public_id).first():
            return row
        raise unseen()

    def made(self, collection: str) -> Callable[[Any], Answer]:
        """Return the wording of a thing made: its id, and its address in a collection of this darkroom."""

        def word(row: Any) -> Answer:
            address = f"/api/v1/darkrooms/{self.darkroom.slug}/{collection}/{row.public_id}"
            return Answer(201, {"id": str(row.public_id)}, address)

        return word

    def ask(
        self,
        request: Request,
        *,
        word: Callable[[Any], Answer] = by_id,
        occurred_at: datetime | None = None,
        on_behalf_of: uuid.UUID | None = None,
    ) -> Ask:
        """Gather who asks for what under which key; a POST must carry one, a PATCH is guarded by If-Match instead."""
        key = keys.idempotency_key(request) if request.method == "POST" else uuid.uuid4()
        said = keys.digest(str(request.method), request.path, request.data)
        return Ask(self.darkroom.pk, self.member.person_id, key, said, occurred_at, on_behalf_of, word)

    @staticmethod
    def answer(receipt: Receipt) -> Response:
        """Answer as stored; a replay says so in a header and is otherwise alike to the byte."""
        headers = {"Location": receipt.answer.location} if receipt.answer.location else {}
        if receipt.replayed:
            headers["Idempotency-Replayed"] = "true"
        return Response(receipt.answer.body, status=receipt.answer.status, headers=headers)
