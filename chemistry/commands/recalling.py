"""Calling back what was done with a vessel: everybody who used it since it was last known to be good is told."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from accounts.acts import Act
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Membership, Notice
from chemistry.commands import reach
from chemistry.commands.vessel import reread
from chemistry.models import Vessel
from darkroom_service.refusal import Clash

MOST_WORDS = 1000


@dataclass(frozen=True)
class Recall:
    """A recall made: since when the vessel is in doubt, and who was told."""

    vessel: Vessel
    since: datetime | None
    told: tuple[Membership, ...]


@command(Act.VESSEL_RECALL)
def recall(work: Work, vessel: Vessel, *, reason: str) -> Recall:
    """Tell everybody who used a vessel since its last good test; it is no stop, which anyone may make besides."""
    row = reread(vessel)
    if row.batch is None:
        raise Clash("vessel.unused", "Nothing was ever in this vessel, so nobody can have used it.")
    since = reach.last_good(row, row.batch)
    users = reach.users(row, since, None)
    text = (
        f"{row.name} ({row.code}) is in doubt: {reason} You used it since it was last known to be good; look at what"
        " you made with it, and ask the technician before you use the bath's kind again."
    )
    notice.post_locked(
        work, kind="recall", subject=f"recall:{row.public_id}:{work.seq}", text=text[:MOST_WORDS], path=path(row),
        to=users, safety=True,
    )  # fmt: skip
    return Recall(row, since, tuple(users))


def reached(vessel: Vessel) -> set[int]:
    """Return the memberships of who used a vessel since its last good test, and of who was told of it before."""
    used = {each.pk for each in reach.users(vessel, reach.last_good(vessel, vessel.batch), None)}
    rows: set[int] = set(_told(vessel).values_list("to", flat=True))
    return used | rows


def tellings(vessel: Vessel, members: list[Membership]) -> dict[int, Notice]:
    """Return the latest recall of a vessel that each of these people was told."""
    rows = _told(vessel).filter(to__in=members).order_by("posted_at", "pk")
    return {row.to_id: row for row in rows}


def _told(vessel: Vessel) -> QuerySet[Notice]:
    return Notice.objects.filter(darkroom=vessel.darkroom_id, kind="recall", path=path(vessel))


def path(vessel: Vessel) -> str:
    """Return the path of a vessel below its darkroom's address."""
    return f"vessels/{vessel.public_id}"
