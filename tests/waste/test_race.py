"""Several pour at once into one container, or plan, confirm and correct pickups of it at once."""

from datetime import date

from accounts.acts import Role
from darkroom_service.refusal import Clash
from tests import make
from tests.barrier import at_once, refused
from tests.waste.pail import can, do, ml, poured
from waste.commands import confirming, fill, pickup
from waste.commands.confirming import Left
from waste.commands.pickup import Item
from waste.commands.proof import differences
from waste.models import Collection, PickupItem

ROUNDS, PEOPLE = 5, 6


def pour(who, held, amount, *, happened):
    given = {"container": held.public_id, "stream": held.stream.public_id, "volume": ml(amount), "text": "x"}
    return lambda: fill.pour(make.ask(who), happened=happened, **given)


def test_only_as_many_plans_as_there_is_room_for_are_allowed_and_every_report_counts(committed_room):
    bo = make.member(committed_room, Role.TECHNICIAN, name="Bo Brandt")
    for _ in range(ROUNDS):
        held = can(bo)
        plans = at_once(*(pour(bo, held, "4500", happened=False) for _ in range(PEOPLE)))
        assert [isinstance(each, Clash) for each in plans].count(True) == PEOPLE - 2
        reports = at_once(*(pour(bo, held, "10", happened=True) for _ in range(PEOPLE)))
        assert not any(isinstance(each, Exception) for each in reports)
        assert make.refreshed(held).contents == ml("9060")
    assert list(differences(bo.darkroom_id)) == []


def planning(who, held, **how):
    given = {"way": "handover", "planned_for": date(2026, 12, 1), "destination": "The parent school's store"}
    return lambda: pickup.plan(make.ask(who), items=[Item(held.public_id, **how)], **given)


def confirming_(who, row):
    return lambda: confirming.confirm(make.ask(who), row)


def correcting(who, row, *left):
    return lambda: confirming.correct(make.ask(who), row, left=list(left), reason="Weighed at the site")


def test_one_container_is_in_one_pickup_and_leaves_once_however_many_ask(committed_room):
    bo = make.member(committed_room, Role.TECHNICIAN, name="Bo Brandt")
    eli = make.member(committed_room, Role.TECHNICIAN, name="Eli Engel")
    for _ in range(ROUNDS):
        held = can(bo)
        poured(bo, held, "250")
        plans = at_once(*(planning(who, held) for who in (bo, eli) * (PEOPLE // 2)))
        assert refused(plans) == ["pickup.container_held"] * (PEOPLE - 1)
        item = PickupItem.objects.get(container=held)
        row = do(pickup.prepare, bo, item.pickup)
        gone = at_once(*(confirming_(eli, row) for _ in range(PEOPLE)))
        assert refused(gone) == ["pickup.confirmed"] * (PEOPLE - 1)
        assert sum(Collection.objects.filter(container=held).values_list("volume", flat=True)) == ml("250")
    assert list(differences(bo.darkroom_id)) == []


def test_a_pour_beside_a_confirmation_is_taken_along_or_stays_but_is_never_lost(committed_room):
    bo = make.member(committed_room, Role.TECHNICIAN, name="Bo Brandt")
    eli = make.member(committed_room, Role.TECHNICIAN, name="Eli Engel")
    for _ in range(ROUNDS):
        held = can(bo)
        poured(bo, held, "250")
        planning(bo, held, stays=True)()
        row = do(pickup.prepare, bo, PickupItem.objects.get(container=held).pickup)
        pours = [pour(bo, held, "10", happened=True) for _ in range(PEOPLE)]
        assert refused(at_once(*pours, confirming_(eli, row))) == []
        told = [correcting(eli, row, Left(held.public_id, ml("240"), emptied=True)) for _ in range(2)]
        assert refused(at_once(*told, pour(bo, held, "10", happened=True))) == []
        moved = Collection.objects.filter(container=held).values_list("volume", "found")
        went = sum(volume - found for volume, found in moved)
        assert make.refreshed(held).contents == ml("250") + (PEOPLE + 1) * ml("10") - went
    assert list(differences(bo.darkroom_id)) == []
