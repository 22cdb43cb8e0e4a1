"""What is coming, day by day, for one member's calendar: each app says its own, and this one gathers."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.utils.module_loading import import_string

from accounts.acts import GRANTS, Act
from accounts.models import Membership, SignOff
from darkroom_service import clock
from darkroom_service.localday import day_of

MOST = 500


@dataclass(frozen=True)
class Coming:
    """Something on one local day, without anybody's name.

    ``uid`` stays when the day moves, and ``sequence`` grows with each change of the thing (RFC 5545 3.8.4.7 and
    3.8.7.4). ``since`` is an instant that stays too. A notice of the kind ``instead_of`` about the same ``path`` says
    no more than this does.
    """

    uid: str
    day: date
    title: str
    path: str
    since: datetime
    sequence: int = 0
    instead_of: str = ""


def of(member: Membership) -> list[Coming]:
    """Return what this member may see of what is coming; rights are those of now."""
    sources: list[Callable[[Membership], list[Coming]]] = [import_string(name) for name in settings.FEED_SOURCES]
    return [each for source in sources for each in source(member)]


def may(member: Membership, act: Act) -> bool:
    """Tell whether a role that a member holds now grants an act."""
    return member.holds(*GRANTS[act].roles)


def today(member: Membership) -> date:
    """Return the darkroom's local day."""
    return day_of(clock.now(), member.darkroom.zone)


def sign_offs(member: Membership) -> list[Coming]:
    """Return the last days of one's own sign-offs: a new version of the topic may end one before its time."""
    rows = SignOff.objects.filter(trainee=member).standing(clock.now()).with_names().order_by("id")
    return [
        Coming(
            str(row.public_id),
            day_of(row.counts_until - timedelta(microseconds=1), member.darkroom.zone),
            f"Sign-off ends: {row.topic.name}",
            f"sign-offs/{row.public_id}",
            row.valid_from,
            sequence=int(row.counts_until < row.expires_at),
            instead_of="sign-off-expiring",
        )
        for row in rows[:MOST]
    ]
