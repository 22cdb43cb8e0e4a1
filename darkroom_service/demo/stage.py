"""The stage the demo plays on: people act through the commands, each act at its own time and under its own key.

Keys follow from the act's place in the play, so a load that broke off goes on where it stopped when it is run again.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, TypeVar
from uuid import NAMESPACE_URL, UUID, uuid5
from zoneinfo import ZoneInfo

from django.db.models import Model

from accounts.commands.entry import Answer, Ask
from darkroom_service import clock

SLUG = "mirefield"
ZONE = "Europe/Berlin"
DAYS = 70
M = TypeVar("M", bound=Model)


@dataclass
class Stage:
    """The play so far: its first day, who is on stage, and how many acts there were."""

    first: date
    darkroom_id: int = 0
    people: dict[str, int] = field(default_factory=dict)
    members: dict[str, UUID] = field(default_factory=dict)
    things: dict[str, UUID] = field(default_factory=dict)
    now: datetime = field(default_factory=lambda: datetime.min.replace(tzinfo=UTC))
    acts: int = 0

    def day(self, number: int, at: str = "16:00") -> None:
        """Go to a time of a day of the play, in the darkroom's zone; the play only goes forward."""
        self.now = max(self.now, self.moment(number, at))

    def moment(self, number: int, at: str) -> datetime:
        """Return an instant of the play."""
        local = datetime.combine(self.first + timedelta(days=number), time.fromisoformat(at), tzinfo=ZoneInfo(ZONE))
        return local.astimezone(UTC)

    def act(
        self, who: str, command: Callable[..., Any], *args: Any, occurred_at: datetime | None = None,
        on_behalf_of: str = "", **given: Any,
    ) -> UUID:  # fmt: skip
        """Let somebody do something now, and return the id of what came of it (the first, if there are several)."""
        return self.acted(who, command, *args, occurred_at=occurred_at, on_behalf_of=on_behalf_of, **given)[0]

    def acted(
        self, who: str, command: Callable[..., Any], *args: Any, occurred_at: datetime | None = None,
        on_behalf_of: str = "", **given: Any,
    ) -> list[UUID]:  # fmt: skip
        """Let somebody do something now, and return the ids of all that came of it."""
        self.acts += 1
        place = f"{SLUG}/{self.acts}/{command.__module__}.{command.__name__}"
        ask = Ask(
            self.darkroom_id, self.people[who], uuid5(NAMESPACE_URL, place), hashlib.sha256(place.encode()).hexdigest(),
            occurred_at, self.members[on_behalf_of] if on_behalf_of else None, _ids,
        )  # fmt: skip
        with clock.fixed(self.now):
            receipt = command(ask, *args, **given)
        self.now += timedelta(minutes=1)
        return [UUID(each) for each in receipt.answer.body["ids"]]


def found(model: type[M], public_id: UUID) -> M:
    """Return a row of the play as it stands now."""
    return model._default_manager.get(public_id=public_id)


def _ids(made: Any) -> Answer:
    """Word what a command made by its public ids, whatever it is wrapped in."""
    rows = made if isinstance(made, list) else [made]
    return Answer(201, {"ids": [str(_row(each).public_id) for each in rows]})


def _row(made: Any) -> Any:
    made = made[0] if isinstance(made, tuple) else made
    for name in ("check_in", "reading", "line"):
        if not hasattr(made, "public_id") and hasattr(made, name):
            return getattr(made, name)
    return made
