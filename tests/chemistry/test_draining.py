"""From the bench to the drain, the bag and the next can: mass balance stays zero whatever is poured where."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chemistry.commands import balance, destination, transfer
from chemistry.commands import proof as chemistry_proof
from chemistry.models import Batch, Movement, TransferKind
from tests.chemistry import bench, brew
from tests.chemistry.bench import quantity
from tests.waste import pail
from tests.waste.pail import do, kept_apart
from waste.commands import proof as waste_proof
from waste.models import DrainRelease, Fill


@pytest.fixture
def staffed(room, bo, eli, cy, ada):
    """The room with its people, Ada inducted."""
    bench.inducted(room, ada)
    return room


def proven(room):
    pk = getattr(room, "pk", None)
    return [*chemistry_proof.differences(pk), *waste_proof.differences(pk)]


def balanced():
    return all(each.difference == 0 for each in balance.drawn_up(list(Batch.objects.all())))


def let(vessel, ml=None, **given):
    said = {"kind": "drain", "source": str(vessel.public_id), **given}
    return said | ({"volume": quantity(ml)} if ml else {})


def test_a_vessel_goes_down_the_drain_as_a_report_and_comes_back_reversed(staffed, bo, client_for):
    vessel, says = brew.working(staffed), client_for(bo)
    kept_apart(bo, "fixer")
    had = bench.fresh(vessel).contents
    refused = says.post("transfers", let(vessel, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (422, "drain.no_rule")
    assert bench.fresh(vessel).contents == had
    made = says.post("transfers", let(vessel, "100", water=quantity("900"), ph="7"))
    assert bench.codes(made) == ["drain.no_rule"]
    row = DrainRelease.objects.get()
    assert (row.volume, row.water, row.origin["batch"], row.stream.code) == (1000, 9000, vessel.batch.code, "fixer")
    assert Movement.objects.get(target="drain").release == row
    assert (proven(None), balanced()) == ([], True)
    assert says.post(f"{made['Location']}/reversal", {"reason": "The can, not the sink"}).status_code == 201
    assert bench.fresh(vessel).contents == had
    assert sum(DrainRelease.objects.values_list("volume", flat=True)) == 0
    assert (proven(None), balanced()) == ([], True)


def test_a_release_is_taken_back_with_what_it_is_part_of(staffed, bo, client_for):
    vessel, says = brew.working(staffed), client_for(bo)
    says.post("transfers", let(vessel, "100"))
    refused = says.post(f"drain-releases/{DrainRelease.objects.get().public_id}/reversal", {"reason": "No"})
    assert (refused.status_code, refused.json()["code"]) == (409, "drain.dependent")


def test_a_spill_that_was_soaked_up_goes_into_the_bag(staffed, bo, client_for):
    vessel, bag = brew.working(staffed), pail.can(bo, "contaminated-solids")
    said = {"kind": "spill", "source": str(vessel.public_id), "volume": quantity("100")}
    more = {"mopped": quantity("80"), "container": str(bag.public_id), "absorbent": "granules"}
    made = client_for(bo).post("transfers", said | more)
    assert bench.codes(made) == ["vessel.spilled"]
    row = Fill.objects.get()
    assert (row.volume, row.origin["kind"], row.origin["liquid"]) == (800, "mop-up", "fixer")
    assert sum(Movement.objects.filter(target="spilled").values_list("volume", flat=True)) == 200
    assert (proven(None), balanced()) == ([], True)
    too_much = client_for(bo).post("transfers", said | more | {"mopped": quantity("100.1")})
    assert (too_much.status_code, too_much.json()["errors"][0]["pointer"]) == (400, "/mopped")


def test_a_full_container_gives_way_to_the_next_of_its_stream(staffed, bo, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed), cans=True)
    first, second = line.steps.get().container, pail.can(bo, "bw-developer")
    pail.poured(bo, first, "17900")  # of 18 L
    client_for(ada).post("check-ins", bench.tank(line))
    row = Fill.objects.latest("id")
    assert (row.container, row.flags) == (second, [])
    named = bench.tank(line, containers={"developer": str(first.public_id)})
    client_for(ada).post("check-ins", named)
    assert Fill.objects.latest("id").flags == ["container.overfull"]  # somebody said so: it is where they said


def test_a_plan_names_the_container_that_its_check_in_will_pour_into(staffed, bo, ada, client_for):
    bench.inducted(staffed, ada)
    line = bench.line(staffed, bench.developer(staffed), cans=True)
    first = line.steps.get().container
    asked = bench.tank(line, base_time=quantity("9", "min"), temperature=quantity("20", "degC"))

    def named():
        return [each["container"] for each in client_for(ada).post("tank-plans", asked).json()["charges"]]

    assert named() == [str(first.public_id)]
    pail.poured(bo, first, "17900")  # of 18 L
    assert named() == [str(first.public_id)]  # nothing else takes it: the line's own, and the report will be flagged
    second = pail.can(bo, "bw-developer")
    assert named() == [str(second.public_id)]
    client_for(ada).post("check-ins", bench.tank(line))
    assert Fill.objects.latest("id").container == second


def test_the_preset_of_a_formula_at_a_strength_takes_what_no_line_sends_anywhere(staffed, bo, ada, client_for):
    vessel = bench.developer(staffed)
    can, line = pail.can(bo, "bw-developer"), bench.line(staffed, vessel)
    formula = vessel.batch.formula_version.formula
    body = {"formula": str(formula.public_id), "dilution": "1+1", "stream": str(can.stream.public_id)}
    wrong = client_for(bo).post("destinations", body | {"stream": str(kept_apart(bo, "fixer").public_id)})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "container.wrong_stream")
    assert client_for(bo).post("destinations", body).status_code == 201
    assert client_for(ada).get("destinations").json()["items"][0]["dilution"] == "1+1"
    client_for(ada).post("check-ins", bench.tank(line))
    row = Fill.objects.get()
    assert (row.container, row.flags) == (can, [])
    assert {"batch", "formula_name", "load", "g_per_l", "statements"} <= row.origin.keys()
    assert proven(None) == []


ACTS = st.lists(
    st.tuples(st.sampled_from(["empty", "drain", "spill", "mop", "undo"]), st.integers(1, 1500)), max_size=8
)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=ACTS)
def test_whatever_is_poured_away_and_taken_back_nothing_is_lost(staffed, bo, acts):
    vessel, can, bag = brew.working(staffed), pail.can(bo, "fixer"), pail.can(bo, "contaminated-solids")
    made = []
    where = {
        "empty": (TransferKind.EMPTY, {"container": can.public_id}),
        "drain": (TransferKind.DRAIN, {"water": 100}),
        "spill": (TransferKind.SPILL, {}),
        "mop": (TransferKind.SPILL, {"container": bag.public_id}),
    }
    for act, volume in acts:
        if act == "undo":
            if made:
                do(transfer.reverse, bo, made.pop(), reason="x")
        else:
            kind, given = where[act]
            given = given | ({"mopped": volume} if act == "mop" else {})
            made.append(do(transfer.create, bo, kind=kind, source=vessel.public_id, volume=volume, **given))
        assert balanced()
        assert proven(None) == []


@pytest.mark.parametrize("field", ["formula", "stream"])
def test_a_preset_of_something_elsewhere_is_refused_at_its_place(staffed, bo, client_for, field):
    vessel = bench.developer(staffed)
    body = {
        "formula": str(vessel.batch.formula_version.formula.public_id), "dilution": "1+1",
        "stream": str(kept_apart(bo, "bw-developer").public_id),
    }  # fmt: skip
    refused = client_for(bo).post("destinations", body | {field: "00000000-0000-4000-8000-000000000000"})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, f"/{field}")
    assert destination.__doc__
