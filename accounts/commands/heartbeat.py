"""The pulse of what runs by itself, and telling admins when it stops."""

from datetime import datetime, timedelta

from django.conf import settings

from accounts.acts import Role
from accounts.models import Heartbeat, Membership, Notice, Pulse
from darkroom_service import clock
from darkroom_service.due import kind
from darkroom_service.localday import day_of

SILENT = (
    "The schedule of this service has stood still since {since}: nobody is warned of dates, and no mail goes out. "
    "Ask whoever runs the machine to start its worker again."
)
GRACE = timedelta(minutes=5)
KIND = "tick-stale"


def beat(pulse: Pulse, at: datetime) -> None:
    """Write down that a pulse was felt; a clock set back is followed, so that silence is told by the present clock."""
    Heartbeat.objects.update_or_create(name=pulse, defaults={"at": at})


def last(pulse: Pulse) -> datetime | None:
    """Return when a pulse was last felt, if ever."""
    return Heartbeat.objects.filter(name=pulse).values_list("at", flat=True).first()


def tell_if_silent(reader: Membership) -> None:
    """Put a notice into an admin's inbox when the schedule is silent, once for each silence.

    Done when the inbox is read, since the part that would post it is the one that does not run. A service that never
    ticked counts from the day the darkroom was opened.
    """
    if not reader.holds(Role.ADMIN):
        return
    now = clock.now()
    since = last(Pulse.TICK) or reader.darkroom.created_at
    if now - since <= max(settings.HEARTBEAT_LIMIT, GRACE):
        return
    Notice.objects.bulk_create(
        [
            Notice(
                darkroom=reader.darkroom, to=reader, kind=KIND, subject=f"since:{since:%Y-%m-%dT%H:%M:%SZ}",
                due_on=day_of(since, reader.darkroom.zone), text=SILENT.format(since=f"{since:%Y-%m-%d %H:%M} UTC"),
                posted_at=now, safety=kind(KIND).safety,
            )
        ],
        ignore_conflicts=True,
    )  # fmt: skip
