"""The one way anything is written: lock -> replay -> judge -> write, one command, one transaction.

``@command(act)`` turns a function of (work, ...) into a command of (ask, ...). Around the function it locks the
darkroom's head row (the only lock there is), re-reads the asker's rights, replays a repeated key, and when the
function has judged and written it stores the entry: receipt, audit row and chain link in one.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar
from uuid import UUID

from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction

from accounts.acts import GRANTS, Act, Role
from accounts.models import Darkroom, Entry, Head, Membership, RoleChange
from accounts.models.entry import entry_id
from darkroom_service import clock
from darkroom_service.refusal import Malformed, NotAllowed, NotFound, Unworkable

FUTURE_ALLOWED = timedelta(minutes=2)
LATE_AFTER = timedelta(minutes=2)

P = ParamSpec("P")
T = TypeVar("T")


@dataclass(frozen=True)
class Answer:
    """What a request is answered with: a status, a body without names, and where the thing made can be found."""

    status: int
    body: dict[str, Any]
    location: str = ""


@dataclass(frozen=True)
class Receipt:
    """An answer as stored, and whether it is told again."""

    answer: Answer
    seq: int
    replayed: bool


def by_id(made: Any) -> Answer:
    """Word a result by its public id alone: enough for callers that look the thing up themselves."""
    return Answer(201, {"id": str(made.public_id)})


def changed_by_id(changed: Any) -> Answer:
    """Word what was changed or ended by its public id alone: nothing was made."""
    return Answer(200, {"id": str(changed.public_id)})


@dataclass(frozen=True)
class Ask:
    """Who asks for what under which key. ``word`` turns the command's result into the answer to store."""

    darkroom_id: int
    person_id: int
    key: UUID
    digest: str
    occurred_at: datetime | None = None
    on_behalf_of: UUID | None = None
    word: Callable[[Any], Answer] = field(default=by_id, compare=False)


@dataclass
class Work:
    """A command under way: what it may rely on after the lock."""

    darkroom: Darkroom
    by: Membership
    on_behalf_of: Membership | None
    act: Act
    seq: int
    occurred_at: datetime
    recorded_at: datetime

    @property
    def entry_id(self) -> int:
        return entry_id(self.darkroom.pk, self.seq)

    @property
    def late(self) -> bool:
        """Tell whether this was written down noticeably after it happened."""
        return self.recorded_at - self.occurred_at > LATE_AFTER

    @property
    def whom(self) -> Membership:
        """The person it was done for."""
        return self.on_behalf_of or self.by


def command(act: Act) -> Callable[[Callable[Concatenate[Work, P], T]], Callable[Concatenate[Ask, P], Receipt]]:
    """Make a command of a function that judges and writes; ``.inner`` is that function, for use by another command."""

    def wrap(judge_and_write: Callable[Concatenate[Work, P], T]) -> Callable[Concatenate[Ask, P], Receipt]:
        @wraps(judge_and_write)
        def run(ask: Ask, /, *args: P.args, **given: P.kwargs) -> Receipt:
            with transaction.atomic(durable=True):
                head = lock(ask.darkroom_id)
                work = _begin(head, act, ask)
                if earlier := Entry.objects.filter(darkroom=ask.darkroom_id, by=work.by, key=ask.key).first():
                    return replay(earlier, ask)
                return settle(head, work, ask, judge_and_write(work, *args, **given))

        run.inner = judge_and_write  # type: ignore[attr-defined]
        return run

    return wrap


def lock(darkroom_id: int) -> Head:
    """Lock the darkroom: every command's first statement."""
    return Head.objects.select_for_update(no_key=True, of=("self",)).get(darkroom=darkroom_id)


def _begin(head: Head, act: Act, ask: Ask) -> Work:
    """Read rights and time after the lock, and judge both."""
    now = clock.now()
    occurred_at = (ask.occurred_at or now).astimezone(UTC)
    if occurred_at - now > FUTURE_ALLOWED:
        raise Malformed(
            "time.future",
            "That time has not come yet. Give the time it happened, or leave it out for now.",
            pointer="/occurred_at",
        )
    # A phone's clock may be a little fast; nothing may stand on record as later than now.
    occurred_at = min(occurred_at, now)
    by = membership(head.darkroom_id, ask.person_id)
    permit(by, act, occurred_at=occurred_at, now=now)
    whom = _on_behalf(head.darkroom_id, ask.on_behalf_of, by)
    return Work(by.darkroom, by, whom, act, head.seq + 1, occurred_at, now)


def membership(darkroom_id: int, person_id: int) -> Membership:
    """Return the active membership; to anybody else the darkroom does not exist."""
    found = Membership.objects.active().filter(darkroom=darkroom_id, person=person_id)
    if by := found.select_related("darkroom").first():
        return by
    raise NotFound("thing.unknown", "There is nothing here by that name.")


def permit(by: Membership, act: Act, *, occurred_at: datetime, now: datetime) -> None:
    """Refuse an act no role of this person grants; a late report also counts the roles held when it happened."""
    grant = GRANTS[act]
    if by.roles & grant.roles:
        return
    if grant.report and now - occurred_at > LATE_AFTER and roles_at(by, occurred_at) & grant.roles:
        return
    needed = sorted(grant.roles)
    raise NotAllowed(
        "act.forbidden",
        f"This needs one of these roles here: {', '.join(needed)}. Ask somebody who has it, or an admin.",
        act=act.value,
        roles=needed,
    )


def roles_at(by: Membership, at: datetime) -> frozenset[Role]:
    """Return the roles held at an instant, from the changes before it."""
    held: set[Role] = set()
    for change in RoleChange.objects.filter(membership=by, at__lte=at).order_by("at", "id"):
        (held.add if change.held else held.discard)(Role(change.role))
    return frozenset(held)


def _on_behalf(darkroom_id: int, wanted: UUID | None, by: Membership) -> Membership | None:
    if wanted is None or wanted == by.public_id:
        return None
    if not by.holds(Role.TECHNICIAN, Role.INSTRUCTOR):
        raise NotAllowed(
            "act.forbidden",
            "Only a technician or an instructor writes down what somebody else did. Let them enter it, or ask one.",
            roles=[Role.INSTRUCTOR.value, Role.TECHNICIAN.value],
        )
    here = Membership.objects.active().filter(darkroom=darkroom_id, public_id=wanted)
    if whom := here.select_related("darkroom").first():
        return whom
    raise Malformed("member.unknown", "No member of this darkroom has that id.", pointer="/on_behalf_of")


def replay(earlier: Entry, ask: Ask) -> Receipt:
    """Tell the stored answer again, if the same thing is asked."""
    if earlier.digest != ask.digest:
        raise Unworkable(
            "key.reused",
            "This key was used before for something else, which stands. Send the new request under a new key.",
            seq=earlier.seq,
        )
    answer = Answer(earlier.status, json.loads(earlier.answer), earlier.location)
    return Receipt(answer, earlier.seq, replayed=True)


def settle(head: Head, work: Work, ask: Ask, made: Any) -> Receipt:
    """Word what was made and write the entry: the last statements of every command."""
    answer = _as_stored(ask.word(made))
    _record(head, work, ask, answer)
    return Receipt(answer, work.seq, replayed=False)


def _as_stored(answer: Answer) -> Answer:
    """Pass the body through JSON, so that the first answer and every replay are alike to the byte."""
    return Answer(answer.status, json.loads(_text(answer.body)), answer.location)


def _text(body: dict[str, Any]) -> str:
    return json.dumps(body, cls=DjangoJSONEncoder, ensure_ascii=False, separators=(",", ":"))


def _record(head: Head, work: Work, ask: Ask, answer: Answer) -> None:
    """Write the entry last, so that its answer can describe the rows that already point to it, and move the head."""
    entry = Entry(
        id=work.entry_id, darkroom=work.darkroom, seq=work.seq, by=work.by, on_behalf_of=work.on_behalf_of,
        act=work.act.value, key=ask.key, digest=ask.digest, status=answer.status, answer=_text(answer.body),
        location=answer.location, occurred_at=work.occurred_at, recorded_at=work.recorded_at, previous_hash=head.hash,
    )  # fmt: skip
    entry.hash = entry.digest_of_content()
    entry.save(force_insert=True)
    Head.objects.filter(pk=head.pk).update(seq=work.seq, hash=entry.hash)
