"""A darkroom's webhook: where it points, its secret, and changing the secret without missing an event."""

import base64
from datetime import datetime, timedelta

from django.utils.crypto import salted_hmac

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models import Webhook
from darkroom_service.refusal import Clash

PREFIX = "whsec_"
OVERLAP = timedelta(hours=24)
NONE_SET = "No webhook is set here. Set one with its address first."


def secret(hook: Webhook, generation: int) -> str:
    """Return a secret: 32 bytes derived from this service's own key, so that no table or backup holds it."""
    made = salted_hmac("accounts.webhook", f"{hook.public_id}.{generation}", algorithm="sha256")
    return PREFIX + base64.b64encode(made.digest()).decode()


def secrets_in_force(hook: Webhook, now: datetime) -> list[str]:
    """Return the secrets to sign with: the present one, and for a day after a change the one before."""
    generations = [hook.generation]
    if hook.rotated_at and now - hook.rotated_at < OVERLAP:
        generations.append(hook.generation - 1)
    return [secret(hook, generation) for generation in generations]


@command(Act.WEBHOOK_EDIT)
def put(work: Work, *, url: str) -> Webhook:
    """Point the darkroom's webhook somewhere, with a new secret; an address that was used before counts no more."""
    hook = Webhook.objects.filter(darkroom=work.darkroom).first() or Webhook(darkroom=work.darkroom, generation=0)
    hook.url, hook.rotated_at, hook.ended_at = url, None, None
    hook.generation += 1
    hook.save()
    return hook


@command(Act.WEBHOOK_EDIT)
def rotate(work: Work) -> Webhook:
    """Make a new secret; for a day both sign, so that the other side can change over in its own time."""
    hook = _current(work)
    hook.generation += 1
    hook.rotated_at = work.recorded_at
    hook.save(update_fields=["generation", "rotated_at"])
    return hook


@command(Act.WEBHOOK_EDIT)
def end(work: Work) -> Webhook:
    """Send nothing any more; what still waits is dropped when its turn comes."""
    hook = _current(work)
    hook.ended_at = work.recorded_at
    hook.save(update_fields=["ended_at"])
    return hook


def _current(work: Work) -> Webhook:
    if hook := Webhook.objects.filter(darkroom=work.darkroom, ended_at=None).first():
        return hook
    raise Clash("webhook.none", NONE_SET)
