"""Names in the waste log: an admin asks for them with a reason, which stays on record."""

from datetime import timedelta

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models import Membership
from darkroom_service import clock
from waste.models import Disclosure

LASTS = timedelta(hours=1)


@command(Act.WASTE_LOG_DISCLOSE)
def disclose(work: Work, *, reason: str) -> Disclosure:
    """Let the asker read names in the log for an hour."""
    return Disclosure.objects.create(
        darkroom=work.darkroom, member=work.by, reason=reason, expires_at=work.recorded_at + LASTS,
        entry_id=work.entry_id, occurred_at=work.recorded_at,
    )  # fmt: skip


def standing(member: Membership) -> Disclosure | None:
    """Return the disclosure a member may still use, if there is one."""
    rows = Disclosure.objects.filter(member=member, darkroom=member.darkroom, expires_at__gt=clock.now())
    return rows.order_by("-id").first()
