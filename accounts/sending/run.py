"""Sending what is due, one after the other and several at once; any number of processes may do it."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import structlog
from django.db import connection

from accounts.commands import delivery
from accounts.models import Channel, Delivery
from accounts.models.delivery import OPEN
from accounts.sending import mail, webhook
from accounts.sending.limit import Undelivered
from darkroom_service import clock

log = structlog.get_logger(__name__)


def deliver(*, seconds: float, senders: int = 1) -> int:
    """Send what is due until nothing is left or ``seconds`` have passed; return how many were taken up.

    One sender works in this thread. More of them keep one that hangs from holding up the rest.
    """
    until = time.monotonic() + seconds
    if senders <= 1:
        return _sender(until)
    with ThreadPoolExecutor(senders, thread_name_prefix="sender") as pool:
        return sum(pool.map(_in_thread, [until] * senders))


def waiting() -> int:
    """Return how many deliveries are due now."""
    return Delivery.objects.filter(state__in=OPEN, due_at__lte=clock.now()).count()


def _in_thread(until: float) -> int:
    try:
        return _sender(until)
    finally:
        connection.close()


def _sender(until: float) -> int:
    count = 0
    while time.monotonic() < until and deliver_one():
        count += 1
    return count


def deliver_one() -> bool:
    """Claim, send and settle one delivery; false when none is due."""
    row = delivery.claim()
    if row is None:
        return False
    error: str | None = None
    final = False
    try:
        _send(row)
    except Undelivered as why:
        error, final = why.words, why.final
    except Exception as fault:
        # One bad template or row must not stop those behind it: it is tried again later, and shown in the end.
        log.exception("delivery_broke", delivery=row.pk)
        error = f"This service failed to word it: {type(fault).__name__}"
    settled = delivery.settle(row, error, final=final)
    log.info("delivery_tried", delivery=row.pk, channel=row.channel, tries=row.tries, error=error, settled=settled)
    return True


def _send(row: Delivery) -> None:
    send: dict[str, Callable[[], None]] = {
        Channel.EMAIL: lambda: mail.send(delivery.contents(row)),
        Channel.WEBHOOK: lambda: webhook.send(row),
    }
    send[row.channel]()
