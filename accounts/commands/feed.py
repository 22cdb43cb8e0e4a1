"""Secret addresses of calendar feeds: made for oneself, ended by oneself, and asked about at every fetch."""

import base64
import hashlib
import re

from django.utils.crypto import salted_hmac

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models import Feed, Membership
from darkroom_service.refusal import Clash

TOKEN = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)


def token(feed: Feed) -> str:
    """Return the secret part of a feed's address: 256 bits derived from this service's own key, stored nowhere."""
    made = salted_hmac("accounts.feed", str(feed.public_id), algorithm="sha256").digest()
    return base64.urlsafe_b64encode(made).rstrip(b"=").decode()


def digest(secret: str) -> str:
    """Return what is stored of a token."""
    return hashlib.sha256(secret.encode()).hexdigest()


def reader(secret: str) -> Membership | None:
    """Return whose feed this is, if it stands and its owner still belongs to the darkroom: asked at every fetch."""
    if not TOKEN.fullmatch(secret):
        return None
    feeds = Feed.objects.filter(digest=digest(secret), ended_at=None)
    mine = Membership.objects.active().filter(feeds__in=feeds)
    return mine.select_related("darkroom").first()


@command(Act.FEED_EDIT)
def make(work: Work) -> Feed:
    """Make a new address for one's own calendar; the one before ends."""
    Feed.objects.filter(membership=work.by, ended_at=None).update(ended_at=work.recorded_at)
    feed = Feed(membership=work.by, made_at=work.recorded_at)
    feed.digest = digest(token(feed))
    feed.save()
    return feed


@command(Act.FEED_EDIT)
def end(work: Work, feed: Feed) -> Feed:
    """End one's own address at once."""
    ended = Feed.objects.filter(pk=feed.pk, membership=work.by, ended_at=None).update(ended_at=work.recorded_at)
    if not ended:
        raise Clash("feed.ended", "That address was ended before; nobody can read it any more.")
    feed.ended_at = work.recorded_at
    return feed
