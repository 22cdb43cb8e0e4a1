"""One beat of the schedule: find what is due, tell it, send it, clear away. All of it may run twice at once."""

import structlog
from django.conf import settings
from django.contrib.sessions.models import Session
from knox.models import get_token_model

from accounts.commands import heartbeat
from accounts.models import Pulse
from accounts.sending.run import deliver
from darkroom_service import clock, notices

log = structlog.get_logger(__name__)


def tick(*, senders: int | None = None) -> bool:
    """Sweep, send and clear; return whether the sweep went through.

    The pulse is written only after a whole sweep, so that a sweep which fails each time shows as silence. What is
    queued already is sent all the same.
    """
    swept = _sweep()
    deliver(seconds=settings.TICK_SECONDS, senders=settings.DELIVERY_SENDERS if senders is None else senders)
    _clear()
    return swept


def _sweep() -> bool:
    at = clock.now()
    try:
        notices.sweep(at)
        notices.look_ahead(at)
    except Exception:
        log.exception("sweep_failed")
        return False
    heartbeat.beat(Pulse.TICK, at)
    return True


def _clear() -> None:
    """Clear away sessions and tokens that have run out."""
    at = clock.now()
    sessions, _ = Session.objects.filter(expire_date__lte=at).delete()
    tokens, _ = get_token_model().objects.filter(expiry__lte=at).delete()
    if sessions or tokens:
        log.info("expired_cleared", sessions=sessions, tokens=tokens)
