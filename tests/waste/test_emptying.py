"""A container poured into another, or let down the drain: both sides are written, and both are taken back."""

from datetime import timedelta

import pytest

from darkroom_service import clock
from darkroom_service.refusal import Clash
from tests import make
from tests.proof import differences
from tests.waste.pail import can, do, kept_apart, ml, poured, within
from tests.waste.test_pickup import confirmed, planned, ready
from waste.commands import accumulation, confirming, container, drain, drainrule, emptying, fill
from waste.commands.confirming import Left
from waste.commands.log import drawn_up
from waste.commands.pickup import Item
from waste.models import Collection, DrainRelease, Fill

pytestmark = pytest.mark.django_db


def said(target=None, **more):
    return ({"container": str(target.public_id)} if target else {}) | more


def mL(text):  # noqa: N802  as it is written
    return {"value": text, "unit": "mL"}


def contents(*cans):
    return [make.refreshed(each).contents for each in cans]


def test_a_can_is_poured_into_another_and_taken_back_on_both_sides(bo, client_for):
    then = clock.now() - timedelta(days=40)
    old, new = can(bo, at=then), can(bo)
    poured(bo, old, "300", at=then + timedelta(days=1))
    poured(bo, new, "100")
    made = client_for(bo).post(f"containers/{old.public_id}/emptying", said(new))
    assert (made.status_code, made.json()["flags"], made.json()["volume"]) == (201, [], mL("300.0"))
    assert contents(old, new) == [0, ml("400")]
    assert make.refreshed(new).began_at == make.refreshed(old).began_at  # the older decides how long it may stay
    assert differences(bo.darkroom) == []
    do(container.wash, bo, old, how="Rinsed three times")
    address = f"fills/{made.json()['fill']}/reversal"
    refused = client_for(bo).post(address, {"reason": "It was the other can"})
    assert (refused.status_code, refused.json()["code"]) == (409, "container.washed_since")
    assert contents(old, new) == [0, ml("400")]
    assert differences(bo.darkroom) == []


def test_a_part_is_poured_on_and_taken_back(bo, client_for):
    one, other = can(bo), can(bo)
    first = poured(bo, one, "300")
    row = do(emptying.into, bo, one, container=other.public_id, volume=ml("120"))
    assert contents(one, other) == [ml("180"), ml("120")]
    with pytest.raises(Clash) as refused:
        do(fill.reverse, bo, first, reason="Written twice")
    assert refused.value.code == "fill.poured_on"
    assert client_for(bo).post(f"fills/{row.fill.public_id}/reversal", {"reason": "No"}).status_code == 201
    assert contents(one, other) == [ml("300"), 0]
    do(fill.reverse, bo, first, reason="Written twice")
    assert (contents(one, other), differences(bo.darkroom)) == ([0, 0], [])


def test_nothing_is_generated_anew_and_the_log_says_where_it_went(bo):
    one, other = can(bo), can(bo)
    poured(bo, one, "300")
    before = accumulation.facts(bo.darkroom, clock.now(), [one.stream])
    do(emptying.into, bo, one, container=other.public_id)
    assert accumulation.facts(bo.darkroom, clock.now(), [one.stream]) == before
    log = drawn_up(bo.darkroom, first=None, last=None, as_of=None)
    line = next(each for each in log.lines() if each.kind == "emptying")
    assert (line.left, line.container, line.destination) == (ml("300"), one.code, f"container {other.code}")
    list(log.lines())
    assert log.totals["fixer"].closing == ml("300")


@pytest.mark.parametrize("what", ["stop-bath", "full", "quarantined", "promised", "more", "itself", "empty"])
def test_a_plan_of_what_will_not_do_is_refused_and_nothing_moves(bo, client_for, what):
    held, other = can(bo), can(bo, "stop-bath" if what == "stop-bath" else "fixer")
    poured(bo, held, "300")
    if what == "full":
        poured(bo, other, "8900")
    if what == "quarantined":
        poured(bo, held, "10", stream=None)
    if what == "promised":
        planned(bo, held)
    if what == "empty":
        do(emptying.into, bo, held, container=can(bo).public_id)
    had = contents(held, other)
    volume = {"volume": mL("300.1")} if what == "more" else {}
    asked = said(held if what == "itself" else other, happened=False, **volume)
    answer = client_for(bo).post(f"containers/{held.public_id}/emptying", asked)
    code = {
        "stop-bath": (422, "container.incompatible"), "full": (409, "container.overfull"),
        "quarantined": (409, "container.quarantined"), "promised": (409, "pickup.container_held"),
        "more": (409, "container.more_than_held"), "itself": (400, "container.itself"),
        "empty": (409, "container.empty"),
    }[what]  # fmt: skip
    assert (answer.status_code, answer.json()["code"]) == code
    assert (contents(held, other), differences(bo.darkroom)) == (had, [])


def test_a_report_is_written_whatever_it_says(bo, client_for):
    fixer, stop = can(bo), can(bo, "stop-bath")
    poured(bo, fixer, "300")
    poured(bo, stop, "100")
    made = client_for(bo).post(f"containers/{fixer.public_id}/emptying", said(stop, volume=mL("310")))
    assert made.json()["flags"] == ["container.incompatible", "container.wrong_stream", "pickup.more_than_recorded"]
    assert (contents(fixer, stop), make.refreshed(stop).state) == ([0, ml("410")], "quarantined")
    assert make.refreshed(stop).held == ["fixer", "stop-bath"]
    mixed = client_for(bo).post(f"containers/{stop.public_id}/emptying", said(can(bo, "stop-bath")))
    assert "container.incompatible" in mixed.json()["flags"]  # nobody can say what a mixture is
    assert differences(bo.darkroom) == []


def test_down_the_drain_only_under_the_rule_and_back(bo, di, client_for):
    held, stream = can(bo, "stop-bath"), kept_apart(bo, "stop-bath")
    poured(bo, held, "300")
    where, body = f"containers/{held.public_id}/emptying", {"water": mL("6000"), "ph": "7", "happened": False}
    none = client_for(bo).post(where, body)
    assert (none.status_code, none.json()["code"], contents(held)) == (422, "drain.no_rule", [ml("300")])
    do(drainrule.write, di, approved_by="Drainage office", reference="Letter 1", streams=[stream.code],
       daily_volume=ml("1000"), ph_low=6, ph_high=10, dilution=20)  # fmt: skip
    made = client_for(bo).post(where, body)
    assert (made.status_code, made.json()["flags"], contents(held)) == (201, [], [0])
    assert differences(bo.darkroom) == []
    do(drain.reverse, bo, DrainRelease.objects.get(), reason="The can, not the sink")
    assert (contents(held), differences(bo.darkroom)) == ([ml("300")], [])


def test_a_pickup_before_an_emptying_is_corrected_after_that_is_taken_back(bo, eli):
    held, other = can(bo), can(bo)
    poured(bo, held, "300")
    gone = confirmed(eli, ready(bo, Item(held.public_id, ml("100"))))
    do(emptying.into, bo, held, container=other.public_id)
    with pytest.raises(Clash) as refused:
        do(confirming.correct, eli, gone, left=[Left(held.public_id, ml("90"))], reason="Weighed")
    assert refused.value.code == "pickup.later_emptying"
    do(fill.reverse, bo, Fill.objects.get(origin__kind="container"), reason="To correct the pickup")
    do(confirming.correct, eli, gone, left=[Left(held.public_id, ml("90"))], reason="Weighed")
    assert (contents(held, other), differences(bo.darkroom)) == ([ml("210"), 0], [])


def test_what_left_on_one_side_only_is_named(bo):
    held, other = can(bo), can(bo)
    poured(bo, held, "300")
    row = do(emptying.into, bo, held, container=other.public_id)
    within(bo, lambda work: fill.reverse_locked(work, row.fill))
    assert any(f"emptying {row.public_id}" in line for line in differences(bo.darkroom))


@pytest.mark.parametrize("who", ["ada", "di"])
def test_a_member_empties_no_container(request, bo, client_for, who):
    held = can(bo)
    poured(bo, held, "300")
    answer = client_for(request.getfixturevalue(who)).post(f"containers/{held.public_id}/emptying", said(can(bo)))
    assert (answer.status_code, answer.json()["code"], Collection.objects.count()) == (403, "act.forbidden", 0)


def test_the_two_ways_out_are_not_told_at_once_and_nobody_elses_is_named(bo, client_for, outsider):
    from accounts.acts import Role

    held, where = can(bo), "containers/{}/emptying"
    foreign = can(make.member(outsider, Role.TECHNICIAN))
    poured(bo, held, "300")
    both = client_for(bo).post(where.format(held.public_id), said(can(bo), ph="7"))
    assert (both.status_code, both.json()["errors"][0]["pointer"]) == (400, "/ph")
    neither = client_for(bo).post(where.format(held.public_id), {})
    assert (neither.status_code, neither.json()["errors"][0]["pointer"]) == (400, "/container")
    elsewhere = client_for(bo).post(where.format(held.public_id), said(foreign))
    assert (elsewhere.status_code, elsewhere.json()["errors"][0]["pointer"]) == (400, "/container")
    assert client_for(bo).post(where.format(foreign.public_id), said(held)).status_code == 404
