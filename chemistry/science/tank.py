"""One tank of film or paper, the baths it goes through, and what it asks of each. Volumes in mL, load in roll units."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from chemistry.science import capacity
from chemistry.science.dilution import STOCK, Dilution, parse, split
from chemistry.science.formula import Material, Process, Rules, Use

DEVELOPER = "developer"


@dataclass(frozen=True)
class Tank:
    """One tank of film or paper. ``use`` and ``dilution`` are the developer's; FRESH is one-shot."""

    volume_ml: Decimal
    load: Fraction
    material: Material
    films: tuple[Process, ...]
    use: Use
    dilution: Dilution
    carry_ml: Decimal
    compensate: bool = False


@dataclass(frozen=True)
class Bath:
    """What a vessel holds and has done, and what plans keep of it. ``basis_ml`` is what its capacity counts on."""

    rules: Rules
    dilution: str
    use: Use | None
    material: Material | None
    contents_ml: Decimal
    basis_ml: Decimal
    load: Fraction
    held_ml: Decimal = Decimal(0)
    held_load: Fraction = Fraction(0)

    @property
    def concentrated(self) -> bool:
        """Say whether it must be diluted before anything goes through it."""
        return self.dilution == STOCK and STOCK not in self.rules.dilutions


@dataclass(frozen=True)
class Need:
    """What a tank asks of one bath: ``drawn`` and ``water`` fill the tank; one-shot charges the vessel no load."""

    use: Use
    dilution: Dilution
    drawn_ml: Decimal
    water_ml: Decimal
    carried_ml: Decimal
    load: Fraction

    @property
    def comes_back(self) -> bool:
        """Say whether what was drawn is poured back, but for what clings to the film."""
        return self.use is not Use.FRESH

    @property
    def leaves_ml(self) -> Decimal:
        """Return what leaves the vessel for good."""
        return self.carried_ml if self.comes_back else self.drawn_ml


@dataclass(frozen=True)
class Conditions:
    """How the film is developed; ``base_min`` from the film's or the developer's own sheet."""

    base_min: Decimal | None = None
    temperature_c: Decimal | None = None
    agitation: str | None = None
    push: str | None = None


def carried(per_roll_ml: Decimal, load: Fraction, tank_ml: Decimal) -> Decimal:
    """Return what clings to the film: carry-out x roll units, half-even to 0.1 mL, at most the tank; arithmetic."""
    return min(Decimal(round(Fraction(per_roll_ml) * load * 10)).scaleb(-1), tank_ml)


def need(role: str, tank: Tank, bath: Bath) -> Need:
    """Return what a tank asks of the bath of one step, exact to 0.1 mL; common practice, no source.

    The developer is used as asked. A bath after it is poured back, unless it is kept fresh or is a concentrate: then
    it is made up for this tank alone.
    """
    use = tank.use if role == DEVELOPER else _follower_use(bath)
    dilution = _strength(role, tank, bath)
    drawn, water = split(tank.volume_ml, dilution) if bath.dilution == STOCK else (tank.volume_ml, Decimal(0))
    load = Fraction(0) if use is Use.FRESH else tank.load
    return Need(use, dilution, drawn, water, min(tank.carry_ml, tank.volume_ml), load)


def spent_ml(bath: Bath, asked: Need, *, compensate: bool = False) -> Fraction:
    """Return how much of a bath a tank costs, in mL: what was drawn for one-shot, else load x 1000 / rolls per litre.

    Replenished: the replenisher a load asks for. Nothing where the formula gives no figure. Source: arithmetic.
    """
    rules = bath.rules
    if asked.use is Use.FRESH:
        return Fraction(asked.drawn_ml)
    if asked.use is Use.REPLENISHED and rules.replenishing:
        return asked.load * Fraction(rules.replenishing.ml_per_roll)
    figure = capacity.find(rules, bath.material or Material.FILM, asked.use, bath.dilution)
    if figure is None:
        return Fraction(0)
    return asked.load * 1000 / Fraction((compensate and figure.compensated) or figure.rolls_per_litre)


def to_ten(ml: Decimal) -> Decimal:
    """Return mL to the nearest 10, as a bench measure shows it, halves up; exact arithmetic."""
    return (ml / 10).quantize(Decimal(1), ROUND_HALF_UP) * 10


def _follower_use(bath: Bath) -> Use:
    if bath.concentrated:
        return Use.FRESH
    return bath.use if bath.use in {Use.FRESH, Use.REPLENISHED} else Use.REUSE


def _strength(role: str, tank: Tank, bath: Bath) -> Dilution:
    if bath.dilution != STOCK:
        return parse(bath.dilution)
    if role == DEVELOPER:
        return tank.dilution
    if not bath.concentrated:
        return parse(STOCK)
    counted = [each.dilution for each in bath.rules.capacity if each.material is tank.material]
    return parse(counted[0] if counted else bath.rules.dilutions[0])
