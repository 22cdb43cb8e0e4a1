"""One's own wishes about mail: each at once, once a day or none, and quiet hours."""

import re
from datetime import time
from functools import partial
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import preference
from accounts.commands.entry import Answer
from accounts.gate import ActView
from accounts.models import Mailing, Preference
from darkroom_service.api import etag
from darkroom_service.api.fields import Flag, Shape, Whole, fault

WALL = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)


@extend_schema_field({"type": "string", "pattern": f"^{WALL.pattern}$", "examples": ["22:00"]})
class WallTime(serializers.Field):
    """A time of day by the darkroom's clock, such as 22:00."""

    def to_internal_value(self, data: Any) -> time:
        """Return the time."""
        if not isinstance(data, str) or not WALL.fullmatch(data):
            raise fault("time.malformed", "a time of day is a string such as 22:00")
        return time.fromisoformat(data)

    def to_representation(self, value: Any) -> str:
        """Return hours and minutes."""
        return f"{value:%H:%M}"


class PreferenceIn(Shape):
    """What one may wish; what is left out stays. Notices of safety pass all of it."""

    mail = serializers.ChoiceField(Mailing.choices, required=False)
    digest_hour = Whole(low=0, high=23, required=False, help_text="When the daily mail goes out, by the local clock.")
    quiet_from = WallTime(required=False, allow_null=True)
    quiet_until = WallTime(required=False, allow_null=True)


class PreferenceOut(serializers.Serializer):
    """One's own wishes; ``reachable`` is false without an address or where mail is not set up: the inbox only."""

    mail = serializers.ChoiceField(Mailing.choices)
    digest_hour = Whole(low=0, high=23)
    quiet_from = WallTime(allow_null=True)
    quiet_until = WallTime(allow_null=True)
    reachable = Flag()


class PreferencesView(ActView):
    """One's own wishes."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.PREFERENCE_READ, "PATCH": Act.PREFERENCE_EDIT}

    @extend_schema(operation_id="preferences_read", responses=PreferenceOut)
    def get(self, request: Request, slug: str) -> Response:
        """Read how one is written to."""
        wishes = preference.of(self.member)
        body = PreferenceOut(_shown(wishes)).data
        return etag.answer(request, body, self.member.public_id, wishes.version)

    @extend_schema(operation_id="preferences_edit", request=PreferenceIn, responses=PreferenceOut)
    def patch(self, request: Request, slug: str) -> Response:
        """Change how one is written to."""
        unchanged = partial(etag.check, request, self.member.public_id)
        preference.edit(self.ask(request, word=_edited), PreferenceIn.read(request.data), unchanged=unchanged)
        return self.get(request, slug)


def _shown(wishes: Preference) -> dict[str, Any]:
    names = ("mail", "digest_hour", "quiet_from", "quiet_until")
    return {**{name: getattr(wishes, name) for name in names}, "reachable": preference.reachable(wishes.membership)}


def _edited(wishes: Preference) -> Answer:
    return Answer(200, {"version": wishes.version})
