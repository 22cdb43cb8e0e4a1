"""Telling somebody something, once; and what one does with what one was told."""

from collections.abc import Collection, Iterable
from datetime import datetime

from django.db.models import Q

from accounts.acts import Act, Role
from accounts.commands import outbox
from accounts.commands.entry import Work, command
from accounts.models import Darkroom, Membership, Notice, NoticeLead, NoticeMute
from accounts.models.notice import LONGEST_TEXT
from darkroom_service import clock
from darkroom_service.due import KINDS, kind
from darkroom_service.localday import day_of
from darkroom_service.refusal import Clash, Malformed, NotAllowed


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

    Who has had it today for the same subject keeps the one row; who has left is not told, nor who has muted the kind,
    unless it is a matter of safety. ``path`` is relative to the darkroom's address. A ``text`` too long is cut.
    """
    safety = safety or _is_safety(kind)
    told = readers(work.darkroom, kind, tuple(to_roles), {member.pk for member in to}, spare=not safety)
    today = day_of(work.recorded_at, work.darkroom.zone)
    rows = [
        Notice(
            darkroom=work.darkroom, to_id=member, kind=kind, subject=subject, due_on=today, text=text[:LONGEST_TEXT],
            path=path, safety=safety, posted_at=work.recorded_at,
        )
        for member in told
    ]  # fmt: skip
    write(rows)


def write(rows: list[Notice]) -> int:
    """Write inbox rows, each thing once for each person and day, and queue their delivery; returns how many are new."""
    if not rows:
        return 0
    Notice.objects.bulk_create(rows, ignore_conflicts=True)
    # Of those told already, the rows just made are not there.
    new = Notice.objects.filter(public_id__in=[row.public_id for row in rows]).values_list("pk", flat=True)
    if ids := list(new.order_by("pk")):
        outbox.queue(ids)
    return len(ids)


def readers(
    room: Darkroom, kind: str, roles: tuple[Role, ...], named: Collection[int] = (), *, spare: bool = True
) -> list[int]:
    """Return the memberships to be told, in one query; ``spare`` leaves out who has muted the kind."""
    wanted = Q(pk__in=named)
    if roles:
        wanted |= Q(pk__in=Membership.objects.holding(*roles).filter(darkroom=room).values("pk"))
    if not (named or roles):
        return []
    here = Membership.objects.active().filter(wanted)
    if spare:
        here = here.exclude(pk__in=NoticeMute.objects.filter(kind=kind).values("member"))
    return list(here.order_by("pk").values_list("pk", flat=True))


def _is_safety(code: str) -> bool:
    return kind(code).safety


def read(notice: Notice) -> None:
    """Mark a notice of one's own inbox as read; the first time stands. One row and no key: just an update."""
    Notice.objects.filter(pk=notice.pk, read_at=None).update(read_at=clock.now())


def do(notice: Notice) -> None:
    """Mark a notice of one's own as done, and so as read; the first time stands."""
    read(notice)
    Notice.objects.filter(pk=notice.pk, done_at=None).update(done_at=clock.now())


def snooze(notice: Notice, until: datetime) -> None:
    """Put a notice of one's own off: until then it is not open."""
    if until <= clock.now():
        words = "That time is over. Give one still to come."
        raise Malformed("time.past", words, pointer="/until")
    if Notice.objects.filter(pk=notice.pk, done_at=None).update(snoozed_until=until):
        return
    raise Clash("notice.done", "It is done, so there is nothing to put off.")


def mute(member: Membership, code: str) -> None:
    """Be spared a kind from now on; what is a matter of safety spares nobody."""
    if _is_safety(code):
        words = (
            f"“{KINDS[code].title}” is a matter of safety and reaches everybody it concerns. Snooze a single notice."
        )
        raise NotAllowed("notice.safety", words, kind=code)
    NoticeMute.objects.bulk_create([NoticeMute(member=member, kind=code)], ignore_conflicts=True)


def unmute(member: Membership, code: str) -> None:
    """Be told of a kind again; what is still due comes with the next sweep."""
    NoticeMute.objects.filter(member=member, kind=code).delete()


@command(Act.NOTICE_LEAD)
def set_lead(work: Work, code: str, *, lead: int) -> NoticeLead:
    """Set how early this darkroom is told of a kind, in the kind's own unit."""
    limits = kind(code)
    if limits.lead is None:
        raise Clash("notice.no_lead", f"“{limits.title}” is told when it happens, so it has no lead time.", kind=code)
    if not limits.least <= lead <= limits.most:
        words = f"From {limits.least} to {limits.most} {limits.unit}."
        raise Malformed("lead.outside", words, pointer="/lead", least=limits.least, most=limits.most)
    row, _ = NoticeLead.objects.update_or_create(darkroom=work.darkroom, kind=code, defaults={"lead": lead})
    return row
