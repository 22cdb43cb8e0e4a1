"""A darkroom kept on paper: what every bottle ought to hold, be good for and cost, worked out beside the service.

Plain Python with nothing of the service's in it. Volumes in 0.1 mL, load in 1/3600 roll unit, area in 0.001 cm²; all
figures of the two liquids are common practice without a source, as the starter set has them.
"""

from calendar import monthrange
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import lcm
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/Berlin")
ROLL, AREA = 3600, 567_000  # one 135-36: its load, and 35 x 1620 mm (from memory of ISO 1007)
CLINGS = 50  # 5 mL of every bath leave with a roll: the service's own setting
STOCK = Fraction(0)
FRESH, REUSE = "fresh", "reuse"


@dataclass(frozen=True)
class Liquid:
    """A formula: rolls for each litre by dilution, plain and with longer times; keeping; least stock for a roll."""

    code: str
    dilutions: tuple[Fraction, ...]
    rolls: dict[Fraction, tuple[int, int]]
    full_months: int
    part_months: int
    hours: dict[Fraction, int]
    least: int = 0
    rest_hours: int = 0

    @property
    def concentrate(self) -> bool:
        return STOCK not in self.dilutions


MQ = Liquid(
    "mq-borax", (STOCK, Fraction(1), Fraction(3)), {STOCK: (4, 10)}, 6, 2, {}, least=2350, rest_hours=24
)  # fmt: skip
FIXER = Liquid(
    "rapid-fixer", (Fraction(4), Fraction(9)), {Fraction(4): (20, 20)}, 24, 6, {Fraction(4): 1440, Fraction(9): 168}
)
TESTED_DAYS = 14


@dataclass(eq=False, repr=False)
class Batch:
    """What one mixing, opening, diluting or blending made, what it cost and who bears it; ``row`` is its own there."""

    liquid: Liquid
    dilution: Fraction
    made: int
    mixed_at: datetime
    cost: int = 0
    released: bool = True
    withdrawn: bool = False
    borne: Counter = field(default_factory=Counter)
    row: int = 0

    def __repr__(self) -> str:
        return f"batch {self.row}"

    @property
    def rate(self) -> Fraction:
        return Fraction(self.cost, self.made) if self.made else Fraction(0)


@dataclass
class Move:
    """What one act changed of a bottle's totals, and of its level, at the time it is said to have happened."""

    at: datetime
    act: int
    totals: tuple[int, ...]
    level: int


@dataclass(eq=False, repr=False)
class Bottle:
    """A vessel and the history of its present filling."""

    row: int
    nominal: int
    contents: int = 0
    basis: int = 0
    load: int = 0
    area: int = 0
    batch: Batch | None = None
    use: str = ""
    filled_at: datetime | None = None
    made_at: datetime | None = None
    passed_at: datetime | None = None
    inherited: datetime | None = None
    moves: list[Move] = field(default_factory=list)
    looks: list[tuple[datetime, int]] = field(default_factory=list)
    stops: list[tuple[str, int]] = field(default_factory=list)
    fillings: list[tuple[datetime, Batch]] = field(default_factory=list)
    begun_in: int = 0
    touched_by: int = 0

    def __repr__(self) -> str:
        held = f"{self.contents} of {self.nominal}, basis {self.basis}, load {self.load}, {self.use or 'unused'}"
        return f"bottle {self.row} ({held}, {self.batch})"

    def gone(self, at: datetime) -> bool:
        return self.filled_at is not None and at < self.filled_at

    def anchored(self, at: datetime) -> bool:
        """Tell whether somebody has seen since what stood in it."""
        return self.gone(at) or any(at < look for look, _ in self.looks)

    def batch_at(self, at: datetime) -> Batch | None:
        if not self.gone(at):
            return self.batch
        earlier = [(when, place) for place, (when, _) in enumerate(self.fillings) if when <= at]
        return self.fillings[max(earlier)[1]][1] if earlier else None

    def stop(self, why: str, act: int = 0) -> None:
        self.stops.append((why, act))

    @property
    def failed(self) -> bool:
        return any(why == "failed" for why, _ in self.stops)

    @property
    def totals(self) -> tuple[int, ...]:
        return self.contents, self.basis, self.load, self.area

    def totals_at(self, at: datetime) -> tuple[int, ...]:
        """Return its totals at an instant, by the record."""
        later = [move.totals for move in self.moves if move.at > at]
        return tuple(max(now - sum(since), 0) for now, *since in zip(self.totals, *later, strict=True))

    def gain(self, basis: int, load: int, area: int) -> None:
        """Take on what came along with liquid."""
        self.basis, self.load, self.area = self.basis + basis, self.load + load, self.area + area

    @property
    def worked(self) -> bool:
        return self.load > 0 or self.use == REUSE

    @property
    def part_since(self) -> datetime | None:
        """Return since when it stands part-full, which is more than a tenth of air, looking where an act ended."""
        contents = 0
        for move in sorted(self.moves, key=lambda each: (each.at, each.act)):
            contents += move.level
            if 0 < contents < self.nominal * Fraction(9, 10):
                return min(filter(None, (self.inherited, move.at)))
        return self.inherited


@dataclass(frozen=True)
class Tank:
    """A tank of 135-36 as planned or reported."""

    rolls: int
    volume: int
    use: str
    dilution: Fraction
    compensate: bool = False
    back: int | None = None

    @property
    def load(self) -> int:
        return self.rolls * ROLL


@dataclass(frozen=True)
class Need:
    """What a tank asks of one bottle."""

    bottle: Bottle
    batch: Batch
    role: str
    use: str
    strength: Fraction
    drawn: int
    water: int
    carried: int
    load: int


@dataclass(repr=False)
class Act:
    """What was written down, so that it can be taken back."""

    number: int
    at: datetime
    changes: dict[Bottle, int] = field(default_factory=dict)
    places: Counter = field(default_factory=Counter)
    shares: list[tuple[Batch, object, int]] = field(default_factory=list)
    films: dict[Bottle, int] = field(default_factory=dict)
    made: list[Batch] = field(default_factory=list)
    before: dict[Bottle, dict] = field(default_factory=dict)
    stood: dict[Bottle, tuple[int, ...]] = field(default_factory=dict)
    found: dict[Bottle, int] = field(default_factory=dict)
    undone: bool = False

    def __repr__(self) -> str:
        return f"act {self.number}: {self.changes}"


def share(total: int, part: int, whole: int) -> int:
    """Return what of a total goes with a part, half to even."""
    return round(Fraction(total * part, whole)) if whole else 0


def split(volume: int, dilution: Fraction) -> tuple[int, int]:
    """Return stock and water."""
    stock = round(Fraction(volume) / (1 + dilution))
    return stock, volume - stock


def months_later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def day_of(at: datetime) -> date:
    return at.astimezone(ZONE).date()


def largest_remainder(dues: list[Fraction]) -> list[int]:
    """Round sums to whole cents so that they add up to their rounded total."""
    scale = lcm(*(each.denominator for each in dues))
    weights = [int(each * scale) for each in dues]
    total, whole = round(sum(dues, Fraction(0))), sum(weights)
    if not whole:
        return [0] * len(dues)
    exact = [Fraction(total * weight, whole) for weight in weights]
    parts = [int(each) for each in exact]
    order = sorted(range(len(parts)), key=lambda place: parts[place] - exact[place])
    for place in order[: total - sum(parts)]:
        parts[place] += 1
    return parts


class Paper:
    """All bottles, batches, plans and places of one darkroom."""

    def __init__(self) -> None:
        self.bottles: list[Bottle] = []
        self.batches: list[Batch] = []
        self.holds: list[tuple[object, Bottle, int, int, datetime]] = []
        self.places: Counter = Counter()
        self.acts = 0

    # What a bottle is good for

    def use_by(self, bottle: Bottle) -> tuple[date | None, datetime | None]:
        """Return the last day it is trusted, and the exact end of what keeps for hours; none after a failed test."""
        if bottle.failed:
            return None, None
        batch, made = bottle.batch, bottle.made_at
        liquid, until, days = batch.liquid, None, TESTED_DAYS
        if batch.dilution == STOCK:
            custom = months_later(day_of(made), liquid.full_months)
            if bottle.part_since:
                custom = min(custom, months_later(day_of(bottle.part_since), liquid.part_months))
        else:
            hours = liquid.hours.get(batch.dilution)
            if hours is None:
                return None, None
            until, days = made + timedelta(hours=hours), min(days, hours // 24)
            custom = day_of(until)
        tested = day_of(bottle.passed_at) + timedelta(days=days) if bottle.passed_at else None
        if tested is None or custom >= tested:
            return custom, until
        return tested, None

    def state(self, bottle: Bottle, at: datetime) -> str:
        """Return what a bottle is good for; of its air the paper knows nothing."""
        if bottle.contents == 0:
            return "emptied"
        if bottle.stops or bottle.batch.withdrawn:
            return "stopped"
        if not bottle.batch.released:
            return "waiting"
        counted = bottle.use == REUSE and bottle.batch.dilution in bottle.batch.liquid.rolls
        if counted and self.total(bottle, longer=True) <= bottle.load:
            return "spent"
        day, until = self.use_by(bottle)
        late = day is None or day_of(at) > day or (until is not None and at > until)
        return "test_first" if late else "ready"

    @staticmethod
    def total(bottle: Bottle, *, longer: bool) -> Fraction:
        """Return the load a bottle can do in all."""
        plain, compensated = bottle.batch.liquid.rolls[bottle.batch.dilution]
        return Fraction((compensated if longer else plain) * bottle.basis * ROLL, 10_000)

    def held(self, bottle: Bottle, at: datetime) -> tuple[int, int]:
        """Return the volume and load that plans keep of a bottle."""
        mine = [(volume, load) for _, whose, volume, load, until in self.holds if whose is bottle and until > at]
        return sum(volume for volume, _ in mine), sum(load for _, load in mine)

    # Plans

    def needs(self, tank: Tank, developer: Bottle, fixer: Bottle, at: datetime) -> list[Need]:
        """Return what a tank asks of each bath; of one that held nothing at that time it asks nothing."""
        found = []
        for role, bottle in (("developer", developer), ("fixer", fixer)):
            if batch := bottle.batch_at(at):
                found.append(self._need(role, tank, bottle, batch))
        return found

    @staticmethod
    def _need(role: str, tank: Tank, bottle: Bottle, batch: Batch) -> Need:
        neat = batch.liquid.concentrate and batch.dilution == STOCK
        use, strength = tank.use, tank.dilution
        if role == "fixer":
            use = FRESH if neat or bottle.use == FRESH else REUSE
            strength = Fraction(4) if neat else STOCK
        strength = batch.dilution or strength
        drawn, water = split(tank.volume, strength) if batch.dilution == STOCK else (tank.volume, 0)
        carried = min(tank.rolls * CLINGS, tank.volume)
        return Need(bottle, batch, role, use, strength, drawn, water, carried, 0 if use == FRESH else tank.load)

    def refusals(self, need: Need, tank: Tank, at: datetime) -> Iterator[str]:
        """Yield every rule that says no to a plan at one bottle."""
        bottle, liquid = need.bottle, need.batch.liquid
        state = self.state(bottle, at)
        if state != "ready":
            yield f"vessel.{state}"
        if not bottle.contents:
            return
        if liquid is not (MQ if need.role == "developer" else FIXER):
            yield "step.other_kind"
        if bottle.use and bottle.use != need.use:
            yield "vessel.used" if need.use == FRESH else "vessel.other_use"
        if need.role == "developer":
            yield from self._strength(need, tank)
        yield from self._capacity(need, tank, at)
        if need.drawn > max(bottle.contents - self.held(bottle, at)[0], 0):
            yield "vessel.short"

    @staticmethod
    def _strength(need: Need, tank: Tank) -> Iterator[str]:
        """Yield what a developer's dilution, and its stock for each roll, say against a plan."""
        batch = need.batch
        one_shot_of_stock = need.use == FRESH and batch.dilution == STOCK
        if tank.dilution not in batch.liquid.dilutions:
            yield "dilution.not_offered"
        if tank.dilution != batch.dilution and not one_shot_of_stock:
            yield "dilution.other_strength"
        if Fraction(tank.volume) / (1 + need.strength) * Fraction(101, 100) < tank.rolls * batch.liquid.least:
            yield "tank.short_of_stock"

    def _capacity(self, need: Need, tank: Tank, at: datetime) -> Iterator[str]:
        if need.use == FRESH:
            return
        if need.batch.dilution not in need.batch.liquid.rolls:
            yield "capacity.not_promised"
            return
        most = self.total(need.bottle, longer=tank.compensate and need.role == "developer")
        if need.load > most - need.bottle.load - self.held(need.bottle, at)[1]:
            yield "capacity.exhausted"

    def hold(self, plan: object, needs: list[Need], until: datetime) -> None:
        for need in needs:
            leaves = need.drawn if need.use == FRESH else need.carried
            self.holds.append((plan, need.bottle, leaves, need.load, until))

    def let_go(self, plan: object) -> None:
        self.holds = [each for each in self.holds if each[0] != plan]

    # Acts

    def act(self, at: datetime, *bottles: Bottle) -> Act:
        """Begin an act, remembering how the bottles stood."""
        self.acts += 1
        begun = Act(self.acts, at)
        for bottle in bottles:
            begun.before[bottle] = {name: getattr(bottle, name) for name in ("basis", "load", "area", "batch", "use")}
            begun.stood[bottle] = bottle.totals
        return begun

    def close(self, act: Act) -> Act:
        """Write what the act changed into the histories of its bottles; where nothing is left, nothing is."""
        for bottle in act.before:
            if bottle.contents == 0:
                bottle.basis = bottle.load = bottle.area = 0
            self.note(act, bottle, act.changes.get(bottle, 0))
        self.places.update(act.places)
        return act

    @staticmethod
    def note(act: Act, bottle: Bottle, level: int, number: int = 0) -> None:
        """Write down what became of a bottle's totals."""
        bottle.touched_by = number or act.number
        stood = (0, 0, 0, 0) if bottle.begun_in == act.number else act.stood[bottle]
        changed = tuple(now - then for now, then in zip(bottle.totals, stood, strict=True))
        if any(changed) or level:
            bottle.moves.append(Move(act.at, bottle.touched_by, changed, level))

    def change(self, act: Act, bottle: Bottle, volume: int) -> None:
        bottle.contents += volume
        act.changes[bottle] = act.changes.get(bottle, 0) + volume

    def take(self, act: Act, bottle: Bottle, volume: int, *, shared: bool) -> tuple[int, ...]:
        """Let liquid leave a bottle, with its share of what it carried then unless it comes back; returns the share."""
        if bottle.anchored(act.at):
            return 0, 0, 0
        self.change(act, bottle, max(volume - bottle.contents, 0))
        went = (0, 0, 0)
        if shared and volume:
            contents, *carried = bottle.totals_at(act.at)
            part = min(volume, contents)
            went = tuple(
                min(share(each, part, contents), left)
                for each, left in zip(carried, (bottle.basis, bottle.load, bottle.area), strict=True)
            )
            bottle.gain(*(-each for each in went))
        self.change(act, bottle, -volume)
        return went

    def bear(self, act: Act, batch: Batch, payer: object, minor: int) -> None:
        batch.borne[payer] += minor
        act.shares.append((batch, payer, minor))
        if isinstance(payer, Batch):
            payer.cost += minor

    def pass_on(self, act: Act, batch: Batch, child: Batch, volume: int) -> None:
        self.bear(act, batch, child, round(batch.rate * volume))

    def begin(self, act: Act, bottle: Bottle, batch: Batch, source: Bottle | None = None) -> None:
        """Begin a filling; what is poured from another bottle brings its age and its way of use along."""
        at, bottle.begun_in = act.at, act.number
        worked = source is not None and source.use == REUSE
        bottle.inherited = self.stood(source, at) if source else None
        bottle.batch, bottle.filled_at = batch, at
        bottle.made_at = source.made_at if source else batch.mixed_at
        bottle.passed_at = source.passed_at if source else None
        bottle.use = REUSE if worked else ""
        bottle.moves, bottle.looks, bottle.stops = [], [], []

    @staticmethod
    def stood(bottle: Bottle, at: datetime) -> datetime | None:
        """Return since when a bottle stood part-full, where it was before today and not just while being bottled."""
        since = bottle.part_since
        if since is None or day_of(since) >= day_of(at) or (day_of(at) - day_of(bottle.made_at)).days <= 3:
            return None
        return since

    def brew(self, act: Act, batch: Batch) -> Batch:
        self.batches.append(batch)
        act.made.append(batch)
        return batch

    def mix(self, bottle: Bottle, batch: Batch, at: datetime) -> Act:
        """Mix a packet into a bottle; what stood there is unaccounted for."""
        act = self.act(at, bottle)
        self.brew(act, batch)
        if bottle.contents:
            self.take(act, bottle, bottle.contents, shared=True)
        act.changes.pop(bottle, None)
        bottle.basis = bottle.load = bottle.area = 0
        self.begin(act, bottle, batch)
        self.arrive(act, bottle, batch.made, "made")
        return self.close(act)

    def arrive(self, act: Act, bottle: Bottle, volume: int, place: str) -> None:
        """Let new liquid come into a bottle."""
        self.change(act, bottle, volume)
        bottle.basis += volume
        act.places[place] -= volume
        bottle.fillings.append((act.at, bottle.batch))

    def pour(self, source: Bottle, target: Bottle, volume: int, at: datetime) -> Act:
        """Pour from bottle to bottle."""
        act, batch = self.act(at, source, target), source.batch
        spoils = self.spoils(source, target, batch.dilution)
        if target.contents == 0:
            self.begin(act, target, batch, source)
        else:
            self._join(act, source, target, batch, volume)
        went = self.take(act, source, volume, shared=True)
        self.change(act, target, volume)
        target.gain(*went)
        target.fillings.append((at, target.batch))
        self._spoil(act, source, target, spoils=spoils)
        return self.close(act)

    def _join(self, act: Act, source: Bottle, target: Bottle, batch: Batch, volume: int) -> None:
        """Let liquid join what stands there: nothing gets younger or better by it."""
        target.made_at = min(target.made_at, source.made_at)
        if stood := self.stood(source, act.at):
            target.inherited = min(filter(None, (target.inherited, stood)))
        passes = (target.passed_at, source.passed_at)
        target.passed_at = None if None in passes else min(passes)
        if source.worked and not target.worked:
            target.use = source.use
        self._blend(act, target, batch, volume)

    def _blend(self, act: Act, target: Bottle, batch: Batch, volume: int) -> None:
        there = target.batch
        if there is batch:
            return
        child = Batch(
            there.liquid, there.dilution, target.contents + volume, min(there.mixed_at, batch.mixed_at),
            released=there.released and batch.released, withdrawn=there.withdrawn or batch.withdrawn,
        )  # fmt: skip
        self.brew(act, child)
        self.pass_on(act, there, child, target.contents)
        self.pass_on(act, batch, child, volume)
        target.batch = child

    @staticmethod
    def spoils(source: Bottle, target: Bottle, dilution: Fraction, *, made: bool = False) -> bool:
        """Tell whether a pour makes what stands in the target doubtful."""
        if not target.contents:
            return False
        if source.batch.liquid is not target.batch.liquid or dilution != target.batch.dilution:
            return True
        if target.batch.released and not source.batch.released:
            return True
        return not made and source.worked and (not target.worked or source.use != target.use)

    @staticmethod
    def _spoil(act: Act, source: Bottle, target: Bottle, *, spoils: bool) -> None:
        if source.stops:
            target.stop(source.stops[-1][0], act.number)
        elif spoils:
            target.stop("rule", act.number)

    def dilute(self, source: Bottle, target: Bottle, volume: int, dilution: Fraction, at: datetime) -> Act:
        """Make a working solution."""
        act, batch = self.act(at, source, target), source.batch
        stock, water = split(volume, dilution)
        becomes = (1 + dilution) * (1 + batch.dilution) - 1
        spoils = self.spoils(source, target, becomes, made=True)
        child = Batch(
            batch.liquid, becomes, volume, at, released=batch.released, withdrawn=batch.withdrawn
        )  # fmt: skip
        self.brew(act, child)
        self.pass_on(act, batch, child, stock)
        if target.contents:
            self._blend(act, target, child, volume)
        else:
            self.begin(act, target, child)
            target.use = source.use if source.worked else ""
        went = self.take(act, source, stock, shared=True)
        self.change(act, target, stock)
        target.gain(*went)
        self.arrive(act, target, water, "water")
        self._spoil(act, source, target, spoils=spoils)
        return self.close(act)

    def empty(self, bottle: Bottle, told: int | None, at: datetime) -> Act:
        """Pour a bottle out to waste, all or so much; only an empty bottle is a sure look."""
        act = self.act(at, bottle)
        amount = bottle.contents if told is None else told
        self.take(act, bottle, amount, shared=True)
        act.places["container"] += amount
        if not bottle.contents:
            bottle.looks.append((at, act.number))
        return self.close(act)

    def spill(self, bottle: Bottle, volume: int, at: datetime) -> Act:
        act = self.act(at, bottle)
        self.take(act, bottle, volume, shared=True)
        act.places["spilled"] += volume
        return self.close(act)

    def level(self, bottle: Bottle, measured: int, at: datetime) -> Act:
        """Read a bottle off: a small loss clung to film, a large one was poured and took its share along."""
        act = self.act(at, bottle)
        if bottle.anchored(at):
            return self.close(act)
        then = bottle.totals_at(at)[0]
        difference = max(measured - then, -bottle.contents)
        if difference > 0:
            self.change(act, bottle, difference)
        elif difference < 0:
            large = -difference > 2000 and -difference * 20 > then
            self.take(act, bottle, -difference, shared=large)
        bottle.looks.append((at, act.number))
        return self.close(act)

    def check_in(self, member: str, tank: Tank, needs: list[Need], at: datetime) -> Act:
        """Write down film that was processed."""
        act = self.act(at, *(need.bottle for need in needs))
        spoilt = [need.bottle for need in needs if self._spoils_itself(tank, need, at)]
        dues = [need.batch.rate * self._spent(tank, need) for need in needs]
        for need in needs:
            self._run(act, tank, need)
        for bottle in dict.fromkeys(spoilt):
            bottle.stop("rule", act.number)
        for need, minor in zip(needs, largest_remainder(dues) if dues else [], strict=True):
            self.bear(act, need.batch, member, minor)
        return self.close(act)

    @staticmethod
    def back(tank: Tank, need: Need) -> int:
        """Return what is poured back: as told of the developer, else all but what clings, or nothing."""
        if need.role == "developer" and tank.back is not None:
            return tank.back
        return max(tank.volume - need.carried, 1) if need.use == REUSE else 0

    def _spoils_itself(self, tank: Tank, need: Need, at: datetime) -> bool:
        """Tell whether what is poured back makes its own bottle doubtful."""
        bottle = need.bottle
        if not self.back(tank, need) or bottle.gone(at):
            return False
        return need.strength != bottle.batch.dilution or (bottle.use or need.use) != REUSE or need.use != REUSE

    @staticmethod
    def _spent(tank: Tank, need: Need) -> Fraction:
        """Return how much of a batch a tank costs, in 0.1 mL."""
        if need.use == FRESH:
            return Fraction(need.drawn)
        rolls = need.batch.liquid.rolls.get(need.batch.dilution)
        if rolls is None:
            return Fraction(0)
        per_litre = rolls[tank.compensate and need.role == "developer"]
        return Fraction(need.load * 10_000, ROLL * per_litre)

    def _run(self, act: Act, tank: Tank, need: Need) -> None:
        bottle, filled, back = need.bottle, need.drawn + need.water, self.back(tank, need)
        extra = max(back - filled, 0)
        carried = min(need.carried, filled + extra - back)
        away = filled + extra - back - carried
        lost = share(need.drawn, away, max(filled, away)) if need.use == REUSE else need.drawn
        self.take(act, bottle, lost, shared=True)
        self.take(act, bottle, need.drawn - lost, shared=False)
        if not bottle.anchored(act.at):
            self.change(act, bottle, back)
        for name, whole in (("load", tank.load), ("area", tank.rolls * AREA)):
            stays = share(whole, back, max(back + away, 1))
            if not bottle.gone(act.at):
                setattr(bottle, name, getattr(bottle, name) + stays)
                act.films[bottle] = act.films.get(bottle, 0) + stays
        if not bottle.gone(act.at):
            bottle.use = bottle.use or need.use
        act.places["water"] -= need.water
        act.places["carried_out"] += carried
        if need.role == "developer" and need.use == FRESH:
            act.places["container"] += away

    # Taking back

    def take_back(self, act: Act) -> list[Bottle]:
        """Take an act back; returns the bottles whose load and basis the paper cannot tell any more."""
        act.undone, loose = True, []
        self.acts += 1
        act.stood = {bottle: bottle.totals for bottle in act.before}
        for bottle, before in act.before.items():
            exact = bottle.touched_by == act.number
            act.found[bottle] = self._give_back(act, bottle)
            if exact and bottle.contents and not bottle.gone(act.at):
                bottle.__dict__.update(before)
                self.note(act, bottle, act.found[bottle], self.acts)
            else:
                loose.append(bottle)
            bottle.looks = [each for each in bottle.looks if each[1] != act.number]
            bottle.stops = [each for each in bottle.stops if each != ("rule", act.number)]
        for batch, payer, minor in act.shares:
            batch.borne[payer] -= minor
            if isinstance(payer, Batch):
                payer.cost -= minor
        self.places.subtract(act.places)
        self._unmake(act)
        return loose

    @staticmethod
    def _give_back(act: Act, bottle: Bottle) -> int:
        """Undo what an act changed of a bottle's contents; returns what has to be found for it."""
        if bottle.anchored(act.at):
            return 0
        change = act.changes.get(bottle, 0)
        short = max(change - bottle.contents, 0)
        bottle.contents += short - change
        for move in bottle.moves:
            if move.act == act.number:
                move.level = 0
        return short

    def adopt(self, act: Act, bottle: Bottle, basis: int, load: int, area: int) -> None:
        """Take over from the service what the paper could not tell, as part of the act that was taken back."""
        bottle.basis, bottle.load, bottle.area = basis, load, area
        self.note(act, bottle, act.found[bottle], self.acts)

    def _unmake(self, act: Act) -> None:
        for batch in act.made:
            if batch.released and not self.stands(batch):
                batch.made = batch.cost = 0
                batch.released, batch.withdrawn = False, True

    def stands(self, batch: Batch) -> bool:
        return any(bottle.contents and bottle.batch is batch for bottle in self.bottles)
