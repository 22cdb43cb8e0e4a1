"""Signing people off in topics, and taking that back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Membership, Revocation, SignOff, Topic, TopicVersion
from accounts.models.signoff import topics_held
from darkroom_service.localday import day_of, end_of, months_after, start_of
from darkroom_service.refusal import Clash, Malformed, NotAllowed

OUTSIDE_MONTHS = 12
ADULTS_ONLY = frozenset({"powder-handling"})


@dataclass(frozen=True)
class Training:
    """Who was trained in what, from and until which local day, and what shows it."""

    members: tuple[UUID, ...]
    topics: tuple[str, ...]
    valid_from: date | None = None
    expires_on: date | None = None
    evidence: str = ""


@command(Act.SIGN_OFF_GRANT)
def grant(work: Work, training: Training) -> list[SignOff]:
    """Sign people off, each in each topic, until the end of a local day; one entry for a whole class.

    The signer is an instructor who holds the topic now and is nobody of those trained. Where nobody here holds a topic,
    an admin records the outside training of its first holder. It counts from now on or from a later day, never before:
    a sign-off written today cannot cover what was mixed yesterday.
    """
    topics = _topics(work, training.topics)
    trainees = _trainees(work, training.members)
    _judge_minors(work, topics, trainees)
    outside = _outside(work, topics, trainees, training.evidence)
    start = _start(work, training.valid_from)
    rows = [
        SignOff(
            topic=topic, topic_version=version, trainee=trainee, signer=work.by, valid_from=start,
            expires_at=_end(work, topic, training, outside=topic.code in outside), evidence=training.evidence,
            outside_training=topic.code in outside, entry_id=work.entry_id,
        )
        for topic, version in topics.items()
        for trainee in trainees
    ]  # fmt: skip
    return SignOff.objects.bulk_create(rows)


def _topics(work: Work, codes: tuple[str, ...]) -> dict[Topic, TopicVersion]:
    """Return the topics with their current versions, in the order given."""
    found = {topic.code: topic for topic in Topic.objects.filter(darkroom=work.darkroom, code__in=codes)}
    for place, code in enumerate(codes):
        if code not in found:
            raise Malformed("topic.unknown", "This darkroom has no such topic.", pointer=f"/topics/{place}")
        if found[code].retired_at:
            words = f"The topic {code} is retired: nobody is signed off in it any more."
            raise Clash("topic.retired", words, topic=code)
    current = {
        (version.topic_id, version.number): version for version in TopicVersion.objects.filter(topic__in=found.values())
    }
    return {found[code]: current[found[code].pk, found[code].number] for code in dict.fromkeys(codes)}


def _trainees(work: Work, members: tuple[UUID, ...]) -> list[Membership]:
    found = {
        member.public_id: member
        for member in Membership.objects.active().filter(darkroom=work.darkroom, public_id__in=members)
    }
    for place, member in enumerate(members):
        if member not in found:
            words = "No member of this darkroom has that id."
            raise Malformed("member.unknown", words, pointer=f"/members/{place}")
    if work.by.public_id in found:
        words = "Nobody signs themselves off. Ask another instructor who holds the topic."
        raise NotAllowed("sign-off.own", words)
    return [found[member] for member in dict.fromkeys(members)]


def _judge_minors(work: Work, topics: Iterable[Topic], trainees: list[Membership]) -> None:
    """Refuse what a minor never does, however well trained."""
    barred = [topic.code for topic in topics if topic.code in ADULTS_ONLY]
    young = [str(each.public_id) for each in trainees if each.is_minor(work.recorded_at)]
    if barred and young:
        words = f"Minors never handle powder, so nobody under age is signed off in {', '.join(barred)}. Leave them out."
        raise NotAllowed("sign-off.minor", words, topics=barred, members=young)


def _outside(work: Work, topics: Iterable[Topic], trainees: list[Membership], evidence: str) -> set[str]:
    """Return the topics recorded as outside training; refuse what the signer may not sign at all."""
    codes = [topic.code for topic in topics]
    held = topics_held(work.by, codes, work.recorded_at) if work.by.holds(Role.INSTRUCTOR) else set()
    lacking = sorted(set(codes) - held)
    if not lacking:
        return set()
    if taken := sorted(_with_holder(work, lacking)):
        words = f"To sign off {', '.join(taken)} one is an instructor and holds the topic. Ask one who does."
        raise NotAllowed("topic.not_held", words, topics=taken)
    if not work.by.holds(Role.ADMIN):
        words = (
            f"Nobody here holds {', '.join(lacking)} yet. Ask an admin to record the first holder's outside training."
        )
        raise NotAllowed("topic.without_holder", words, topics=lacking)
    if len(trainees) > 1:
        words = "Record one person as the first holder; as an instructor they then sign the others off."
        raise NotAllowed("topic.without_holder", words, topics=lacking)
    if not evidence:
        words = "Outside training needs words on what shows it, such as the course and its date."
        raise Malformed("evidence.missing", words, pointer="/evidence")
    return set(lacking)


def _with_holder(work: Work, codes: list[str]) -> set[str]:
    """Return which of the topics an active member holds now."""
    standing = SignOff.objects.standing(work.recorded_at).filter(
        topic__darkroom=work.darkroom, topic__code__in=codes, trainee__in=Membership.objects.active()
    )
    return set(standing.values_list("topic__code", flat=True))


def _start(work: Work, valid_from: date | None) -> datetime:
    today = day_of(work.recorded_at, work.darkroom.zone)
    if valid_from is None or valid_from == today:
        return work.recorded_at
    if valid_from < today:
        words = "A sign-off counts from when it is written down, not before. Leave the day out, or give a later one."
        raise Malformed("sign-off.backdated", words, pointer="/valid_from", earliest=today)
    return start_of(valid_from, work.darkroom.zone)


def _end(work: Work, topic: Topic, training: Training, *, outside: bool) -> datetime:
    """Return the end of the last day; at most the topic's months after today, and a year for outside training."""
    today = day_of(work.recorded_at, work.darkroom.zone)
    months = min(topic.valid_months, OUTSIDE_MONTHS) if outside else topic.valid_months
    latest = months_after(today, months)
    last = training.expires_on or latest
    if last > latest:
        words = f"A sign-off in {topic.code} counts until {latest} at the latest."
        raise Malformed("sign-off.too_long", words, pointer="/expires_on", topic=topic.code, latest=latest)
    if last < (training.valid_from or today):
        words = f"The last day, {last}, lies before the first. Give an earlier first day or a later last one."
        raise Malformed("sign-off.ended", words, pointer="/expires_on", latest=latest)
    return end_of(last, work.darkroom.zone)


@command(Act.SIGN_OFF_REVOKE)
def revoke(work: Work, sign_off: SignOff, *, reason: str) -> Revocation:
    """Take a sign-off back: its holder gives it up, an instructor revokes it, an admin suspends it. Each is final."""
    kind = _kind(work, sign_off)
    if Revocation.objects.filter(sign_off=sign_off).exists():
        words = "This sign-off was taken back before. If the person is trained again, write a new one."
        raise Clash("sign-off.revoked", words)
    if kind != "given_up":
        notice.post_locked(
            work,
            kind="sign-off-revoked",
            subject=f"sign-off:{sign_off.public_id}",
            text=f"Your sign-off in {sign_off.topic.name} no longer counts. Ask an instructor before you go on.",
            path=f"sign-offs/{sign_off.public_id}",
            to=[sign_off.trainee],
            safety=True,
        )
    return Revocation.objects.create(
        sign_off=sign_off, by=work.by, kind=kind, reason=reason, at=work.recorded_at, entry_id=work.entry_id
    )


def _kind(work: Work, sign_off: SignOff) -> str:
    if sign_off.trainee_id == work.by.pk:
        return "given_up"
    if work.by.holds(Role.INSTRUCTOR):
        return "revoked"
    if work.by.holds(Role.ADMIN):
        return "suspended"
    words = "You may give up your own sign-off. Ask an instructor to revoke, or an admin to suspend, another's."
    raise NotAllowed("sign-off.not_own", words, roles=[Role.ADMIN.value, Role.INSTRUCTOR.value])
