"""The balance of a batch: every millilitre of it is somewhere, whatever was done, told late, read off or taken back."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from accounts.acts import Act
from accounts.commands.entry import command
from accounts.models import Entry
from chemistry.commands import balance, checkin, level, proof, reversal, tally, transfer, traysession
from chemistry.commands.report import Report
from chemistry.commands.run import Film
from chemistry.commands.tray import Emptying
from chemistry.models import Batch, CostShare, Movement, Place, TransferKind, Vessel
from darkroom_service import clock
from darkroom_service.refusal import Refusal
from tests.chemistry import bench, brew, trays
from tests.chemistry import term as terms
from tests.chemistry.behind import forge, lived_once
from tests.chemistry.bench import ml
from tests.waste import pail

term = lived_once
pytestmark = pytest.mark.django_db
TERMS = (
    "made", "water", "from_batches", "into_batches", "in_vessels", "carried_out", "containers", "drain", "spilled",
    "evaporated", "unaccounted",
)  # fmt: skip


def read(speaker, batch):
    """Return the balance of one batch as the service shows it, volumes as plain text."""
    answer = speaker.get(f"balance?batch={batch.public_id}")
    assert answer.status_code == 200
    (found,) = answer.json()["items"]
    return found


def volumes(found):
    return {name: value["value"] for name, value in found.items() if isinstance(value, dict) and "unit" in value}


# A batch lived through


def test_every_millilitre_of_a_batch_lived_through_is_accounted_for(term, client_for):
    """MQ-borax, 3800 mL mixed. All by exact arithmetic from what the term did; carry-out is 5 mL for each roll.

    One-shot: 250 drawn, 250 of water, 495 into the can. Reuse: 500 drawn, 495 back. Taken back: nothing. Level: 995
    read as 960. Spilled: 40. Told after the reading: 500 drawn, 400 back, 95 nobody knows where, so that 5 mL of carry-
    out were already missing at the reading. Last the drum, 1800: 250 into the can, then it is read as empty.
    """
    found = read(client_for(term.bo), term.bath.batch)
    assert volumes(found) == {
        "made": "3800.0", "water": "250.0", "from_batches": "0.0", "into_batches": "0.0", "in_vessels": "1670.0",
        "carried_out": "15.0", "containers": "745.0", "drain": "0.0", "spilled": "40.0", "evaporated": "0.0",
        "unaccounted": "1580.0", "difference": "0.0",
    }  # fmt: skip
    assert volumes(found["runs"]) == {
        "drawn": "1250.0", "water": "250.0", "found": "0.0", "poured_back": "895.0", "carried_out": "15.0",
        "containers": "495.0", "drain": "0.0", "unaccounted": "95.0",
    }  # fmt: skip
    held = {each["vessel"]["code"]: each["contents"]["value"] for each in found["vessels"]}
    assert held == {term.bath.code: "750.0", term.flask.code: "920.0"}
    assert found["batch"] == {
        "id": str(term.bath.batch.public_id), "code": term.bath.batch.code, "formula": "mq-borax",
        "dilution": "stock", "origin": "mixed", "state": "released",
    }  # fmt: skip


def test_load_and_cost_of_a_batch_lived_through(term, client_for):
    found = read(client_for(term.bo), term.bath.batch)
    # One roll one-shot, two in reuse; the one taken back does not count.
    assert (found["load"]["done"], found["load"]["done_units"]) == ("3.0000", 3 * 3600)
    assert found["load"]["in_vessels_units"] == bench.fresh(term.flask).load
    cost = {name: sum_["minor"] for name, sum_ in found["cost"].items()}
    # 250 mL of 3800 that cost 12.00 one-shot, and twice a quarter of a litre's price in reuse: 79 + 2 x 79; arithmetic.
    assert cost == {"total": 1200, "members": 237, "batches": 0, "darkroom": 0, "not_borne": 963}


def test_a_tray_is_a_batch_of_its_own_with_stock_from_another_and_water(term, client_for):
    """2000 mL at 1+2; 12 sheets 8x10 carry out 10 mL each, 2 told late were missing at the end already."""
    mixed = Batch.objects.get(code=term.session.trays.get(role="developer").vessel.batch.code)
    found = read(client_for(term.bo), mixed)
    assert volumes(found) == {
        "made": "0.0", "water": "1333.3", "from_batches": "666.7", "into_batches": "0.0", "in_vessels": "0.0",
        "carried_out": "140.0", "containers": "1880.0", "drain": "0.0", "spilled": "0.0", "evaporated": "0.0",
        "unaccounted": "-20.0", "difference": "0.0",
    }  # fmt: skip
    assert set(volumes(found["runs"]).values()) == {"0.0"}
    assert found["load"]["done"] == "14.0000"
    cost = {name: sum_["minor"] for name, sum_ in found["cost"].items()}
    # 14 of 40 roll units of 2.11; the rest fell to the darkroom when the tray was empty.
    assert cost == {"total": 211, "members": 74, "batches": 0, "darkroom": 137, "not_borne": 0}


def test_what_a_batch_gave_to_others_is_what_they_have_of_it(term, client_for):
    mixed = Batch.objects.get(code=term.session.trays.get(role="developer").vessel.batch.code)
    stock = Batch.objects.exclude(pk=mixed.pk).get(movements_out__target_batch=mixed)
    found = read(client_for(term.bo), stock)
    assert (found["into_batches"]["value"], found["made"]["value"]) == ("666.7", "3800.0")
    assert (found["cost"]["batches"]["minor"], found["difference"]["value"]) == (211, "0.0")


def test_a_vessel_that_says_something_else_than_its_movements_shows_as_a_difference(term, client_for):
    forge(Vessel.objects.filter(pk=term.flask.pk), contents=ml("921"))
    assert read(client_for(term.bo), term.bath.batch)["difference"]["value"] == "-1.0"


# Reading


def test_without_a_batch_the_live_ones_are_listed_in_two_queries_for_all(term, client_for, django_assert_num_queries):
    speaker = client_for(term.bo)
    # Who asks (token with person, membership), batches, and two for all balances.
    with django_assert_num_queries(5):
        items = speaker.get("balance").json()["items"]
    live = Batch.objects.filter(darkroom=term.room, closed_at=None, made__gt=0)
    assert {item["batch"]["id"] for item in items} == {str(batch.public_id) for batch in live}
    assert len(items) > 4
    assert {item["difference"]["value"] for item in items} == {"0.0"}
    with django_assert_num_queries(5):
        page = speaker.get("balance?limit=1").json()
    assert [page["items"][0], speaker.get(page["next"]).json()["items"][0]] == items[:2]


def test_a_batch_that_is_only_asked_for_has_no_balance_yet(room, bo, cy, client_for):
    brew.requested_batch(room)
    assert client_for(bo).get("balance").json()["items"] == []


def test_a_used_up_batch_is_left_out_of_the_list_and_found_by_its_id(term, client_for):
    mixed = Batch.objects.get(code=term.session.trays.get(role="developer").vessel.batch.code)
    speaker = client_for(term.bo)
    assert str(mixed.public_id) not in {item["batch"]["id"] for item in speaker.get("balance").json()["items"]}
    assert read(speaker, mixed)["batch"]["code"] == mixed.code


def test_no_batch_of_another_darkroom_and_none_that_is_not_there(term, outsider, client_for):
    assert client_for(outsider).get(f"balance?batch={term.bath.batch.public_id}").json()["items"] == []
    assert client_for(term.bo).get(f"balance?batch={uuid4()}").json()["items"] == []
    assert client_for(term.bo).get("balance?batch=7").status_code == 400


@pytest.mark.parametrize(("who", "status"), [("bo", 200), ("cy", 200), ("ada", 403)])
def test_technicians_instructors_and_admins_read_it(term, client_for, who, status):
    assert client_for(getattr(term, who)).get("balance").status_code == status


# Whatever is done


def test_a_draw_taken_back_after_its_bottle_became_part_of_another_batch(room, bo, cy):
    """What was drawn of the first batch comes back as part of the blend, and both accounts say so."""
    first, second = bench.developer(room, "600", nominal="1000"), bench.developer(room, "300")
    drawn = brew.do(transfer.create, bo, kind=TransferKind.SPILL, source=first.public_id, volume=ml("100"))
    brew.do(transfer.decant, bo, source=second.public_id, target=first.public_id, volume=ml("200"))
    blend = bench.fresh(first).batch
    brew.do(transfer.reverse, bo, drawn, reason="it was water")
    found = {each.batch.pk: each for each in balance.drawn_up([first.batch, second.batch, blend])}
    one, two = found[first.batch_id], found[blend.pk]
    assert (one.places["spilled"], one.into_batches, one.difference) == (0, ml("600"), 0)
    assert (two.places["spilled"], two.from_batches, two.in_vessels, two.difference) == (0, ml("800"), ml("800"), 0)


def test_a_pack_opened_into_a_bottle_that_holds_some_is_made_as_itself(room, bo, cy):
    """What was in the pack was made as a batch of its own, and went on into the blend at once."""
    bottle = brew.concentrate(room, "rapid-fixer", "500")
    Vessel.objects.filter(pk=bottle.pk).update(nominal=ml("2000"))
    packed = brew.pack(room, "rapid-fixer", "1000", price=900)
    brew.do(transfer.open, bo, pack=packed.public_id, target=bottle.public_id)
    opened = Batch.objects.get(packs=packed)
    (found,) = balance.drawn_up([opened])
    assert (found.made, found.into_batches, found.in_vessels, found.difference) == (ml("1000"), ml("1000"), 0, 0)
    assert list(proof.differences(room.pk)) == []


def test_a_pack_whose_opening_is_taken_back_after_it_was_blended_was_never_made(room, bo, cy):
    bottle = brew.bottle(room, "3000")
    packed = brew.pack(room, "rapid-fixer", "1000", price=900)
    opened = brew.do(transfer.open, bo, pack=packed.public_id, target=bottle.public_id)
    batch, more = Batch.objects.get(packs=packed), brew.concentrate(room, "rapid-fixer", "500")
    brew.do(transfer.decant, bo, source=more.public_id, target=bottle.public_id, volume=ml("300"))
    brew.do(transfer.reverse, bo, opened, reason="it was the other bottle")
    (found,) = balance.drawn_up([batch])
    assert (found.made, found.into_batches - found.from_batches, found.difference) == (0, 0, 0)
    assert list(proof.differences(room.pk)) == []


def test_the_water_of_a_dilution_taken_back_after_it_was_blended_is_taken_off_the_dilution(room, bo, cy):
    source, bottle = brew.concentrate(room, "rapid-fixer", "500"), brew.bottle(room, "3000")
    given = {"source": source.public_id, "target": bottle.public_id, "volume": ml("1000"), "dilution": "1+4"}
    made = brew.do(transfer.dilute, bo, **given)
    mixed, more = bench.fresh(bottle).batch, brew.working(room, "rapid-fixer", "1+4", "1000")
    brew.do(transfer.decant, bo, source=more.public_id, target=bottle.public_id, volume=ml("300"))
    brew.do(transfer.reverse, bo, made, reason="it was the other bottle")
    (found,) = balance.drawn_up([mixed])
    assert (found.water, found.into_batches - found.from_batches, found.difference) == (0, 0, 0)


def test_more_poured_back_than_went_in_is_found_in_the_tank(room, bo, cy):
    bath = bench.developer(room)
    told = {"films": (Film("135-36", 1),), "tank": ml("500"), "use": "reuse", "dilution": "stock"}
    report = Report(line=bench.line(room, bath).public_id, vessel=bath.public_id, poured_back=ml("530"), **told)
    brew.do(checkin.create, bo, report=report)
    (found,) = balance.drawn_up([bath.batch])
    assert found.runs_in == {"vessel": ml("500"), "unaccounted": ml("30")}
    assert found.runs_out == {"vessel": ml("530")}
    assert (found.places["unaccounted"], found.difference) == (-ml("30"), 0)


def test_no_batches_have_no_balances(db, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert balance.drawn_up([]) == []


@command(Act.TRANSFER_REVERSE)
def take_back(work, *, entry):
    made, _ = reversal.reverse_locked(work, entry, reason="typed wrongly")
    return made


@dataclass
class Room:
    """Two drums, some flasks and trays, a line, a can, and a clock that only moves on."""

    room: object
    who: object
    line: object
    can: object
    drums: list
    at: datetime
    flasks: list = field(default_factory=list)
    pans: list = field(default_factory=list)
    sessions: list = field(default_factory=list)

    def do(self, act, *args, ago=0, **given):
        """Do something an hour later, told so many hours late; what is refused is left out."""
        self.at += timedelta(hours=1)
        with clock.fixed(self.at):
            try:
                return brew.do(act, self.who, *args, at=self.at - timedelta(hours=ago) if ago else None, **given)
            except Refusal as no:
                event(no.code)
                return None


@pytest.fixture
def busy(room, bo, eli, cy, di):
    with clock.fixed(terms.START - timedelta(days=3)):
        bench.inducted(room, bo)
        can = pail.can(bo, "bw-developer", rated="100000")
    with clock.fixed(terms.START):
        drums = [brew.drum_of(brew.released_batch(room, "mq-borax", "900000", at=terms.START)) for _ in range(2)]
        line = bench.line(room, drums[0])
    return Room(room, bo, line, can, drums, terms.START)


flask, ago = st.integers(0, 2), st.sampled_from([0, 0, 0, 1, 3, 9, 40])
volume = st.integers(1, 12_000)
acts = st.one_of(
    st.tuples(st.just("fill"), flask, st.integers(0, 1), volume, ago),
    st.tuples(st.just("decant"), flask, flask, volume, ago),
    st.tuples(st.just("develop"), flask, st.sampled_from(["one_shot", "reuse"]), st.none() | volume, ago),
    st.tuples(st.just("read"), flask, st.integers(0, 10_000), ago),
    st.tuples(st.just("empty"), flask, st.none() | volume, ago),
    st.tuples(st.just("begin"), flask, st.integers(0, 1), ago),
    st.tuples(st.just("print_"), st.integers(0, 3), st.integers(1, 90), ago),
    st.tuples(st.just("end"), st.integers(0, 3), flask, ago),
    st.tuples(st.just("undo"), st.integers(0, 20)),
)


def fill(busy, where, drum, volume, ago):
    given = {"source": busy.drums[drum].public_id, "target": busy.flasks[where].public_id}
    busy.do(transfer.decant, **given, volume=volume, ago=ago)


def decant(busy, where, other, volume, ago):
    given = {"source": busy.flasks[where].public_id, "target": busy.flasks[other].public_id}
    busy.do(transfer.decant, **given, volume=volume, ago=ago)


def develop(busy, where, use, back, ago):
    told = {"films": (Film("135-36", 1),), "tank": ml("500"), "use": use, "poured_back": back}
    strength = "1+1" if use == "one_shot" else "stock"
    report = Report(line=busy.line.public_id, vessel=busy.flasks[where].public_id, dilution=strength, **told)
    busy.do(checkin.create, report=report, ago=ago)


def read_off(busy, where, measured, ago):
    busy.do(level.read, busy.flasks[where], measured=measured, ago=ago)


def empty(busy, where, volume, ago):
    given = {"source": busy.flasks[where].public_id, "container": busy.can.public_id}
    busy.do(transfer.empty, **given, volume=volume, ago=ago)


def begin(busy, where, pan, ago):
    source, into = busy.flasks[where], busy.pans[pan]
    told = trays.Filling("developer", into.public_id, source.public_id, ml("900"), "1+2")
    if made := busy.do(traysession.open, group="Some", trays=[told], ago=ago):
        busy.sessions.append(made)


def print_(busy, nth, count, ago):
    if busy.sessions:
        session = busy.sessions[nth % len(busy.sessions)]
        busy.do(tally.create, session, format="paper-8x10", count=count, ago=ago)


def end(busy, nth, where, ago):
    if busy.sessions:
        session = busy.sessions[nth % len(busy.sessions)]
        goal = {"vessel": busy.flasks[where].public_id} if where else {"container": busy.can.public_id}
        busy.do(traysession.close, session, trays=[Emptying("developer", **goal)], ago=ago)


def undo(busy, nth):
    entries = Entry.objects.filter(darkroom=busy.room, act__in=REVERSIBLE).order_by("-seq")
    if entry := entries[nth : nth + 1].first():
        busy.do(take_back, entry=entry)


DOING = {
    "fill": fill, "decant": decant, "develop": develop, "read": read_off, "empty": empty, "begin": begin,
    "print_": print_, "end": end, "undo": undo,
}  # fmt: skip
REVERSIBLE = ("transfer:create", "vessel:level", "check-in:create", "tray-session:tally")


def check(busy):
    """Hold all balances to what the rows themselves add up to, one by one and by hand."""
    batches = list(Batch.objects.filter(darkroom=busy.room).order_by("pk"))
    found = balance.drawn_up(batches)
    assert [each.difference for each in found] == [0] * len(found)
    assert [each.runs_in.total() for each in found] == [each.runs_out.total() for each in found]
    assert sum(each.from_batches for each in found) == sum(each.into_batches for each in found)
    places = Counter()
    for row in Movement.objects.filter(entry__darkroom=busy.room):
        places[row.source] -= row.volume
        places[row.target] += row.volume
    for place in Place:
        assert sum(each.places[place] for each in found) == places[place]
    for each in found:
        assert each.in_vessels == each.places[Place.VESSEL]
        shares = CostShare.objects.filter(batch=each.batch)
        assert each.borne.total() == sum(share.minor for share in shares)
        assert each.batch.closed_at is None or each.not_borne == 0
    assert list(proof.differences(busy.room.pk)) == []


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(steps=st.lists(acts, min_size=1, max_size=14))
def test_whatever_is_done_told_late_read_off_or_taken_back_every_balance_is_nothing(busy, steps):
    busy.flasks = [brew.bottle(busy.room, "1000") for _ in range(3)]
    busy.pans, busy.sessions = [trays.tray(busy.room, "1000") for _ in range(2)], []
    for where, drum in ((0, 0), (1, 1)):
        fill(busy, where, drum, ml("800"), 0)
    for name, *told in steps:
        DOING[name](busy, *told)
        check(busy)
