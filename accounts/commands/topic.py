"""The topics people are trained in: their wording and validity."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from accounts.acts import Act
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Membership, SignOff, Topic, TopicVersion
from darkroom_service.localday import day_of, end_of
from darkroom_service.refusal import Clash

GRACE_DAYS = 30  # our choice: a month to be shown what is new


@dataclass(frozen=True)
class Wording:
    """What a topic says: its code, name, what it covers, and for how many months a sign-off may count."""

    code: str
    name: str
    text: str
    valid_months: int


# What every new darkroom starts with; wording and months are our own proposal, no source.
STARTERS = (
    Wording(
        "room-induction",
        "Room induction",
        "The way out, the eye wash and the spill kit; the fan; who to call; where the labels and this record are kept.",
        24,
    ),
    Wording(
        "ppe",
        "Protective equipment",
        "Eye protection and gloves for pouring; tongs for prints; how to put on, take off, clean and replace them.",
        12,
    ),
    Wording(
        "powder-handling",
        "Powder handling",
        "Opening and dissolving a powder without raising dust: fan on, whole packet, powder into water, wipe up wet.",
        12,
    ),
)


def add_locked(work: Work, wording: Wording) -> Topic:
    """Write a new topic and its first version."""
    topic, is_new = Topic.objects.get_or_create(
        darkroom=work.darkroom,
        code=wording.code,
        defaults={"name": wording.name, "valid_months": wording.valid_months},
    )
    if not is_new:
        words = "A topic of this code exists or once did. Choose another code, or change that topic."
        raise Clash("topic.code_taken", words, id=str(topic.public_id), retired=topic.retired_at is not None)
    _write_version(work, topic, wording)
    return topic


@command(Act.TOPIC_EDIT)
def add(work: Work, wording: Wording) -> Topic:
    """Make a topic that people can be signed off in."""
    return add_locked(work, wording)


@command(Act.TOPIC_EDIT)
def edit(
    work: Work,
    topic: Topic,
    *,
    unchanged: Callable[[int], None],
    name: str | None = None,
    text: str | None = None,
    valid_months: int | None = None,
    grace_days: int | None = GRACE_DAYS,
) -> Topic:
    """Write a new version of a topic; the holders of earlier sign-offs are told.

    Earlier sign-offs count until the end of the local day that many days from now; None: until their own date.
    """
    topic = _found(work, topic, unchanged)
    old = TopicVersion.objects.get(topic=topic, number=topic.number)
    given = {"name": name, "text": text, "valid_months": valid_months}
    wording = replace(
        Wording(topic.code, old.name, old.text, old.valid_months),
        **{field: value for field, value in given.items() if value is not None},  # type: ignore[arg-type]
    )
    topic.number += 1
    topic.version += 1
    topic.name, topic.valid_months = wording.name, wording.valid_months
    topic.save(update_fields=["number", "version", "name", "valid_months"])
    stale_from = _after(work, grace_days)
    _write_version(work, topic, wording, stale_from)
    _tell_holders(work, topic, stale_from)
    return topic


def _after(work: Work, grace_days: int | None) -> datetime | None:
    """Return the end of the local day so many days from now."""
    if grace_days is None:
        return None
    zone = work.darkroom.zone
    return end_of(day_of(work.recorded_at, zone) + timedelta(days=grace_days), zone)


@command(Act.TOPIC_EDIT)
def retire(work: Work, topic: Topic) -> Topic:
    """Stop signing people off in a topic; sign-offs already given count until they end."""
    topic = _found(work, topic)
    topic.retired_at = work.recorded_at
    topic.version += 1
    topic.save(update_fields=["retired_at", "version"])
    return topic


def _found(work: Work, topic: Topic, unchanged: Callable[[int], None] = lambda _: None) -> Topic:
    """Read the topic again under the lock and refuse a retired one."""
    topic = Topic.objects.get(darkroom=work.darkroom, pk=topic.pk)
    unchanged(topic.version)
    if topic.retired_at:
        raise Clash("topic.retired", "This topic is retired and stays as it is. Make a new topic under another code.")
    return topic


def _write_version(work: Work, topic: Topic, wording: Wording, stale_from: datetime | None = None) -> None:
    TopicVersion.objects.create(
        topic=topic,
        number=topic.number,
        name=wording.name,
        text=wording.text,
        valid_months=wording.valid_months,
        stale_from=stale_from,
        entry_id=work.entry_id,
    )


def _tell_holders(work: Work, topic: Topic, stale_from: datetime | None) -> None:
    standing = SignOff.objects.standing(work.recorded_at).filter(topic=topic)
    holders = Membership.objects.active().filter(pk__in=standing.values("trainee"))
    until = "until its own date; read what is new."
    if stale_from:
        last = day_of(stale_from, work.darkroom.zone) - timedelta(days=1)
        until = f"until {last} at the latest. Read what is new, and ask an instructor to sign you off anew before then."
    notice.post_locked(
        work,
        kind="topic-changed",
        subject=f"topic:{topic.public_id}:{topic.number}",
        text=f"The topic {topic.name} has a new version. Your sign-off counts {until}",
        path=f"topics/{topic.public_id}",
        to=holders,
    )
