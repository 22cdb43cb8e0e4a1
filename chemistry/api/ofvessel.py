"""What the acts on one vessel share: the claims a report may make, and the way from a body to a command."""

from typing import Any, ClassVar
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from chemistry.api.vessel import InVessels
from darkroom_service.api.fields import Id, InstantField, Shape, Text


class Claims(Shape):
    """When it happened, if not now, and whose doing it was, if written down for somebody else."""

    occurred_at = InstantField(required=False)
    on_behalf_of = Id(required=False)


class ReasonIn(Claims):
    """Why."""

    reason = Text(max_length=500)


class ReversalIn(Shape):
    """Why an entry is taken back."""

    reason = Text(max_length=500)


class OfVessel(InVessels):
    """A POST about one vessel: a shape to read, a command to run, words for the answer."""

    shape: ClassVar[type[Shape]] = ReasonIn

    def take(self, request: Request, id: UUID, command: Any, word: Any) -> Response:
        """Run the command on the vessel with what was given."""
        row = self.find(self.vessels(), id)
        given = self.shape.read(request.data)
        claims = {name: given.pop(name, None) for name in ("occurred_at", "on_behalf_of")}
        return self.answer(command(self.ask(request, word=word, **claims), row, **given))
