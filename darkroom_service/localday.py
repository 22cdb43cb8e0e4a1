"""Calendar days of a place, as instants: a sign-off ends with a day of the darkroom's own calendar."""

from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def day_of(at: datetime, zone: str) -> date:
    """Return the calendar day that an instant falls on in ``zone``."""
    return at.astimezone(ZoneInfo(zone)).date()


def start_of(day: date, zone: str) -> datetime:
    """Return the first instant of a local day, in UTC.

    Where summer time skips midnight, this is the instant of the change; where midnight comes twice, the first of them.
    """
    return datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC)


def end_of(day: date, zone: str) -> datetime:
    """Return the first instant after a local day, in UTC: what ends with that day counts while ``now`` is before it."""
    return start_of(day + timedelta(days=1), zone)


def months_after(day: date, months: int) -> date:
    """Return the same day of the month ``months`` later, or that month's last day where it is shorter."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def next_at(at: datetime, wall: time, zone: str) -> datetime:
    """Return the first instant from ``at`` on at which the clocks in ``zone`` show ``wall``, in UTC.

    A time that the spring change skips counts as the same time after the change's hour; one that comes twice in autumn
    is met at whichever of the two is next.
    """
    local = ZoneInfo(zone)
    today = at.astimezone(local).date()
    found = []
    for ahead in (-1, 0, 1, 2):
        first, second = (
            datetime.combine(today + timedelta(days=ahead), wall.replace(fold=fold), local).astimezone(UTC)
            for fold in (0, 1)
        )
        # Of a skipped time the second reading lies before the gap, and shows another time.
        found += [first, max(first, second)]
    return min(instant for instant in found if instant >= at)
