"""Transfers: what moves, what goes along, what is flagged and stopped, and what is refused because it cannot be."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from accounts.models import Entry, Notice
from chemistry.commands import formula, proof, transfer
from chemistry.models import Batch, Charge, CostShare, Movement, Pack, Stop, Transfer, Vessel, VesselState
from chemistry.models.stop import StopKind
from darkroom_service import clock
from tests.chemistry import bench, brew
from tests.waste import pail
from waste.models import Fill


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def body(kind, source=None, target=None, volume=None, **more):
    """The body of a transfer; volumes in mL."""
    ends = {"source": source, "target": target}
    said = {"kind": kind, **{name: str(each.public_id) for name, each in ends.items() if each}, **more}
    return said | ({"volume": bench.quantity(volume)} if volume else {})


def rolled(client, vessel, rolls=1):
    """Put film through a vessel and pour the stock back."""
    line = bench.line(vessel.darkroom, vessel)
    answer = client.post("check-ins", bench.reuse(line, rolls=rolls, size="500"))
    assert answer.status_code == 201, answer.json()
    return bench.fresh(vessel)


def everything():
    """Count all that a transfer could write."""
    kinds = (Transfer, Movement, Charge, Fill, Stop, Entry, Notice, Batch)
    vessels = list(Vessel.objects.order_by("pk").values_list("pk", "contents", "basis", "load", "state", "version"))
    return [kind.objects.count() for kind in kinds], vessels


def adds_up(room):
    return list(proof.differences(room.pk)) == []


# Decanting


def test_a_drum_is_decanted_into_full_bottles_that_keep_six_months_while_the_drum_stands_part_full(
    staffed, bo, client_for
):
    drum = brew.drum_of(brew.released_batch(staffed))
    bottles = [brew.bottle(staffed, "946") for _ in range(3)]
    for each in bottles:
        assert bench.codes(client_for(bo).post("transfers", body("decant", drum, each, "946"))) == []
    day = bench.fresh(drum).use_by
    for each in map(bench.fresh, bottles):
        assert (each.contents, each.basis, each.state, each.batch) == (9460, 9460, "ready", drum.batch)
        assert each.made_at == bench.fresh(drum).made_at
        assert "6 months full and tight" in each.use_by_rule  # common practice, no source
        assert each.use_by > day
    assert "part-full" in bench.fresh(drum).use_by_rule
    assert bench.fresh(drum).contents == 38000 - 3 * 9460
    assert adds_up(staffed)


def test_what_stood_part_full_over_night_keeps_its_shorter_date_in_a_full_bottle(staffed, bo, client_for):
    start = clock.now() - timedelta(days=30)
    drum = brew.drum_of(brew.released_batch(staffed, at=start))
    first, second = brew.bottle(staffed, "946"), brew.bottle(staffed, "946")
    with clock.fixed(start):
        brew.do(transfer.decant, bo, source=drum.public_id, target=first.public_id, volume=9460)
    bench.codes(client_for(bo).post("transfers", body("decant", drum, second, "946")))
    assert "6 months full" in bench.fresh(first).use_by_rule
    assert bench.fresh(second).part_full_since == start
    assert "part-full" in bench.fresh(second).use_by_rule


def test_topping_up_resets_neither_age_nor_load_nor_the_day_part_full(staffed, bo, client_for):
    start = clock.now() - timedelta(days=20)
    vessel = brew.filled(staffed, ml="700", nominal="1000", at=start)
    drum = brew.drum_of(vessel.batch)
    client = client_for(bo)
    worked = rolled(client, vessel)
    bench.codes(client.post("transfers", body("top_up", drum, vessel, "300")))
    now = bench.fresh(vessel)
    assert now.contents == worked.contents + 3000
    assert (now.load, now.made_at, now.part_full_since) == (3600, worked.made_at, worked.part_full_since)
    assert now.batch == worked.batch  # the same batch: no third one
    assert now.basis == worked.basis + 3000
    assert adds_up(staffed)


def test_two_batches_in_one_bottle_are_a_third_as_old_as_the_older_with_load_and_air_by_share(staffed, bo, client_for):
    old = clock.now() - timedelta(days=40)
    target = brew.filled(staffed, ml="500", nominal="1000", at=old)
    source = brew.filled(staffed, ml="1000")
    client = client_for(bo)
    worked = rolled(client, target)
    cost_before = sum(Batch.objects.values_list("cost_minor", flat=True))
    bench.codes(client.post("transfers", body("combine", source, target, "500")))
    now = bench.fresh(target)
    assert now.batch.origin == "blended"
    assert now.batch not in (worked.batch, source.batch)
    assert now.made_at == worked.made_at
    assert now.load == 3600  # the counter is not reset
    assert now.use == "reuse"
    # Dose by volume share (mass balance): what stood there had taken up more air than what came.
    assert 0 < now.oxygen_high < worked.oxygen_high + Decimal(30)
    assert now.batch.made == now.contents
    assert now.batch.cost_minor > 0
    assert sum(Batch.objects.values_list("cost_minor", flat=True)) == cost_before + now.batch.cost_minor
    assert adds_up(staffed)


def test_used_liquid_that_is_decanted_takes_its_share_of_load_and_its_way_of_use_along(staffed, bo, client_for):
    vessel, empty = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "500")
    client = client_for(bo)
    worked = rolled(client, vessel, rolls=2)
    bench.codes(client.post("transfers", body("decant", vessel, empty, "497.5")))
    here, there = bench.fresh(vessel), bench.fresh(empty)
    assert here.load + there.load == 7200
    assert abs(there.load - 7200 * 4975 // worked.contents) <= 1
    assert (there.use, there.film_or_paper) == ("reuse", "film")
    assert adds_up(staffed)


def test_unused_liquid_may_still_be_used_in_any_way_in_its_new_bottle(staffed, bo, client_for):
    vessel, empty = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "500")
    client = client_for(bo)
    assert bench.codes(client.post("check-ins", bench.tank(bench.line(staffed, vessel)))) == []
    assert bench.fresh(vessel).use == "fresh"
    bench.codes(client.post("transfers", body("decant", vessel, empty, "500")))
    assert (bench.fresh(empty).use, bench.fresh(empty).film_or_paper) == ("", "")


def test_a_batch_poured_before_its_rest_is_over_or_closed_warm_is_recorded_and_flagged(staffed, bo, client_for):
    made = brew.mixed_batch(staffed, at=clock.now() - timedelta(hours=1))
    target = brew.bottle(staffed, "946")
    said = body("decant", brew.drum_of(made), target, "946", warm=bench.quantity("45", "degC"))
    answer = client_for(bo).post("transfers", said)
    assert bench.codes(answer) == ["batch.resting", "vessel.closed_hot"]
    assert bench.fresh(target).state == VesselState.WAITING
    assert Notice.objects.filter(kind="report-flagged", to=bo).exists()


def test_pouring_more_than_the_record_holds_brings_the_rest_from_unaccounted(staffed, bo, client_for):
    vessel, target = brew.filled(staffed, ml="500"), brew.bottle(staffed, "1000")
    answer = client_for(bo).post("transfers", body("decant", vessel, target, "620"))
    assert bench.codes(answer) == ["vessel.short"]
    assert (bench.fresh(vessel).contents, bench.fresh(target).contents) == (0, 6200)
    found = Movement.objects.get(source="unaccounted")
    assert (found.volume, found.target_vessel) == (1200, vessel)
    assert bench.fresh(vessel).state == "emptied"
    assert adds_up(staffed)


def test_a_little_too_full_is_flagged_and_what_no_bottle_holds_is_refused_with_nothing_changed(staffed, bo, client_for):
    vessel, target = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "500")
    before = everything()
    answer = client_for(bo).post("transfers", body("decant", vessel, target, "526"))
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/volume")
    assert everything() == before
    assert bench.codes(client_for(bo).post("transfers", body("decant", vessel, target, "520"))) == ["vessel.overfull"]


def test_what_plans_keep_is_flagged_when_it_is_poured_on(staffed, bo, ada, client_for):
    vessel = brew.filled(staffed, ml="1000")
    bench.inducted(staffed, ada)
    line = bench.line(staffed, vessel)
    plan = client_for(ada).post("tank-plans", bench.tank(line, **bench.own(line)) | {"hold": True})
    assert plan.status_code == 201, plan.json()
    answer = client_for(bo).post("transfers", body("decant", vessel, brew.bottle(staffed, "1000"), "900"))
    assert bench.codes(answer) == ["vessel.held"]
    can = pail.can(bo, "bw-developer")
    emptied = client_for(bo).post("transfers", body("empty", vessel, container=str(can.public_id)))
    assert bench.codes(emptied) == ["vessel.held"]


# What should not meet


def test_used_liquid_poured_into_fresh_is_recorded_flagged_and_stops_the_bottle(staffed, bo, client_for):
    fresh, worked = brew.filled(staffed, ml="500", nominal="1000"), brew.filled(staffed, ml="1000")
    client = client_for(bo)
    rolled(client, worked)
    answer = client.post("transfers", body("pour_back", worked, fresh, "300"))
    assert bench.codes(answer) == ["vessel.fresh"]
    now = bench.fresh(fresh)
    assert (now.state, now.contents, now.use) == ("stopped", 8000, "reuse")
    assert Stop.objects.get(vessel=fresh).kind == StopKind.RULE_BROKEN
    assert Notice.objects.filter(kind="vessel-stopped", to=bo, safety=True).exists()


def test_fixer_in_the_developer_stops_it(staffed, bo, client_for):
    developer, fixer = brew.filled(staffed, ml="500", nominal="1000"), brew.working(staffed)
    answer = client_for(bo).post("transfers", body("decant", fixer, developer, "100"))
    assert bench.codes(answer) == ["vessel.other_formula"]
    assert bench.fresh(developer).state == "stopped"
    assert adds_up(staffed)


def test_a_second_bath_poured_into_the_first_is_recorded_and_stops_the_first(staffed, bo, cy, client_for):
    first = brew.filled(staffed, ml="500", nominal="1000")
    version = brew.published(staffed)
    rules = dict(version.rules_data) | {"never_poured_back": True}
    given = {"code": "bath-b", "name": "Second bath", "rules": rules, "sources": version.sources}
    brew.do(formula.publish, cy, brew.do(formula.draft, bo, **given))
    second = brew.filled(staffed, "bath-b", "500")
    answer = client_for(bo).post("transfers", body("pour_back", second, first, "100"))
    assert bench.codes(answer) == ["vessel.first_bath"]
    assert bench.fresh(first).state == "stopped"


def test_two_strengths_in_one_vessel_stop_it(staffed, bo, client_for):
    weak, strong = brew.working(staffed, dilution="1+9", ml="500"), brew.working(staffed, dilution="1+4", ml="1000")
    brew.do(transfer.decant, bo, source=weak.public_id, target=(roomy := brew.bottle(staffed, "2000")).public_id)
    assert bench.codes(client_for(bo).post("transfers", body("combine", strong, roomy))) == ["vessel.other_strength"]
    assert bench.fresh(roomy).state == "stopped"
    assert bench.fresh(strong).state == "emptied"


def test_a_stop_goes_along_with_the_liquid(staffed, bo, eli, client_for):
    vessel, target = brew.filled(staffed, ml="1000"), brew.bottle(staffed, "500")
    test = {"vessel": str(vessel.public_id), "figures": {"matches": False}}
    assert client_for(bo).post("tests", test).json()["state"] == "stopped"
    answer = client_for(bo).post("transfers", body("decant", vessel, target, "500"))
    assert bench.codes(answer) == ["vessel.stopped"]
    assert bench.fresh(target).state == "stopped"
    assert Stop.objects.get(vessel=target).kind == StopKind.FAILED_TEST
    assert client_for(eli).post(f"vessels/{target.public_id}/lifting", {"reason": "looks fine"}).status_code == 409


def test_unreleased_stock_in_a_bottle_in_use_stops_it(staffed, bo, client_for):
    target = brew.filled(staffed, ml="500", nominal="1000")
    made = brew.mixed_batch(staffed, at=clock.now() - timedelta(hours=30))
    answer = client_for(bo).post("transfers", body("top_up", brew.drum_of(made), target, "400"))
    assert bench.codes(answer) == ["batch.unreleased"]
    assert bench.fresh(target).state == "stopped"


# Opening and diluting


def test_a_pack_of_concentrate_is_opened_into_a_vessel_of_its_own_in_one_act(staffed, bo, client_for):
    packed = brew.pack(staffed, "rapid-fixer", "1000", price=900)
    answer = client_for(bo).post("transfers", {"kind": "open", "pack": str(packed.public_id), "name": "Fixer neat"})
    assert bench.codes(answer) == []
    vessel = Vessel.objects.with_contents().get(public_id=answer.json()["target"])
    assert (vessel.name, vessel.contents, vessel.nominal, vessel.state) == ("Fixer neat", 10000, 10000, "ready")
    assert (vessel.batch.origin, vessel.batch.cost_minor, vessel.batch.made) == ("opened", 900, 10000)
    again = client_for(bo).post("transfers", {"kind": "open", "pack": str(packed.public_id)})
    assert (again.status_code, again.json()["code"]) == (409, "pack.not_sealed")
    assert adds_up(staffed)


def test_a_powder_is_not_opened_into_a_bottle(staffed, bo, client_for):
    packed = brew.pack(staffed)
    before = everything()
    answer = client_for(bo).post("transfers", {"kind": "open", "pack": str(packed.public_id)})
    assert (answer.status_code, answer.json()["code"]) == (422, "pack.powder")
    assert everything() == before


def test_diluting_makes_a_batch_of_its_own_from_stock_and_water(staffed, bo, client_for):
    concentrate, target = brew.concentrate(staffed, ml="1000"), brew.bottle(staffed, "1000")
    said = body("dilute", concentrate, target, "1000", dilution="1+4")
    answer = client_for(bo).post("transfers", said)
    assert bench.codes(answer) == []
    now = bench.fresh(target)
    # 1000 mL at 1+4 is 200 + 800: exact arithmetic.
    assert bench.fresh(concentrate).contents == 8000
    assert (now.contents, now.basis, now.batch.dilution, now.batch.origin) == (10000, 10000, "1+4", "diluted")
    assert Movement.objects.get(source="water").volume == 8000
    assert now.state == "ready"
    # A fifth of 900: 180, borne by the child from here on.
    assert now.batch.cost_minor == 180
    assert adds_up(staffed)


def test_the_stock_rounds_and_water_is_the_rest(staffed, bo, client_for):
    concentrate, target = brew.concentrate(staffed, ml="1000"), brew.bottle(staffed, "1000")
    answer = client_for(bo).post("transfers", body("dilute", concentrate, target, "100.1", dilution="1+9"))
    bench.codes(answer)
    # 100.1 / 10 = 10.01 mL of stock, 10.0 on the grid of 0.1 mL, and 90.1 of water.
    assert (10000 - bench.fresh(concentrate).contents, Movement.objects.get(source="water").volume) == (100, 901)
    assert bench.fresh(target).contents == 1001


def test_one_to_three_is_refused_with_both_of_its_readings(staffed, bo, client_for):
    concentrate, target = brew.concentrate(staffed), brew.bottle(staffed)
    before = everything()
    answer = client_for(bo).post("transfers", body("dilute", concentrate, target, "500", dilution="1:3"))
    problem = answer.json()
    assert (answer.status_code, problem["errors"][0]["pointer"]) == (400, "/dilution")
    assert problem["facts"]["offers"] == ["1+3", "1+2"]
    assert everything() == before


def test_a_strength_the_formula_does_not_name_is_flagged(staffed, bo, client_for):
    answer = client_for(bo).post(
        "transfers", body("dilute", brew.concentrate(staffed), brew.bottle(staffed), "500", dilution="1+7")
    )
    assert bench.codes(answer) == ["dilution.not_offered"]


def test_what_was_diluted_before_becomes_as_weak_as_both_make_it(staffed, bo, client_for):
    weak, target = brew.working(staffed, dilution="1+4"), brew.bottle(staffed, "500")
    bench.codes(client_for(bo).post("transfers", body("dilute", weak, target, "500", dilution="1+1")))
    assert bench.fresh(target).batch.dilution == "1+9"


def test_a_working_strength_poured_onto_its_like_is_one_new_batch(staffed, bo, client_for):
    concentrate, target = brew.concentrate(staffed), brew.bottle(staffed, "1000")
    for _ in range(2):
        bench.codes(client_for(bo).post("transfers", body("dilute", concentrate, target, "500", dilution="1+4")))
    now = bench.fresh(target)
    assert (now.contents, now.batch.origin, now.batch.dilution) == (10000, "blended", "1+4")
    assert adds_up(staffed)


# Emptying and spilling


def test_emptying_pours_all_into_the_container_with_a_snapshot_of_what_it_was(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer")
    answer = client_for(bo).post("transfers", body("empty", vessel, container=str(can.public_id)))
    assert bench.codes(answer) == []
    now, fill = bench.fresh(vessel), Fill.objects.get(container=can)
    assert (now.contents, now.state, fill.volume) == (0, "emptied", 10000)
    assert now.level_known_at is not None
    assert (fill.origin["batch"], fill.origin["dilution"], fill.origin["formula"]) == (
        vessel.batch.code, "1+4", "rapid-fixer",
    )  # fmt: skip
    assert Batch.objects.get(pk=vessel.batch_id).closed_at is not None
    assert adds_up(staffed)


def test_of_a_measured_amount_the_rest_stays_in_the_vessel(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer")
    bench.codes(client_for(bo).post("transfers", body("empty", vessel, None, "940", container=str(can.public_id))))
    assert bench.fresh(vessel).contents == 600
    assert not Movement.objects.filter(target="unaccounted").exists()
    assert Fill.objects.get(container=can).volume == 9400
    assert adds_up(staffed)


def test_more_in_the_bucket_than_on_record_is_found_first(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer")
    answer = client_for(bo).post("transfers", body("empty", vessel, None, "1020", container=str(can.public_id)))
    assert bench.codes(answer) == ["vessel.short"]
    assert (bench.fresh(vessel).contents, Fill.objects.get(container=can).volume) == (0, 10200)
    assert adds_up(staffed)


def test_a_pour_into_the_wrong_container_is_recorded_and_flagged(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "bw-developer")
    pail.poured(bo, can)
    answer = client_for(bo).post("transfers", body("empty", vessel, container=str(can.public_id)))
    assert bench.codes(answer) == ["container.incompatible", "container.wrong_stream"]
    can.refresh_from_db()
    assert can.state == "quarantined"
    assert bench.fresh(vessel).contents == 0


def test_a_vessel_the_record_has_empty_is_emptied_only_by_a_volume(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer")
    said = body("empty", vessel, container=str(can.public_id))
    bench.codes(client_for(bo).post("transfers", said))
    again = client_for(bo).post("transfers", said)
    assert (again.status_code, again.json()["code"]) == (409, "vessel.empty")
    found = body("empty", vessel, None, "50", container=str(can.public_id))
    assert bench.codes(client_for(bo).post("transfers", found)) == ["vessel.short"]
    assert adds_up(staffed)


def test_anybody_reports_a_spill_and_the_technicians_are_told(staffed, ada, bo, client_for):
    vessel = brew.working(staffed)
    answer = client_for(ada).post("transfers", body("spill", vessel, None, "150"))
    assert bench.codes(answer) == ["vessel.spilled"]
    assert bench.fresh(vessel).contents == 8500
    assert Movement.objects.get(target="spilled").volume == 1500
    assert "gloves" in Notice.objects.get(to=bo, kind="report-flagged").text


# Who may


def test_a_member_pours_shared_stock_into_a_bottle_of_their_own_only(staffed, ada, client_for):
    vessel, own, shared = brew.filled(staffed), brew.bottle(staffed, "500", owner=ada), brew.bottle(staffed, "500")
    client = client_for(ada)
    refused = client.post("transfers", body("decant", vessel, shared, "400"))
    assert (refused.status_code, refused.json()["code"]) == (403, "transfer.not_yours")
    assert bench.codes(client.post("transfers", body("decant", vessel, own, "400"))) == []
    back = client.post("transfers", body("pour_back", own, shared, "400"))
    assert back.status_code == 403


def test_an_owner_bears_what_the_rooms_liquid_costs_that_goes_into_their_bottle(staffed, ada, bo, client_for):
    vessel, own = brew.filled(staffed), brew.bottle(staffed, "500", owner=ada)
    client_for(ada).post("transfers", body("decant", vessel, own, "400"))
    (share,) = CostShare.objects.filter(member=ada)
    # 400 mL of 3800 mL at 12.00 are 126.3: arithmetic.
    assert (share.batch, share.minor) == (vessel.batch, 126)
    client_for(bo).post("transfers", body("pour_back", own, vessel, "400"))
    assert CostShare.objects.filter(member=ada).count() == 1
    assert list(proof.differences(staffed.pk)) == []


def test_what_an_owner_has_diluted_from_the_rooms_stock_costs_its_stock_once(staffed, ada, client_for):
    vessel, own = brew.filled(staffed), brew.bottle(staffed, "500", owner=ada)
    client_for(ada).post("transfers", body("dilute", vessel, own, "400", dilution="1+1"))
    (share,) = CostShare.objects.filter(member=ada)
    # 200 mL of 3800 mL at 12.00 are 63.2: arithmetic. The new batch took the cost over, and all of it is borne.
    made = bench.fresh(own).batch
    assert (share.batch, share.minor, made.cost_minor) == (made, 63, 63)


def test_a_decant_into_ones_own_bottle_taken_back_costs_nothing(staffed, ada, client_for):
    vessel, own = brew.filled(staffed), brew.bottle(staffed, "500", owner=ada)
    made = client_for(ada).post("transfers", body("decant", vessel, own, "400")).json()["id"]
    assert client_for(ada).post(f"transfers/{made}/reversal", {"reason": "it was another bottle"}).status_code == 201
    assert sum(CostShare.objects.filter(member=ada).values_list("minor", flat=True)) == 0


def test_a_member_empties_a_used_bath_but_not_one_that_is_still_good(staffed, ada, bo, client_for):
    fresh, worked, can = brew.filled(staffed), brew.filled(staffed, ml="1000"), pail.can(bo, "bw-developer")
    rolled(client_for(bo), worked)
    client, where = client_for(ada), {"container": str(can.public_id)}
    assert client.post("transfers", body("empty", fresh, **where)).status_code == 403
    assert bench.codes(client.post("transfers", body("empty", worked, **where))) == []


def test_an_outsider_finds_nothing_to_pour(staffed, outsider, client_for):
    path = f"/api/v1/darkrooms/{staffed.slug}/transfers"
    assert client_for(outsider).get(path).status_code == 404
    assert client_for(outsider).post(path, body("spill", brew.bottle(staffed), None, "1")).status_code == 404


# What cannot be


@pytest.mark.parametrize("name", ["source", "target", "container", "pack"])
def test_foreign_and_absent_ids_are_refused_alike(staffed, bo, elsewhere, client_for, name):
    theirs = _theirs(elsewhere)
    good = {
        "source": body("decant", None, brew.bottle(staffed), "100"),
        "target": body("decant", brew.filled(staffed), None, "100"),
        "container": body("empty", brew.filled(staffed)),
        "pack": {"kind": "open"},
    }[name]
    answers = [client_for(bo).post("transfers", good | {name: str(each)}) for each in (theirs, uuid4())]
    for answer in answers:
        (fault,) = answer.json()["errors"]
        assert (answer.status_code, fault["pointer"]) == (400, f"/{name}")
    assert answers[0].json()["detail"] == answers[1].json()["detail"]
    assert not Transfer.objects.filter(kind="empty").exists()


def _theirs(room):
    """The id of a vessel of another darkroom; of the other kinds it is as good as any foreign id."""
    return Vessel.objects.create(darkroom=room, code="ZZZZZZ", name="theirs", nominal=10000, material="glass").public_id


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"volume": bench.quantity("0")}, "/volume/value"),
        ({"volume": bench.quantity("0.04")}, "/volume"),
        ({"volume": bench.quantity("-1")}, "/volume/value"),
        ({"volume": bench.quantity("1e3")}, "/volume/value"),
        ({"volume": bench.quantity("1", "gal")}, "/volume/unit"),
        ({"kind": "teleport"}, "/kind"),
        ({"surprise": 1}, "/surprise"),
        ({"warm": bench.quantity("900", "degC")}, "/warm/value"),
    ],
)
def test_an_absurd_transfer_is_refused_with_a_pointer_and_nothing_changes(staffed, bo, client_for, changes, pointer):
    said = body("decant", brew.filled(staffed), brew.bottle(staffed), "100") | changes
    before = everything()
    answer = client_for(bo).post("transfers", said)
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}
    assert everything() == before


def test_nothing_is_poured_into_itself_or_from_what_was_never_filled(staffed, bo, client_for):
    vessel, empty = brew.filled(staffed), brew.bottle(staffed)
    itself = client_for(bo).post("transfers", body("decant", vessel, vessel, "100"))
    assert (itself.status_code, itself.json()["code"]) == (400, "transfer.same_vessel")
    never = client_for(bo).post("transfers", body("decant", empty, brew.bottle(staffed), "100"))
    assert (never.status_code, never.json()["code"]) == (409, "vessel.unfilled")


def test_a_time_before_mixing_or_filling_or_in_the_future_is_impossible(staffed, bo, client_for):
    made_at = clock.now() - timedelta(days=2)
    made = brew.released_batch(staffed, at=made_at)
    drum, target = brew.drum_of(made), brew.bottle(staffed)
    before = everything()
    for at in (made.mixed_at - timedelta(minutes=5), clock.now() + timedelta(hours=1)):
        said = body("decant", drum, target, "100", occurred_at=at.isoformat())
        answer = client_for(bo).post("transfers", said)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    assert everything() == before


def test_the_same_key_pours_once(staffed, bo, client_for):
    vessel, target, key = brew.filled(staffed), brew.bottle(staffed), uuid4()
    said, client = body("decant", vessel, target, "100"), client_for(bo)
    first, again = client.post("transfers", said, key), client.post("transfers", said, key)
    assert first.json() == again.json()
    assert bench.fresh(target).contents == 1000
    other = client.post("transfers", said | {"volume": bench.quantity("200")}, key)
    assert (other.status_code, other.json()["code"]) == (422, "key.reused")


# Asking first


def test_asking_first_says_what_the_rules_say_and_writes_nothing(staffed, bo, client_for):
    vessel, target = brew.filled(staffed, ml="500"), brew.bottle(staffed, "600")
    before = everything()
    said = body("decant", vessel, target, "620", check=True)
    answer = client_for(bo).post("transfers", said, HTTP_IDEMPOTENCY_KEY="")
    assert (answer.status_code, answer.json()["allowed"]) == (200, False)
    codes = {each["code"]: each for each in answer.json()["verdicts"]}
    assert codes.keys() == {"vessel.short", "vessel.overfull"}
    assert codes["vessel.short"]["offers"] == ["at most 500.0 mL", "read its level"]
    good = client_for(bo).post("transfers", body("decant", vessel, target, "400", check=True))
    assert {name: good.json()[name] for name in ("allowed", "verdicts")} == {"allowed": True, "verdicts": []}
    assert everything() == before


def test_asking_first_sees_what_the_waste_container_says_too(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer", rated="500")
    said = body("empty", vessel, container=str(can.public_id), check=True)
    before = everything()
    answer = client_for(bo).post("transfers", said)
    assert {each["code"] for each in answer.json()["verdicts"]} == {"container.overfull", "container.over_rated"}
    assert everything() == before


# Taking back


def test_a_transfer_taken_back_leaves_everything_as_it_was(staffed, bo, client_for):
    vessel, target = brew.filled(staffed), brew.bottle(staffed)
    before = bench.fresh(vessel)
    answer = client_for(bo).post("transfers", body("decant", vessel, target, "400"))
    bench.codes(answer)
    path = f"transfers/{answer.json()['id']}/reversal"
    assert client_for(bo).post(path, {"reason": "wrong bottle"}).status_code == 201
    now = bench.fresh(vessel)
    assert (now.contents, now.basis, now.use_by, now.part_full_since) == (
        before.contents, before.basis, before.use_by, None,
    )  # fmt: skip
    assert bench.fresh(target).state == "emptied"
    assert client_for(bo).get(f"transfers/{answer.json()['id']}").json()["taken_back"] is True
    again = client_for(bo).post(path, {"reason": "once more"})
    assert (again.status_code, again.json()["code"]) == (409, "entry.reversed")
    assert adds_up(staffed)


def test_only_the_author_or_who_looks_after_the_room_takes_a_transfer_back(staffed, ada, bo, eli, max, client_for):
    vessel, own = brew.filled(staffed), brew.bottle(staffed, owner=ada)
    answers = [client_for(ada).post("transfers", body("decant", vessel, own, "50")) for _ in range(2)]
    paths = [f"transfers/{each.json()['id']}/reversal" for each in answers]
    assert client_for(max).post(paths[0], {"reason": "a prank"}).status_code == 403
    assert client_for(ada).post(paths[0], {"reason": "mistyped"}).status_code == 201
    assert client_for(eli).post(paths[1], {"reason": "she asked me"}).status_code == 201
    assert client_for(ada).post(paths[1], {}).status_code == 400


def test_two_batches_combined_by_mistake_come_apart_again_on_paper(staffed, bo, client_for):
    target, source = brew.filled(staffed, ml="500", nominal="1000"), brew.filled(staffed, ml="1000")
    answer = client_for(bo).post("transfers", body("combine", source, target, "500"))
    bench.codes(client_for(bo).post("transfers", body("decant", target, brew.bottle(staffed, "500"), "200")))
    client_for(bo).post(f"transfers/{answer.json()['id']}/reversal", {"reason": "never happened"})
    assert bench.fresh(target).batch == target.batch
    assert bench.fresh(source).contents == 10000
    assert bench.fresh(target).contents == 3000
    assert adds_up(staffed)


def test_a_pack_that_was_not_opened_after_all_is_sealed_again(staffed, bo, client_for):
    packed = brew.pack(staffed, "rapid-fixer", "1000")
    answer = client_for(bo).post("transfers", {"kind": "open", "pack": str(packed.public_id)})
    client_for(bo).post(f"transfers/{answer.json()['id']}/reversal", {"reason": "another pack"})
    assert Pack.objects.get(pk=packed.pk).state == "sealed"
    bench.codes(client_for(bo).post("transfers", {"kind": "open", "pack": str(packed.public_id)}))
    assert adds_up(staffed)


def test_a_pour_to_waste_taken_back_leaves_the_container_too(staffed, bo, client_for):
    vessel, can = brew.working(staffed), pail.can(bo, "fixer")
    answer = client_for(bo).post("transfers", body("empty", vessel, container=str(can.public_id)))
    client_for(bo).post(f"transfers/{answer.json()['id']}/reversal", {"reason": "it is still full"})
    can.refresh_from_db()
    now = bench.fresh(vessel)
    assert (can.contents, now.contents, now.state) == (0, 10000, "ready")
    assert Batch.objects.get(pk=vessel.batch_id).closed_at is None
    assert adds_up(staffed)


# Told late


def test_a_pour_told_late_counts_for_its_own_day(staffed, bo, client_for):
    start = clock.now() - timedelta(days=60)
    vessel, target = brew.filled(staffed, at=start), brew.bottle(staffed, "500")
    then = start + timedelta(days=10)
    bench.codes(client_for(bo).post("transfers", body("decant", vessel, target, "400", occurred_at=then.isoformat())))
    assert bench.fresh(vessel).part_full_since == then
    assert bench.fresh(target).filled_at == then
    row = Transfer.objects.get(target=target)
    assert (row.occurred_at, row.entry.occurred_at) == (then, then)
    assert row.entry.recorded_at > then


def test_a_pour_told_after_the_level_was_read_changes_no_level(staffed, bo, client_for):
    start = clock.now() - timedelta(days=5)
    vessel, target = brew.filled(staffed, ml="1000", at=start), brew.bottle(staffed, "500")
    client = client_for(bo)
    client.post(f"vessels/{vessel.public_id}/level", {"measured": bench.quantity("600")})
    then = (start + timedelta(days=1)).isoformat()
    answer = client.post("transfers", body("decant", vessel, target, "400", occurred_at=then))
    assert bench.codes(answer) == ["vessel.level_known"]
    assert (bench.fresh(vessel).contents, bench.fresh(target).contents) == (6000, 4000)
    assert not Notice.objects.filter(kind="report-flagged").exists()
    assert adds_up(staffed)


def test_the_list_of_transfers_is_filtered_by_vessel_and_kind(staffed, bo, ada, client_for):
    vessel, target = brew.filled(staffed), brew.bottle(staffed)
    answer = client_for(bo).post("transfers", body("decant", vessel, target, "100"))
    found = client_for(ada).get(f"transfers?vessel={target.public_id}").json()["items"]
    assert [each["id"] for each in found] == [answer.json()["id"]]
    kinds = {each["kind"] for each in client_for(ada).get("transfers?kind=decant").json()["items"]}
    assert kinds == {"decant"}
