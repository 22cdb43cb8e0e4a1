"""When somebody may be written to: at once, at their hour of the day, and not in their quiet hours."""

from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from darkroom_service.localday import next_at


@dataclass(frozen=True)
class Wish:
    """How one person wants mail, by the clocks of ``zone``: a digest at an hour (None: each at once), and quiet hours.

    Quiet hours run from ``quiet_from`` until just before ``quiet_until``, past midnight too; equal or None is none.
    """

    zone: str
    digest_hour: int | None = None
    quiet_from: time | None = None
    quiet_until: time | None = None


def ready_at(wish: Wish, *, posted_at: datetime, now: datetime, safety: bool) -> datetime:
    """Return from when a notice may go out to them; what concerns safety waits for nobody's hours."""
    if safety:
        return posted_at
    ready = posted_at if wish.digest_hour is None else next_at(posted_at, time(wish.digest_hour), wish.zone)
    return out_of_quiet(wish, max(ready, now))


def out_of_quiet(wish: Wish, at: datetime) -> datetime:
    """Return ``at``, or the end of the quiet hours it falls into."""
    if wish.quiet_from is None or wish.quiet_until is None or wish.quiet_from == wish.quiet_until:
        return at
    wall = at.astimezone(ZoneInfo(wish.zone)).time()
    overnight = wish.quiet_until < wish.quiet_from
    after, before = wall >= wish.quiet_from, wall < wish.quiet_until
    quiet = (after or before) if overnight else (after and before)
    return next_at(at, wish.quiet_until, wish.zone) if quiet else at
