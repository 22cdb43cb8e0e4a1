"""Builders for tests: everything is made through the commands, with defaults that a test overrides by name."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from accounts.acts import Role
from accounts.commands import darkroom, membership, outbox, person, signoff, topic
from accounts.commands.entry import Answer, Ask, Receipt, by_id
from accounts.commands.membership import NewPerson
from accounts.models import Membership, Notice, Person, SignOff
from darkroom_service import clock
from darkroom_service.localday import day_of

PASSWORD = "four wet prints hanging"  # no account outside the tests has it
TOPICS = tuple(wording.code for wording in topic.STARTERS)


def unique(word: str) -> str:
    """Return a name no earlier test has used: committed rows of other tests are never deleted."""
    return f"{word}-{uuid4().hex[:8]}"


def login(name: str) -> str:
    """Return a login name for somebody."""
    return unique(name.lower().split(maxsplit=1)[0])


def account(name: str = "Nora North", *, username: str = "", password: str | None = None) -> Person:
    """Make somebody who can sign in and belongs to no darkroom."""
    username = username or login(name)
    return person.open_account(username=username, name=name, password=password)


def ask(
    by: Membership,
    *,
    word: Callable[[Any], Answer] = by_id,
    key: UUID | None = None,
    said: str = "",
    occurred_at: datetime | None = None,
    on_behalf_of: Membership | None = None,
) -> Ask:
    """Ask as a member; each ask has a key of its own unless one is given. ``said`` stands for the request's digest."""
    whom = on_behalf_of.public_id if on_behalf_of else None
    return Ask(by.darkroom_id, by.person_id, key or uuid4(), said or uuid4().hex, occurred_at, whom, word)


def room(founder: Person | None = None, *, slug: str = "", **settings: Any) -> Membership:
    """Open a darkroom and return its founder's membership, which is member and admin."""
    founder = founder or account("Di Dorn")
    given = {"name": "A school darkroom", "zone": "Europe/Berlin", "currency": "EUR", **settings}
    receipt = darkroom.create(Ask(0, founder.pk, uuid4(), uuid4().hex), slug=slug or unique("room"), settings=given)
    return Membership.objects.select_related("darkroom", "person").get(
        darkroom__public_id=receipt.answer.body["id"], person=founder
    )


def member(admin: Membership, *more: Role, name: str = "Mia Moor", minor_until: date | None = None) -> Membership:
    """Enrol a new person as a member, and as more."""
    new = NewPerson(login(name), name, password="!")
    roles = frozenset({Role.MEMBER, *more})
    return member_of(membership.enrol(ask(admin), new, roles=roles, minor_until=minor_until))


def member_of(receipt: Receipt) -> Membership:
    """Return the membership a receipt is about."""
    rows = Membership.objects.select_related("darkroom", "person")
    return rows.get(public_id=receipt.answer.body["id"])


def first_holder(admin: Membership, trainee: Membership, *codes: str) -> list[SignOff]:
    """Record outside training of the first person who holds these topics here; all topics when none is named."""
    return _signed(admin, trainee, codes or TOPICS, evidence="course certificate seen")


def signed_off(signer: Membership, trainee: Membership, *codes: str, expires_on: date | None = None) -> list[SignOff]:
    """Sign somebody off; in all topics when none is named."""
    return _signed(signer, trainee, codes or TOPICS, expires_on=expires_on)


def _signed(signer: Membership, trainee: Membership, codes: tuple[str, ...], **more: Any) -> list[SignOff]:
    training = signoff.Training((trainee.public_id,), codes, **more)
    receipt = signoff.grant(ask(signer, word=_ids), training)
    return list(SignOff.objects.filter(public_id__in=receipt.answer.body["ids"]).order_by("pk"))


def _ids(rows: list[SignOff]) -> Answer:
    return Answer(201, {"ids": [row.public_id for row in rows]})


def refreshed(row: Any) -> Any:
    """Return the row as the database has it now."""
    return type(row).objects.get(pk=row.pk)


def notice(to: Membership, *, subject: str = "", **fields: Any) -> Notice:
    """Put a notice into an inbox and queue its deliveries, as a sweep does."""
    now = clock.now()
    said = {
        "kind": "batch-approved",  # told as it happens: no sweep asks later whether it still stands
        "text": "The stock in bottle 3 ends soon.",
        "path": "vessels",
        "posted_at": now,
    }
    fields = {**said, **fields}
    fields.setdefault("due_on", day_of(fields["posted_at"], to.darkroom.zone))
    row = Notice.objects.create(darkroom=to.darkroom, to=to, subject=subject or unique("subject"), **fields)
    outbox.queue([row.pk])
    return row
