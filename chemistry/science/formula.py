"""What a formula promises: the figures every other rule reads, as frozen values with their sources beside them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType


class Kind(StrEnum):
    """What the liquid does to film or paper."""

    DEVELOPER = "developer"
    STOP_BATH = "stop_bath"
    FIXER = "fixer"
    WASHING_AID = "washing_aid"
    BLEACH = "bleach"
    BLEACH_FIX = "bleach_fix"
    TONER = "toner"
    STABILISER = "stabiliser"
    REPLENISHER = "replenisher"


class Form(StrEnum):
    """The physical form as received."""

    POWDER = "powder"
    LIQUID = "liquid"


class Material(StrEnum):
    """What is developed: film and paper never share a fixer or a capacity figure."""

    FILM = "film"
    PAPER = "paper"


class Use(StrEnum):
    """A vessel's way of use, fixed by its first use. ``FRESH`` is drawn from for one-shot tanks only."""

    FRESH = "fresh"
    REUSE = "reuse"
    REPLENISHED = "replenished"
    TRAY = "tray"


class Process(StrEnum):
    """The process family of a film or a bath."""

    BW = "bw"
    COLOUR_NEGATIVE = "colour_negative"
    COLOUR_REVERSAL = "colour_reversal"
    BACKED_MOTION_PICTURE = "backed_motion_picture"


class Check(StrEnum):
    """The test a kind of bath is judged by."""

    CLIP = "clip"
    CLEARING = "clearing"
    STOP = "stop"


@dataclass(frozen=True)
class Ingredient:
    """One substance of the working stock in grams per litre; hydrates are named as such."""

    name: str
    cas: str
    g_per_l: Decimal


@dataclass(frozen=True)
class Capacity:
    """Roll units one litre of ``dilution`` does in one way of use; ``compensated`` with longer times, if allowed."""

    material: Material
    use: Use
    dilution: str
    rolls_per_litre: Decimal
    compensated: Decimal | None = None


@dataclass(frozen=True)
class ReuseTime:
    """How time grows with load: ``shape`` is ``linear``, ``compound`` or ``table`` of (rolls per litre, factor)."""

    shape: str
    per_roll_per_litre: Decimal = Decimal(0)
    table: tuple[tuple[Decimal, Decimal], ...] = ()


@dataclass(frozen=True)
class Temperature:
    """Time ratio ``coefficient`` for each ``per_degrees`` colder than ``reference_c``; refused outside the window."""

    per_degrees: Decimal
    coefficient: Decimal
    reference_c: Decimal
    lowest_c: Decimal
    highest_c: Decimal


@dataclass(frozen=True)
class TimeRule:
    """Everything that lengthens or shortens a development time.

    ``crowding`` is {dilution: {rolls in the tank: factor}}, ``agitation`` {name: factor}, ``push`` {stops: factor}.
    """

    reuse: ReuseTime | None = None
    crowding: Mapping[str, Mapping[int, Decimal]] = field(default_factory=lambda: MappingProxyType({}))
    temperature: Temperature | None = None
    agitation: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    push: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))
    shortest_min: Decimal = Decimal(5)


@dataclass(frozen=True)
class Keeping:
    """Customary lives. ``diluted`` is {dilution: hours promised}; a dilution that is absent is promised nothing."""

    full_months: int | None
    part_full_months: int | None
    tested_days: int | None
    diluted: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    tray_hours: int | None = None
    strip_before_critical: bool = False


@dataclass(frozen=True)
class Mixing:
    """How a packet becomes stock. ``start_fraction`` is the share of the final volume poured first, as water."""

    start_low_c: Decimal
    start_high_c: Decimal
    start_fraction: Decimal
    order: tuple[str, ...]
    rest_hours: int
    mark_c: Decimal
    whole_packet: bool


@dataclass(frozen=True)
class Replenishing:
    """``ml_per_roll`` of ``replenisher`` added for each roll unit; a control strip every ``strip_days``."""

    replenisher: str
    ml_per_roll: Decimal
    strip_days: int


@dataclass(frozen=True)
class Testing:
    """The criterion: density within ``density_tolerance`` for a strip, ``fail_ratio`` times fresh for clearing."""

    check: Check
    density_tolerance: Decimal = Decimal("0.10")
    fail_ratio: Decimal = Decimal(2)
    highest_ph: Decimal | None = None
    needed_for_release: bool = False


@dataclass(frozen=True)
class Rules:
    """One published formula version, as the pure rules read it."""

    kind: Kind
    process: Process
    form: Form
    composition: tuple[Ingredient, ...]
    dilutions: tuple[str, ...]
    capacity: tuple[Capacity, ...]
    keeping: Keeping
    minimum_stock_ml: Decimal | None = None
    time: TimeRule = TimeRule()
    mixing: Mixing | None = None
    replenishing: Replenishing | None = None
    testing: Testing | None = None
    required_topics: tuple[str, ...] = ()
    never_poured_back: bool = False
    colourless_failure: bool = False
