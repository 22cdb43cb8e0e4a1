"""The life of a delivery: claimed under a lease, sent outside any transaction, settled against its fence.

Sending is at least once: a worker killed between the other side's yes and the settling sends again, under the same
Message-ID. A claim and a settling are short transactions that lock delivery rows only, never a darkroom.
"""

from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.commands.heartbeat import beat
from accounts.models import Channel, Delivery, DeliveryState, Mailing, Notice, NoticeMute, Preference, Pulse
from accounts.models.delivery import OPEN
from accounts.science.quiet import Wish, ready_at
from darkroom_service import clock
from darkroom_service.refusal import Clash

MOST_TRIES = 8
LONGEST_PAUSE = timedelta(hours=12)
DIGEST_MOST = 100
LOST = "The worker that last took it never said how it ended."
S = DeliveryState


def claim() -> Delivery | None:
    """Take the next delivery that is due, under a lease and a new fence; None when nothing is due.

    What is due but not wanted now is set aside on the way: dropped, put off to its reader's hours, or parked when its
    last try was never settled.
    """
    passed: set[int] = set()
    while True:
        with transaction.atomic(durable=True):
            now = clock.now()
            row = _next(now, passed)
            if row is None:
                return None
            if _set_aside(row, now):
                continue
            if not _lead(row, now):
                passed.add(row.notice.to_id)
                continue
            row.state, row.due_at = S.CLAIMED, now + settings.DELIVERY_LEASE
            row.tries += 1
            row.fence += 1
            row.save(update_fields=["state", "due_at", "tries", "fence"])
            return row


def _next(now: datetime, passed: set[int]) -> Delivery | None:
    due = Delivery.objects.filter(state__in=OPEN, due_at__lte=now)
    if passed:
        due = due.exclude(channel=Channel.EMAIL, notice__to__in=passed)
    found = due.with_reader().select_for_update(skip_locked=True, no_key=True, of=("self",))
    return found.order_by("due_at", "id").first()


def _set_aside(row: Delivery, now: datetime) -> bool:
    """Settle without sending what nobody wants any more, what must wait, and what was tried often enough."""
    if row.tries >= MOST_TRIES:
        _end(row, S.PARKED, error=row.error or LOST)
        return True
    if not _stands(row.notice):
        _end(row, S.DROPPED, error="What it says is no longer so.")
        return True
    if row.channel == Channel.WEBHOOK:
        hook = getattr(row.notice.darkroom, "webhook", None)
        if hook is None or hook.ended_at is not None:
            _end(row, S.DROPPED, error="The webhook was ended.")
            return True
        return False
    reader, wishes = row.notice.to, _preference(row)
    if reader.left_at is not None or not reader.person.is_active or not reader.person.email:
        _end(row, S.DROPPED, error="Nobody is there to be written to.")
        return True
    if wishes.mail == Mailing.OFF and not row.notice.safety:
        _end(row, S.DROPPED, error="Its reader wants no mail.")
        return True
    if _let_be(row.notice):
        _end(row, S.DROPPED, error="It was done, or its kind muted, before it went out.")
        return True
    return _put_off(row, wishes, now)


def _stands(notice: Notice) -> bool:
    """Tell whether the cause of a notice is still there; the sweep knows, and it stands above this app."""
    still_due: Callable[[Notice], bool] = import_string(settings.NOTICE_STILL_DUE)
    return still_due(notice)


def _let_be(notice: Notice) -> bool:
    """Tell whether its reader has done with a notice meanwhile; what is a matter of safety is sent all the same."""
    if notice.safety:
        return False
    muted = NoticeMute.objects.filter(member=notice.to_id, kind=notice.kind)
    return notice.done_at is not None or muted.exists()


def _put_off(row: Delivery, wishes: Preference, now: datetime) -> bool:
    hour = wishes.digest_hour if wishes.mail == Mailing.DAILY else None
    wish = Wish(row.notice.darkroom.zone, hour, wishes.quiet_from, wishes.quiet_until)
    ready = ready_at(wish, posted_at=row.notice.posted_at, now=now, safety=row.notice.safety)
    if ready <= now:
        return False
    row.due_at = ready
    row.save(update_fields=["due_at"])
    return True


def _preference(row: Delivery) -> Preference:
    return getattr(row.notice.to, "preference", None) or Preference()


def _lead(row: Delivery, now: datetime) -> bool:
    """Make a row the lead of its reader's digest and bind the others to it, for good; false when another leads.

    Bound once, so that a repeated digest says what its first try said. The lowest id leads: two workers who hold two
    rows of one person agree on it, and the other lets go.
    """
    daily = row.channel == Channel.EMAIL and _preference(row).mail == Mailing.DAILY
    if not daily or row.notice.safety or row.state != S.WAITING or row.bundled.exists():
        return True
    others = Delivery.objects.room_in_digest(row.notice.to).filter(due_at__lte=now).exclude(pk=row.pk)
    if others.filter(pk__lt=row.pk).exists():
        return False
    for other in others.with_reader().select_for_update(no_key=True, of=("self",)).order_by("pk")[:DIGEST_MOST]:
        if _let_be(other.notice) or not _stands(other.notice):
            _end(other, S.DROPPED, error="It was done or no longer so before it went out.")
        else:
            Delivery.objects.filter(pk=other.pk).update(state=S.BUNDLED, bundle=row)
    return True


def settle(row: Delivery, error: str | None = None, *, final: bool = False) -> bool:
    """Write down how a claimed delivery ended: sent, or failed and due again later, or parked.

    Returns false, and writes nothing, when another worker has taken it since: the fence decides, not the clock.
    """
    now = clock.now()
    with transaction.atomic(durable=True):
        mine = Delivery.objects.filter(pk=row.pk, state=S.CLAIMED, fence=row.fence)
        if mine.select_for_update(no_key=True).first() is None:
            return False
        if error is None:
            _end(row, S.SENT, sent_at=now)
            if row.channel == Channel.EMAIL:
                beat(Pulse.MAIL, now)
        elif final or row.tries >= MOST_TRIES:
            _end(row, S.PARKED, error=error)
        else:
            mine.update(state=S.FAILED, due_at=now + pause(row.tries), error=error[:300])
    return True


def pause(tries: int) -> timedelta:
    """Return how long to wait after so many tries: 1, 3, 9 minutes and so on, so that 8 tries outlast a night."""
    wait: timedelta = settings.DELIVERY_BACKOFF * 3 ** (tries - 1)
    return min(wait, LONGEST_PAUSE)


def _end(row: Delivery, state: DeliveryState, *, error: str = "", sent_at: datetime | None = None) -> None:
    """End a delivery and all that is bound to it."""
    group = Delivery.objects.filter(pk=row.pk) | Delivery.objects.filter(bundle=row.pk)
    group.update(state=state, error=error[:300], sent_at=sent_at)


def contents(row: Delivery) -> list[Delivery]:
    """Return what one mail says: the delivery itself and those bound to it, oldest first."""
    return [row, *Delivery.objects.filter(bundle=row.pk).with_reader().order_by("pk")]


def visible_to_admins(darkroom_id: int) -> QuerySet[Delivery]:
    """Return a darkroom's deliveries."""
    return Delivery.objects.filter(notice__darkroom=darkroom_id).with_reader()


@command(Act.DELIVERY_RESEND)
def resend(work: Work, row: Delivery) -> Delivery:
    """Try a parked delivery again, from the first try on, with all that is bound to it."""
    lead = row.bundle_id or row.pk
    group = Delivery.objects.filter(pk=lead) | Delivery.objects.filter(bundle=lead)
    if not group.filter(state=S.PARKED).exists():
        state = Delivery.objects.values_list("state", flat=True).get(pk=row.pk)
        words = "Only what was given up can be sent again; this still goes its own way or has arrived."
        raise Clash("delivery.not_parked", words, state=state)
    group.update(state=S.BUNDLED, error="")
    Delivery.objects.filter(pk=lead).update(state=S.WAITING, tries=0, due_at=work.recorded_at)
    row.refresh_from_db(fields=["state", "tries", "due_at", "error"])
    return row
