"""Whatever is done in whatever order, the service and a darkroom kept on paper agree after each step.

``DARKROOM_STATEFUL_EXAMPLES`` sets how many lives are lived: 25 where nothing is said; 20 steps each.
"""

import os
from collections import Counter
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any

import hypothesis.strategies as st
from django.db.models import Sum
from hypothesis import HealthCheck, settings
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    multiple,
    precondition,
    rule,
    run_state_machine_as_test,
)  # fmt: skip

from accounts.acts import Role
from accounts.models import Membership
from chemistry.commands import batch as batches
from chemistry.commands import bathtest, checkin, level, mixing, pack, plan, proof, standing, starter, stop, transfer
from chemistry.commands import line as lines
from chemistry.commands.report import Report
from chemistry.commands.run import Film, Loading
from chemistry.models import (
    Batch,
    CheckIn,
    CostShare,
    Hold,
    Movement,
    Place,
    TankPlan,
    Transfer,
    TransferKind,
    Vessel,
)  # fmt: skip
from darkroom_service import clock
from darkroom_service.refusal import Refusal, Unworkable
from tests import make
from tests.chemistry import brew, paper
from tests.chemistry.paper import FIXER, MQ, Act, Bottle, Need, Paper, Tank
from tests.waste import pail
from waste.commands import proof as waste_proof
from waste.models import Container

EXAMPLES = int(os.environ.get("DARKROOM_STATEFUL_EXAMPLES", "25"))
STEPS = 20
START = datetime(2026, 1, 5, 8, tzinfo=UTC)
HELD = timedelta(minutes=60)  # the darkroom's own setting
WORDS = {Fraction(0): "stock", Fraction(1): "1+1", Fraction(3): "1+3", Fraction(4): "1+4", Fraction(9): "1+9"}

volumes = st.one_of(st.sampled_from([10, 2500, 5000, 9460, 10_000]), st.integers(1, 20_000))
ago = st.sampled_from([0, 0, 0, 0, 5, 90, 1500, 9000, 60_000])
tanks = st.builds(
    Tank,
    rolls=st.integers(1, 4),
    volume=st.sampled_from([2350, 2900, 3000, 4730, 6000, 9460, 10_000]),
    use=st.sampled_from(["fresh", "reuse"]),
    dilution=st.sampled_from([Fraction(0), Fraction(0), Fraction(1), Fraction(3)]),
    compensate=st.booleans(),
)
USES = {"fresh": "one_shot", "reuse": "reuse"}


class Life(RuleBasedStateMachine):
    """A darkroom lived through, and the same darkroom kept on paper."""

    bottles = Bundle("bottles")

    def __init__(self) -> None:
        super().__init__()
        self.now, self.paper = START, Paper()
        self.entries: list[tuple[Any, Act]] = []
        self.plans: list[tuple[TankPlan, Tank, Bottle]] = []
        with clock.fixed(self.now):
            founder = make.room(zone="Europe/Berlin")
            self.room = founder.darkroom
            self.cy = make.member(founder, Role.INSTRUCTOR, name="Cy Conrad")
            self.members = [make.member(founder, name=name) for name in ("Ada Adler", "Max Mohn")]
            make.first_holder(founder, self.cy)
            for member in self.members:
                make.signed_off(self.cy, member, "room-induction")
            brew.do(starter.copy_starter, self.cy, codes=[MQ.code, FIXER.code])
            self.can = pail.can(self.cy, "bw-developer", rated="500000")

    # Steps of the service, each a minute later

    def tell(self, command: Any, *args: Any, who: Any = None, expect: str = "", ago: int = 0, **given: Any) -> Any:
        """Run a command now, told for some minutes ago; it must be refused as expected, or not at all."""
        self.now += timedelta(minutes=1)
        at = self.now - timedelta(minutes=ago) if ago else None
        with clock.fixed(self.now):
            try:
                made = brew.do(command, who or self.cy, *args, at=at, **given)
            except Refusal as refusal:
                if refusal.code == expect:
                    return None
                words = f"refused: {refusal.code} {refusal.message}, expected {expect or 'no'}"
                raise AssertionError(words) from refusal
        assert not expect, f"done, where {expect} was expected"
        return made

    def enter(self, row: Any, act: Act) -> None:
        """Keep an entry to take back, and find the service's rows of the batches it made."""
        if row is not None:
            self.entries.append((row, act))
        known = [each.row for each in self.paper.batches]
        fresh = Batch.objects.filter(darkroom=self.room, origin__in=["diluted", "blended"]).exclude(pk__in=known)
        unnamed = [each for each in self.paper.batches if not each.row]
        for each, found in zip(unnamed, fresh.order_by("pk"), strict=True):
            each.row = found.pk

    def bottle(self, nominal: int, material: str = "glass") -> Bottle:
        made = self.tell(pack_vessel, name="bottle", nominal=nominal, material=material)
        found = Bottle(made.pk, nominal)
        self.paper.bottles.append(found)
        return found

    def row(self, bottle: Bottle) -> Vessel:
        return Vessel.objects.with_contents().get(pk=bottle.row)

    def ids(self, *bottles: Bottle) -> list[Any]:
        known = dict(Vessel.objects.filter(darkroom=self.room).values_list("pk", "public_id"))
        return [known[bottle.row] for bottle in bottles]

    def receive(self, liquid: paper.Liquid, makes: int, price: int) -> Any:
        formula = brew.published(self.room, liquid.code).formula.public_id
        return self.tell(pack.receive, formula=formula, makes=makes, price_minor=price, pieces=1)[0]

    def mixed(self, bottle: Bottle, makes: int, price: int) -> None:
        """Mix a packet into a bottle, by all the steps there are."""
        packet = self.receive(MQ, makes, price)
        asked = self.tell(batches.request, formula=packet.formula_version.formula.public_id, packs=[packet.public_id])
        self.tell(batches.approve, asked)
        self.tell(mixing.start, asked)
        (into,) = self.ids(bottle)
        expect = "vessel.impossible_volume" if makes * 100 > bottle.nominal * 105 else ""
        if not self.tell(mixing.finish, asked, vessel=into, made=makes, expect=expect):
            return
        made = paper.Batch(MQ, paper.STOCK, makes, self.now, price, released=False, row=asked.pk)
        self.enter(None, self.paper.mix(bottle, made, self.now))

    # Before the first step

    @initialize(target=bottles)
    def begin(self) -> Any:
        """Mix, release and bottle a first packet, make a fixer, and lay a line."""
        drum, one, two, neat, bath = (self.bottle(each) for each in (38_000, 10_000, 23_500, 10_000, 10_000))
        self.mixed(drum, 38_000, 1200)
        self.now += timedelta(hours=25)
        self.release(drum)
        self.pour(drum, one, 10_000, TransferKind.DECANT)
        packet = self.receive(FIXER, 10_000, 950)
        (into,) = self.ids(neat)
        opened = self.tell(transfer.open, pack=packet.public_id, target=into)
        made = paper.Batch(FIXER, paper.STOCK, 10_000, self.now, 950, row=self.row(neat).batch_id)
        assert opened.kind == TransferKind.OPEN
        self.enter(None, self.paper.mix(neat, made, self.now))
        self.dilute(neat, bath, 10_000, Fraction(4))
        self.fixer = bath
        ids = self.ids(one, bath)
        steps = [
            {"role": "developer", "vessel": ids[0], "container": self.can.public_id},
            {"role": "fixer_1", "vessel": ids[1], "container": None},
        ]
        self.line = self.tell(lines.create, name="line", process="bw", film_or_paper="film", steps=steps)
        return multiple(drum, one, two, neat, bath)

    # What people do

    @rule(target=bottles, nominal=st.sampled_from([2500, 9460, 10_000, 20_000]))
    def label(self, nominal: int) -> Bottle:
        """Put another empty bottle on the shelf."""
        return self.bottle(nominal)

    @rule(days=st.sampled_from([1, 3, 15, 45, 70]))
    def wait(self, days: int) -> None:
        """Let time go by."""
        self.now += timedelta(days=days)

    @rule(bottle=bottles, makes=st.sampled_from([10_000, 19_000, 38_000]), price=st.integers(0, 2000))
    def mix_packet(self, bottle: Bottle, makes: int, price: int) -> None:
        """Mix a packet into any bottle, empty or not."""
        self.mixed(bottle, makes, price)

    @rule(bottle=bottles)
    def release(self, bottle: Bottle) -> None:
        """Test what is in a bottle for release, and release its batch."""
        made = bottle.batch
        if made is None or made.liquid is not MQ or not bottle.contents or made.withdrawn:
            return
        rests = self.row(bottle).batch.rest_until
        self.test(bottle, matches=True, for_release=True)
        ready = not made.released and (rests is None or rests <= self.now)
        self.tell(batches.release, self.row(bottle).batch, expect="" if ready else "batch.wrong_state")
        made.released |= ready

    @rule(
        giver=bottles, taker=bottles, volume=st.one_of(st.none(), volumes),
        kind=st.sampled_from([TransferKind.DECANT, TransferKind.TOP_UP, TransferKind.COMBINE]),
    )  # fmt: skip
    def pour(self, giver: Bottle, taker: Bottle, volume: int | None, kind: TransferKind) -> None:
        """Pour from bottle to bottle, so much or all there is."""
        amount = giver.contents if volume is None else volume
        expect = self.unpourable(giver, taker, amount)
        if not expect and not amount:
            expect = "vessel.empty"
        one, other = self.ids(giver, taker)
        told = {"kind": kind, "source": one, "target": other, "volume": volume}
        if row := self.tell(transfer.create, **told, expect=expect):
            self.enter(row, self.paper.pour(giver, taker, amount, self.now))

    @staticmethod
    def unpourable(giver: Bottle, taker: Bottle, amount: int) -> str:
        """Return why a pour cannot have been, if so."""
        if giver is taker:
            return "transfer.same_vessel"
        if giver.batch is None:
            return "vessel.unfilled"
        return "vessel.impossible_volume" if amount * 100 > taker.nominal * 105 else ""

    @rule(
        giver=bottles, taker=bottles, volume=volumes,
        dilution=st.sampled_from([Fraction(1), Fraction(3), Fraction(4)]),
    )  # fmt: skip
    def dilute(self, giver: Bottle, taker: Bottle, volume: int, dilution: Fraction) -> None:
        """Make a working solution."""
        expect = self.unpourable(giver, taker, volume)
        if not 0 < paper.split(volume, dilution)[0] < volume and expect in {"", "vessel.impossible_volume"}:
            expect = "dilution.immeasurable"
        one, other = self.ids(giver, taker)
        told = {"source": one, "target": other, "volume": volume, "dilution": WORDS[dilution]}
        if row := self.tell(transfer.dilute, **told, expect=expect):
            self.enter(row, self.paper.dilute(giver, taker, volume, dilution, self.now))

    @rule(bottle=bottles, measured=st.one_of(st.none(), volumes))
    def empty(self, bottle: Bottle, measured: int | None) -> None:
        """Pour a bottle out to waste."""
        expect = "vessel.unfilled" if bottle.batch is None else ""
        if not expect and measured is None and not bottle.contents:
            expect = "vessel.empty"
        (source,) = self.ids(bottle)
        told = {"source": source, "container": self.can.public_id, "volume": measured}
        if row := self.tell(transfer.empty, **told, expect=expect):
            self.enter(row, self.paper.empty(bottle, measured, self.now))

    @rule(bottle=bottles, volume=volumes)
    def spill(self, bottle: Bottle, volume: int) -> None:
        """Spill some."""
        (source,) = self.ids(bottle)
        expect = "vessel.unfilled" if bottle.batch is None else ""
        if row := self.tell(transfer.create, kind=TransferKind.SPILL, source=source, volume=volume, expect=expect):
            self.enter(row, self.paper.spill(bottle, volume, self.now))

    @rule(bottle=bottles, measured=st.one_of(st.just(0), volumes), ago=ago)
    def read(self, bottle: Bottle, measured: int, ago: int) -> None:
        """Read a bottle off, now or told late."""
        at = self.now + timedelta(minutes=1 - ago)
        expect = ""
        if measured * 100 > bottle.nominal * 105:
            expect = "vessel.impossible_volume"
        elif bottle.batch or measured:
            expect = self.before_filling(bottle, at) or ("vessel.unfilled" if bottle.batch is None else "")
        if read := self.tell(level.read, self.row(bottle), measured=measured, ago=ago, expect=expect):
            self.enter(read.reading, self.paper.level(bottle, measured, at))

    @staticmethod
    def before_filling(bottle: Bottle, at: datetime) -> str:
        return "time.before_filling" if bottle.batch and bottle.batch_at(at) is None else ""

    @rule(bottle=bottles, matches=st.booleans())
    def test(self, bottle: Bottle, matches: bool, for_release: bool = False) -> None:
        """Clip-test a developer: a pass gives a date, a fail stops it."""
        if bottle.batch is None or bottle.batch.liquid is not MQ:
            return
        (vessel,) = self.ids(bottle)
        self.tell(bathtest.record, vessel=vessel, matches=matches, for_release=for_release)
        if matches:
            bottle.passed_at = self.now
        else:
            bottle.stop("failed")

    @rule(bottle=bottles)
    def stop_bottle(self, bottle: Bottle) -> None:
        """Stop a doubtful bottle."""
        expect = "" if bottle.contents else "vessel.empty"
        if self.tell(stop.stop, self.row(bottle), reason="it looks brown", who=self.members[0], expect=expect):
            bottle.stop("doubt")

    @rule(bottle=bottles)
    def lift(self, bottle: Bottle) -> None:
        """Lift whatever stops a bottle, unless that is final."""
        expect = "stop.final" if bottle.failed else ""
        if not bottle.stops or not bottle.contents:
            expect = "vessel.not_stopped"
        if self.tell(stop.lift, self.row(bottle), reason="it was tea", expect=expect):
            bottle.stops.clear()

    @rule(bottle=bottles, tank=tanks, hold=st.booleans())
    def plan_tank(self, bottle: Bottle, tank: Tank, hold: bool) -> None:
        """Plan a tank: allowed or refused for the reasons the paper sees, and with its air for one more."""
        at = self.now + timedelta(minutes=1)
        needs = self.paper.needs(tank, bottle, self.fixer, at)
        expected = Counter(code for need in needs for code in self.paper.refusals(need, tank, at))
        if bottle.batch is None:
            expected["vessel.emptied"] += 1
        airy = self.doubted_for_air(needs, at)
        loading = Loading(
            (Film("135-36", tank.rolls),), tank.volume, USES[tank.use], WORDS[tank.dilution], tank.compensate
        )
        (vessel,) = self.ids(bottle)
        wanted = plan.Wanted(self.line.public_id, loading, vessel, hold=hold)
        made, refused = self.planned(wanted)
        expected["vessel.test_first"] += airy
        assert Counter(refused) == +expected
        if made is not None:
            self.plans.append((made, tank, bottle))
            if hold:
                self.paper.hold(made.pk, needs, self.now + HELD)

    def planned(self, wanted: plan.Wanted) -> tuple[TankPlan | None, list[str]]:
        """Ask for a plan; returns it, or the codes of all reasons against it."""
        self.now += timedelta(minutes=1)
        with clock.fixed(self.now):
            try:
                return brew.do(plan.create, self.members[0], wanted=wanted), []
            except Unworkable as refusal:
                return None, [each["code"] for each in refusal.facts["reasons"]]

    def doubted_for_air(self, needs: list[Need], at: datetime) -> int:
        """Count the bottles that only their air makes doubtful."""
        ready = [need.bottle for need in needs if self.paper.state(need.bottle, at) == "ready"]
        return sum(standing.assess(self.row(each), at, self.room.zone).state == "test_first" for each in ready)

    @precondition(lambda self: self.plans)
    @rule(data=st.data())
    def give_up(self, data: Any) -> None:
        """Give a plan up."""
        made, *_ = self.plans.pop(data.draw(st.integers(0, len(self.plans) - 1)))
        self.tell(plan.cancel, made, who=self.members[0])
        self.paper.let_go(made.pk)

    @precondition(lambda self: self.plans)
    @rule(data=st.data())
    def check_in_planned(self, data: Any) -> None:
        """Check a planned tank in, which frees what the plan kept."""
        made, tank, bottle = self.plans.pop(data.draw(st.integers(0, len(self.plans) - 1)))
        self.checked_in(Report(plan=made.public_id), self.members[0], bottle, tank, 0)
        self.paper.let_go(made.pk)

    @rule(
        bottle=bottles, tank=tanks, ago=ago, who=st.integers(0, 1),
        back=st.one_of(st.none(), st.none(), st.none(), st.sampled_from([0, 2000, 2890, 9500])),
    )  # fmt: skip
    def check_in(self, bottle: Bottle, tank: Tank, ago: int, who: int, back: int | None) -> None:
        """Report a tank, planned or not, now or late, whatever the rules would have said."""
        tank = Tank(tank.rolls, tank.volume, tank.use, tank.dilution, tank.compensate, back)
        (vessel,) = self.ids(bottle)
        told = Report(
            line=self.line.public_id, vessel=vessel, films=(Film("135-36", tank.rolls),), tank=tank.volume,
            use=USES[tank.use], dilution=WORDS[tank.dilution], compensate=tank.compensate, poured_back=back,
        )  # fmt: skip
        self.checked_in(told, self.members[who], bottle, tank, ago)

    def checked_in(self, told: Report, who: Membership, bottle: Bottle, tank: Tank, ago: int) -> None:
        at = self.now + timedelta(minutes=1 - ago)
        needs = self.paper.needs(tank, bottle, self.fixer, at)
        expect = self.before_filling(bottle, at)
        if done := self.tell(checkin.create, who=who, report=told, ago=ago, expect=expect):
            self.enter(done.check_in, self.paper.check_in(who.pk, tank, needs, at))

    @precondition(lambda self: any(not act.undone for _, act in self.entries))
    @rule(data=st.data())
    def take_back(self, data: Any) -> None:
        """Take any entry back; the latest one leaves everything as it was."""
        left = [each for each in self.entries if not each[1].undone]
        row, act = left[data.draw(st.integers(0, len(left) - 1))]
        command = {CheckIn: checkin.reverse, Transfer: transfer.reverse}.get(type(row), level.reverse)
        self.tell(command, row, reason="a mistake")
        for bottle in self.paper.take_back(act):
            self.adopt(act, bottle)

    def adopt(self, act: Act, bottle: Bottle) -> None:
        """Take over what nobody can tell from paper once liquid has been poured on since."""
        row = self.row(bottle)
        self.paper.adopt(act, bottle, row.basis, row.load, row.area)
        bottle.use = row.use
        bottle.batch = next((each for each in self.paper.batches if each.row == row.batch_id), None)

    # What must hold

    @invariant()
    def agree(self) -> None:
        """Compare all of it."""
        self.bottles_agree()
        self.holds_agree()
        self.costs_agree()
        self.places_agree()
        self.proof_is_clean()

    def bottles_agree(self) -> None:
        """Compare what every bottle holds and is good for."""
        rows = Vessel.objects.with_contents().filter(darkroom=self.room).in_bulk()
        for bottle in self.paper.bottles:
            row = rows[bottle.row]
            names = ("contents", "basis", "load", "area")
            ours = [getattr(bottle, name) for name in names]
            assert [getattr(row, name) for name in names] == ours, bottle
            if bottle.contents:
                assert (row.batch_id, row.use) == (bottle.batch.row, bottle.use)
                self.standing_agrees(bottle, row)

    def standing_agrees(self, bottle: Bottle, row: Vessel) -> None:
        found, ours = standing.assess(row, self.now, self.room.zone), self.paper.state(bottle, self.now)
        airy = ours == "ready" and all(reason.startswith("Air could") for reason in found.reasons)
        assert found.state == ("test_first" if airy and found.reasons else ours), found.reasons
        assert found.use_by == self.paper.use_by(bottle)[0], found.use_by_rule
        assert row.use_by == found.use_by, "the date kept on the row"

    def holds_agree(self) -> None:
        """Compare what plans keep."""
        mine = Hold.objects.standing(self.now).filter(vessel__darkroom=self.room).values_list("vessel")
        theirs = {vessel: sums for vessel, *sums in mine.annotate(Sum("volume"), Sum("load"))}
        ours = {bottle.row: list(self.paper.held(bottle, self.now)) for bottle in self.paper.bottles}
        assert theirs == {row: sums for row, sums in ours.items() if any(sums)}

    def costs_agree(self) -> None:
        """Compare who bears what; a batch that stands nowhere any more is borne to the last cent."""
        rows = Batch.objects.filter(darkroom=self.room).in_bulk()
        borne: dict[int, Counter[Any]] = {pk: Counter() for pk in rows}
        for share in CostShare.objects.filter(batch__darkroom=self.room):
            borne[share.batch_id][share.member_id or (share.into_id and ("batch", share.into_id))] += share.minor
        for batch in self.paper.batches:
            row, theirs = rows[batch.row], borne[batch.row]
            assert row.cost_minor == batch.cost
            ours = Counter(
                {("batch", who.row) if isinstance(who, paper.Batch) else who: sum_ for who, sum_ in batch.borne.items()}
            )
            rest = theirs.pop(None, 0)
            assert nonzero(theirs) == nonzero(ours)
            if batch.made and not self.paper.stands(batch):
                assert row.closed_at, f"batch {row.code} stands nowhere"
                assert rest + sum(theirs.values()) == batch.cost
            elif batch.made:
                assert row.closed_at is None, f"batch {row.code} still stands somewhere"

    def places_agree(self) -> None:
        """Compare where all liquid came from and went: what is left over is unaccounted for on both sides."""
        rows = Movement.objects.filter(entry__darkroom=self.room)
        sums: Counter[str] = Counter()
        for source, target, volume in rows.values_list("source", "target").annotate(Sum("volume")):
            sums[target] += volume
            sums[source] -= volume
        sums.pop(Place.UNACCOUNTED, None)
        ours = Counter(self.paper.places) + Counter()
        ours = {**self.paper.places, Place.VESSEL: sum(bottle.contents for bottle in self.paper.bottles)}
        assert nonzero(sums) == nonzero(ours)
        held = Container.objects.get(pk=self.can.pk).contents
        assert held == self.paper.places["container"]

    def proof_is_clean(self) -> None:
        """Ask the service itself."""
        assert [*proof.differences(self.room.pk), *waste_proof.differences(self.room.pk)] == []


def nonzero(sums: dict[Any, int]) -> dict[Any, int]:
    return {str(name): value for name, value in sums.items() if value}


def pack_vessel(*args: Any, **given: Any) -> Any:
    from chemistry.commands import vessel

    return vessel.create(*args, **given)


def test_the_service_and_the_paper_agree_after_each_step(committed):
    run_state_machine_as_test(
        Life,
        settings=settings(
            max_examples=EXAMPLES, stateful_step_count=STEPS, deadline=None, print_blob=True,
            suppress_health_check=list(HealthCheck), database=None,
        ),
    )  # fmt: skip
