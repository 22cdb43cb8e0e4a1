"""Everybody at once, on PostgreSQL, released from a barrier: the last rolls are promised once and recorded all.

``DARKROOM_STORM_ROUNDS`` sets the rounds: 5 where nothing is said, 100 for the long run.
"""

import os
import random
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from uuid import uuid4

import pytest
from django.db.models import Count, Sum

from accounts.acts import Role
from accounts.commands import membership, signoff
from accounts.commands.entry import Answer
from accounts.models import Darkroom, Entry, Membership, Notice, Token
from chemistry.commands import batch, bathtest, checkin, level, mixing, plan, promotion, stop, transfer
from chemistry.commands.report import Report
from chemistry.commands.run import Film, Loading
from chemistry.models import Batch, CheckIn, CostShare, Hold, Line, Pack, Reversal, Stop, TankPlan, Vessel
from darkroom_service import clock
from darkroom_service.refusal import Refusal
from tests import make
from tests.barrier import at_once, refused
from tests.chemistry import bench, brew
from tests.chemistry.bench import ml
from tests.conftest import Client
from tests.proof import differences
from tests.waste import pail

pytestmark = pytest.mark.postgres

ROUNDS = int(os.environ.get("DARKROOM_STORM_ROUNDS", "5"))
FEW = max(ROUNDS // 3, 2)
CLIENTS, LEFT, TWINS = 32, 10, 8
ROLL = 3600  # one roll unit on the load grid


@dataclass(frozen=True)
class Tenfold:
    """A bath of twelve rolls, two of them done: ten are left, counted by load or by what is in the bottle."""

    amount: str
    tank: dict
    used: dict
    code: str


# 10 rolls for each litre reused with compensation, 235 mL of stock for a one-shot roll: common practice, no source.
BY_LOAD = Tenfold(
    "1200",
    {"use": "reuse", "dilution": "stock", "size": "300", "compensate": True},
    {"use": "reuse", "dilution": "stock", "size": "600", "compensate": True, "rolls": 2},
    "capacity.exhausted",
)
BY_VOLUME = Tenfold("2820", {"size": "470"}, {"size": "940", "rolls": 2}, "vessel.short")


@dataclass
class Evening:
    """A darkroom full of people before one bath with ten rolls left."""

    room: Darkroom
    people: list[Membership]
    clients: list[Client]
    line: Line
    bath: Vessel
    kind: Tenfold

    @property
    def body(self) -> dict:
        return bench.tank(self.line, **self.kind.tank) | bench.own(self.line)

    def post(self, path, bodies):
        """Let everybody post their own body at once."""
        sent = zip(self.clients, bodies, strict=True)
        return at_once(*(partial(client.post, path, body) for client, body in sent))


@pytest.fixture(scope="module")
def crowd(django_db_setup, django_db_blocker):
    """Thirty-two people with a token each; they come to a new darkroom in every round."""
    with django_db_blocker.unblock():
        people = [make.account(f"Guest {number}") for number in range(CLIENTS)]
        return [(each, Token.objects.create(user=each, expiry=None, name="storm")[1]) for each in people]


def arrive(crowd, kind):
    """Return a new darkroom with everybody in it, inducted, and its bath of twelve rolls, two of them done."""
    di = make.room()
    room, clients = di.darkroom, []
    for person, secret in crowd:
        membership.enrol(make.ask(di), person.public_id, roles=frozenset({Role.MEMBER}))
        client = Client()
        client.room = f"/api/v1/darkrooms/{room.slug}/"
        client.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
        clients.append(client)
    people = list(Membership.objects.filter(darkroom=room).exclude(pk=di.pk).order_by("pk"))
    teacher = brew.staff(room, Role.INSTRUCTOR)
    brew.signed(room, brew.staff(room))
    induction = signoff.Training(tuple(each.public_id for each in people), ("room-induction",))
    signoff.grant(ask(teacher), induction)
    bath = brew.drum_of(brew.released_batch(room, ml=kind.amount))
    line = bench.line(room, bath, cans=True)
    assert clients[0].post("check-ins", bench.tank(line, **kind.used)).json()["flags"] == []
    return Evening(room, people, clients, line, bath, kind)


def count_entries(room):
    return Entry.objects.filter(darkroom=room).count()


# The last ten rolls


def test_ten_of_thirty_two_plans_are_kept_and_thirty_two_reports_are_all_written(committed, crowd):
    for number in range(ROUNDS):
        evening = arrive(crowd, BY_VOLUME if number % 2 else BY_LOAD)
        plans = everybody_plans(evening)
        assert differences(evening.room) == []
        everybody_checks_in(evening, plans)
        assert differences(evening.room) == []


def everybody_plans(evening):
    """Let all plan one roll with a hold: ten are kept, the others are told what remains. Returns plan ids by person."""
    before = count_entries(evening.room)
    answers = evening.post("tank-plans", [evening.body | {"hold": True}] * CLIENTS)
    kept = [answer for answer in answers if answer.status_code == 201]
    others = [answer.json() for answer in answers if answer.status_code == 422]
    assert (len(kept), len(others)) == (LEFT, CLIENTS - LEFT)
    assert {each["code"] for each in others} == {evening.kind.code}
    held = Hold.objects.standing(clock.now()).filter(vessel=evening.bath)
    sums = held.aggregate(count=Count("pk"), volume=Sum("volume"), load=Sum("load"))
    bath = bench.fresh(evening.bath)
    for each in others:
        remains = each["facts"]["remains"]
        assert remains["vessel"] == str(bath.public_id)
        assert ml(remains["contents_ml"]) == bath.contents
        assert ml(remains["held_ml"]) == sums["volume"]
    if evening.kind is BY_LOAD:
        assert {each["facts"]["remains"]["load_left"] for each in others} == {"0.0000"}
        assert sums == {"count": LEFT, "volume": LEFT * ml("5"), "load": LEFT * ROLL}
    else:
        assert sums == {"count": LEFT, "volume": bath.contents, "load": 0}
    assert count_entries(evening.room) == before + LEFT, "a refusal writes nothing"
    return [answer.json()["id"] if answer.status_code == 201 else None for answer in answers]


def everybody_checks_in(evening, plans):
    """Let all report one roll, by their plan if they got one: every report counts, and what is over is flagged."""
    before = bench.fresh(evening.bath)
    bodies = [{"plan": each} if each else evening.body for each in plans]
    answers = evening.post("check-ins", bodies)
    assert [answer.status_code for answer in answers] == [201] * CLIENTS
    rows = CheckIn.objects.filter(darkroom=evening.room, load=ROLL)
    assert sorted(rows.values_list("member", flat=True)) == [each.pk for each in evening.people], "each once"
    flags = [set(bench.codes(answer)) for answer in answers]
    assert flags.count(set()) == LEFT
    assert all(evening.kind.code in each for each in flags if each)
    bath = bench.fresh(evening.bath)
    if evening.kind is BY_LOAD:
        assert bath.load == before.load + CLIENTS * ROLL
        assert bath.contents == before.contents - CLIENTS * ml("5")
    else:
        assert (bath.contents, bath.load, bath.state) == (0, 0, "emptied")
        (can,) = evening.room.containers.all()
        assert can.contents == ml("930") + CLIENTS * ml("465")  # all but the 5 mL that cling to each roll
    assert not Hold.objects.standing(clock.now()).filter(vessel=evening.bath).exists()
    told = Notice.objects.filter(darkroom=evening.room, kind="check-in-flagged")
    assert told.values("subject").distinct().count() == CLIENTS - LEFT
    shares = CostShare.objects.filter(batch=bath.batch, member__in=evening.people).exclude(entry=first_entry(evening))
    (cost,) = {share.minor for share in shares}
    assert cost == {"1200": 100, "2820": 100}[evening.kind.amount]  # 12.00 for twelve rolls
    assert len(shares) == CLIENTS


def first_entry(evening):
    return CheckIn.objects.get(darkroom=evening.room, load=2 * ROLL).entry_id


# One key


def test_one_key_sent_eight_times_at_once_has_one_effect_and_one_answer(committed, crowd):
    evening = arrive(crowd, BY_LOAD)
    client = evening.clients[0]
    for path, rows in (("check-ins", CheckIn.objects), ("tank-plans", TankPlan.objects)):
        mine = rows.filter(darkroom=evening.room)
        for _ in range(FEW):
            before, key = mine.count(), uuid4()
            answers = at_once(*[partial(client.post, path, evening.body, key)] * TWINS)
            assert {(answer.status_code, answer.content) for answer in answers} == {(201, answers[0].content)}
            assert len({answer.headers["Location"] for answer in answers}) == 1
            assert [answer.headers.get("Idempotency-Replayed") for answer in answers].count("true") == TWINS - 1
            assert mine.count() == before + 1
    assert differences(evening.room) == []


def test_one_key_with_eight_bodies_has_one_effect_and_seven_are_told(committed, crowd):
    evening = arrive(crowd, BY_LOAD)
    client = evening.clients[0]
    for _ in range(FEW):
        before, key = CheckIn.objects.filter(darkroom=evening.room).count(), uuid4()
        bodies = [evening.body | {"tank": bench.quantity(f"{300 + number}")} for number in range(TWINS)]
        answers = at_once(*(partial(client.post, "check-ins", body, key) for body in bodies))
        assert sorted(answer.status_code for answer in answers) == [201] + [422] * (TWINS - 1)
        assert {answer.json()["code"] for answer in answers if answer.status_code == 422} == {"key.reused"}
        assert CheckIn.objects.filter(darkroom=evening.room).count() == before + 1
    assert differences(evening.room) == []


# Two who want what only one can have


@pytest.fixture
def room(committed_room):
    """A committed darkroom with a technician who may mix."""
    room = committed_room.darkroom
    brew.signed(room, brew.staff(room))
    return room


@pytest.fixture
def bo(room):
    return brew.staff(room)


@pytest.fixture
def eli(room):
    return brew.staff(room, Role.TECHNICIAN, 1)


@pytest.fixture
def cy(room):
    return brew.staff(room, Role.INSTRUCTOR)


def ask(who):
    """Ask as somebody, whatever the answer is worded like."""
    return make.ask(who, word=lambda _made: Answer(200, {}))


def both(first, second):
    """Run two acts at once; returns what each came to: its place in the record, or the code it was refused with."""
    return [each.code if isinstance(each, Refusal) else each.seq for each in at_once(first, second)]


def one_lost(results, code):
    """Say whether exactly one of two was refused, with this code."""
    return results.count(code) == 1 and sum(isinstance(each, int) for each in results) == 1


def test_approved_or_not_a_cancelled_batch_is_cancelled_and_its_pack_free(room, bo, cy):
    for _ in range(FEW):
        wanted = brew.requested_batch(room)
        approved, cancelled = both(partial(batch.approve, ask(cy), wanted), partial(batch.cancel, ask(bo), wanted))
        assert approved == "batch.wrong_state" or approved < cancelled
        assert make.refreshed(wanted).state == "cancelled"
        assert not Pack.objects.filter(batch=wanted).exists()
    assert differences(room) == []


def test_a_batch_is_started_or_cancelled_never_both(room, bo, cy):
    for _ in range(FEW):
        wanted = brew.approved_batch(room)
        results = both(partial(mixing.start, ask(bo), wanted), partial(batch.cancel, ask(cy), wanted))
        assert one_lost(results, "batch.wrong_state")
        pack = Pack.objects.filter(darkroom=room).latest("pk")
        begun = results[1] == "batch.wrong_state"
        states = (make.refreshed(wanted).state, pack.state, pack.batch_id)
        assert states == (("mixing", "opened", wanted.pk) if begun else ("cancelled", "sealed", None))
    assert differences(room) == []


def test_whoever_comes_first_a_withdrawn_batch_is_withdrawn_and_its_vessels_stopped(room, bo, cy):
    for _ in range(FEW):
        made = brew.mixed_batch(room, at=clock.now() - timedelta(hours=25))
        brew.release_test(made, cy)
        released, withdrawn = both(
            partial(batch.release, ask(cy), made), partial(batch.withdraw, ask(bo), made, reason="the bag was torn")
        )
        assert released == "batch.wrong_state" or released < withdrawn
        assert make.refreshed(made).state == "withdrawn"
        assert {vessel.state for vessel in Vessel.objects.filter(batch=made)} == {"stopped"}
    assert differences(room) == []


def test_a_stop_after_a_lifting_stands_and_one_before_it_is_lifted(room, eli, cy):
    bath = bench.developer(room)
    for _ in range(FEW):
        stop.stop(ask(eli), bath, reason="it looks brown")
        stopped, lifted = both(
            partial(stop.stop, ask(cy), bath, reason="it smells"),
            partial(stop.lift, ask(eli), bath, reason="it was tea in the tray"),
        )
        open_stops = Stop.objects.filter(vessel=bath, lifting=None)
        if stopped > lifted:
            assert (make.refreshed(bath).state, open_stops.count()) == ("stopped", 1)
            stop.lift(ask(eli), bath, reason="looked at again")
        assert (make.refreshed(bath).state, open_stops.count()) == ("ready", 0)
    assert differences(room) == []


def test_an_entry_is_taken_back_once(room, bo, eli):
    line = bench.line(room, bench.developer(room), full=True, cans=True)
    vessels = Vessel.objects.filter(darkroom=room).order_by("pk").values_list("contents", "load", "basis")
    before = list(vessels.all())
    for _ in range(FEW):
        row = brew.develop(bo, line)
        results = both(*(partial(checkin.reverse, ask(who), row, reason="entered twice") for who in (bo, eli)))
        assert one_lost(results, "entry.reversed")
        assert Reversal.objects.filter(target=row.entry_id).count() == 1
        assert list(vessels.all()) == before
    assert differences(room) == []


def test_a_pack_is_opened_once_and_spoken_for_once(room, bo, eli):
    for _ in range(FEW):
        bottle, packet = brew.pack(room, "rapid-fixer", "1000"), brew.pack(room)
        opened = both(*(partial(transfer.open, ask(who), pack=bottle.public_id) for who in (bo, eli)))
        assert one_lost(opened, "pack.not_sealed")
        assert list(Vessel.objects.filter(batch__packs=bottle).values_list("contents", flat=True)) == [ml("1000")]
        wanted = {"formula": packet.formula_version.formula.public_id, "packs": [packet.public_id]}
        asked = both(*(partial(batch.request, ask(who), **wanted) for who in (bo, eli)))
        assert one_lost(asked, "pack.spoken_for")
        assert Batch.objects.filter(packs=packet).count() == 1
    assert differences(room) == []


def test_a_second_fixer_is_promoted_once(room, bo, eli):
    bath = bench.developer(room)
    for _ in range(FEW):
        one, two, three = (brew.working(room, "rapid-fixer", "1+4") for _ in range(3))
        line = brew.line(room, developer=bath, fixer=one, fixer_2=two)
        given = {"line": line.public_id, "second": three.public_id}
        results = both(*(partial(promotion.promote, ask(who), two, **given) for who in (bo, eli)))
        assert one_lost(results, "line.not_second_fixer")
        steps = dict(line.steps.values_list("role", "vessel"))
        assert (steps["fixer_1"], steps["fixer_2"]) == (two.pk, three.pk)
    assert differences(room) == []


def test_a_plan_is_used_or_given_up_and_the_film_counts_either_way(room, bo):
    bench.inducted(room, bo)
    line = bench.line(room, bench.developer(room, "3800"))
    loading = Loading((Film("135-36", 1),), ml("500"), "one_shot", "1+1")
    for _ in range(FEW):
        held = brew.do(plan.create, bo, wanted=plan.Wanted(line.public_id, loading, hold=True))
        given_up, entered = both(
            partial(plan.cancel, ask(bo), held), partial(checkin.create, ask(bo), report=Report(plan=held.public_id))
        )
        assert isinstance(entered, int)
        row = CheckIn.objects.get(plan=held)
        assert row.flags == (["plan.over"] if isinstance(given_up, int) else [])
        assert given_up == "plan.over" or given_up < entered
        assert not Hold.objects.filter(plan=held, released_at=None).exists()
    assert differences(room) == []


# Anything at all


def test_whatever_everybody_does_at_once_the_ledgers_bear_the_totals_out(room, bo, eli, cy):
    dice = random.Random(20261125)
    baths = [bench.developer(room), bench.developer(room), brew.bottle(room, "2000")]
    brew.do(transfer.decant, bo, source=baths[1].public_id, target=baths[2].public_id, volume=ml("300"))
    line = bench.line(room, baths[0], full=True, cans=True)
    can = pail.can(bo, "bw-developer", rated="60000")
    done = 0
    for _ in range(FEW):
        entered = [brew.develop(bo, line, tank="500") for _ in range(4)]
        acts = list(busy(line, baths, can, entered, lambda: ask(dice.choice((bo, eli, cy))), dice))
        dice.shuffle(acts)
        results = at_once(*acts)
        done += len(results) - len(refused(results))
        assert differences(room) == []
    assert done > FEW * 15


def busy(line, baths, can, entered, somebody, dice):
    """Yield an evening's acts on a few vessels, in no order at all."""
    bath, _, spare = baths
    for use, dilution in (("one_shot", "1+1"), ("reuse", "stock")) * 4:
        developer, films = dice.choice(baths).public_id, (Film("135-36", 1),)
        told = Report(
            line=line.public_id, vessel=developer, films=films, tank=ml("480"), use=use, dilution=dilution
        )  # fmt: skip
        yield partial(checkin.create, somebody(), report=told)
    for row in entered:
        yield partial(checkin.reverse, somebody(), row, reason="at once")
    for _ in range(4):
        source, target = dice.sample(baths, 2)
        ends = {"source": source.public_id, "target": target.public_id}
        yield partial(transfer.decant, somebody(), **ends, volume=dice.randrange(100, 900))
    for vessel in (bath, spare):
        yield partial(level.read, somebody(), vessel, measured=dice.randrange(3000, 9000))
        yield partial(bathtest.record, somebody(), vessel=vessel.public_id, matches=True)
        yield partial(stop.stop, somebody(), vessel, reason="at once")
        yield partial(stop.lift, somebody(), vessel, reason="at once")
    yield partial(transfer.empty, somebody(), source=spare.public_id, container=can.public_id)
