"""Telling somebody something, once."""

from collections.abc import Iterable

from accounts.acts import Role
from accounts.commands.entry import Work
from accounts.models import Membership, Notice
from darkroom_service import clock
from darkroom_service.localday import day_of


def post_locked(
    work: Work,
    *,
    kind: str,
    subject: str,
    text: str,
    path: str,
    to_roles: Iterable[Role] = (),
    to: Iterable[Membership] = (),
    safety: bool = False,
) -> None:
    """Put a notice into the inbox of everybody who holds one of the roles, and of the memberships named.

    Who has had it today for the same subject keeps the one row; who has left is not told. ``path`` is relative to the
    darkroom's address.
    """
    told = {member.pk for member in to if member.left_at is None}
    if roles := tuple(to_roles):
        told |= set(Membership.objects.holding(*roles).filter(darkroom=work.darkroom).values_list("pk", flat=True))
    today = day_of(work.recorded_at, work.darkroom.zone)
    Notice.objects.bulk_create(
        [
            Notice(
                darkroom=work.darkroom, to_id=member, kind=kind, subject=subject, due_on=today, text=text, path=path,
                safety=safety, posted_at=work.recorded_at,
            )
            for member in sorted(told)
        ],
        ignore_conflicts=True,
    )  # fmt: skip


def read(notice: Notice) -> None:
    """Mark a notice of one's own inbox as read; the first time stands. One row and no key: just an update."""
    Notice.objects.filter(pk=notice.pk, read_at=None).update(read_at=clock.now())
