"""Two people of a darkroom at once: no last admin is lost, and no twin counts twice."""

from uuid import uuid4

from accounts.acts import Role
from accounts.commands import darkroom, membership, signoff
from accounts.commands.chain import broken
from accounts.commands.entry import Answer, Ask
from accounts.models import Darkroom, Membership, SignOff
from tests import make
from tests.barrier import at_once, refused

ROUNDS = 10
SETTINGS = {"name": "Wanted by two", "zone": "UTC", "currency": "EUR"}


def demotion(by, whom):
    member = frozenset({Role.MEMBER})
    return lambda: membership.edit(make.ask(by), whom, unchanged=lambda _: None, roles=member)


def test_two_admins_who_demote_each_other_leave_one_admin(committed_room):
    first = committed_room
    for _ in range(ROUNDS):
        second = make.member(first)
        both = frozenset({Role.MEMBER, Role.ADMIN})
        membership.edit(make.ask(first), second, unchanged=lambda _: None, roles=both)
        at_once(demotion(first, second), demotion(second, first))
        (first,) = Membership.objects.holding(Role.ADMIN).filter(darkroom=first.darkroom).select_related("darkroom")
    assert broken(first.darkroom) is None


def test_two_admins_who_leave_together_leave_one_admin(committed_room):
    first = committed_room
    second = make.member(first)
    both = frozenset({Role.MEMBER, Role.ADMIN})
    membership.edit(make.ask(first), second, unchanged=lambda _: None, roles=both)
    at_once(*(lambda who=who: membership.depart(make.ask(who), who) for who in (first, second)))
    assert Membership.objects.holding(Role.ADMIN).filter(darkroom=first.darkroom).count() == 1


def test_twins_under_one_key_open_one_darkroom(committed):
    for _ in range(ROUNDS):
        founder, key, slug = make.account(), uuid4(), make.unique("twin")
        ask = Ask(0, founder.pk, key, "a" * 64)
        receipts = at_once(*[lambda ask=ask, slug=slug: darkroom.create(ask, slug=slug, settings=dict(SETTINGS))] * 4)
        assert sorted(receipt.replayed for receipt in receipts) == [False, True, True, True]
        assert len({receipt.answer.body["id"] for receipt in receipts}) == 1


def test_two_people_who_want_one_address_get_one_darkroom(committed):
    for _ in range(ROUNDS):
        slug = make.unique("wanted")
        asks = [Ask(0, make.account().pk, uuid4(), "a" * 64) for _ in range(3)]
        results = at_once(
            *(lambda ask=ask, slug=slug: darkroom.create(ask, slug=slug, settings=dict(SETTINGS)) for ask in asks)
        )
        assert refused(results) == ["darkroom.address_taken"] * 2
        assert Darkroom.objects.filter(slug=slug).count() == 1


def test_twins_under_one_key_sign_off_once(committed_room):
    di = committed_room
    cy = make.member(di, Role.INSTRUCTOR)
    make.first_holder(di, cy)
    for _ in range(ROUNDS):
        trainee, key = make.member(di), uuid4()
        ask = make.ask(cy, word=lambda rows: Answer(201, {"made": len(rows)}), key=key, said="a" * 64)
        training = signoff.Training((trainee.public_id,), ("ppe",))
        receipts = at_once(*[lambda ask=ask, training=training: signoff.grant(ask, training)] * 4)
        assert sorted(receipt.replayed for receipt in receipts) == [False, True, True, True]
        assert SignOff.objects.filter(trainee=trainee).count() == 1
