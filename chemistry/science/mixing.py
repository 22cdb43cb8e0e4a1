"""From a packet to stock: whole packets only, water of the right temperature, order, rest, and the mark."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from chemistry.science.caution import Caution, handling
from chemistry.science.formula import Mixing, Rules
from chemistry.science.salt import dissolves, temperature_change
from chemistry.science.verdict import ALLOWED, Verdict, refused
from chemistry.science.water import Blend, blend, short_of_mark

NEVER_CLOSED_HOT = (
    "Never close the bottle on hot liquid: as it cools it pulls the bottle in and lets air seep past the cap."
    " Let it reach room temperature first, covered with a loose lid."
)
_VISIBLE = Decimal("0.001")


@dataclass(frozen=True)
class MixingSheet:
    """What the mixer reads at the bench, top to bottom."""

    makes_ml: Decimal
    start_ml: Decimal
    window_c: tuple[Decimal, Decimal]
    water: Blend
    steps: tuple[str, ...]
    rest_hours: int
    to_the_mark: str
    cautions: tuple[Caution, ...]
    warnings: tuple[str, ...]
    closing: str = NEVER_CLOSED_HOT


def sheet(
    rules: Rules,
    makes_ml: Decimal,
    hot_c: Decimal,
    cold_c: Decimal,
    room_c: Decimal = Decimal(20),
    *,
    kettle: bool = False,
    ice: bool = False,
) -> MixingSheet | Verdict:
    """The mixing sheet of one packet that makes ``makes_ml``; start = fraction x final volume, taps and room in °C.

    The water aims at the middle of the formula's window, or as near to it as the taps allow. Source: the formula's
    procedure (usual MQ powder: most of the water at 50-55 °C, common practice).
    """
    mixing = rules.mixing
    if mixing is None:
        return refused("formula.not_mixed", "This formula is not mixed from powder.", "open it and dilute it to use")
    start_ml, start_c = makes_ml * mixing.start_fraction, _start_c(mixing, hot_c, cold_c, kettle=kettle, ice=ice)
    return MixingSheet(
        makes_ml=makes_ml,
        start_ml=start_ml,
        window_c=(mixing.start_low_c, mixing.start_high_c),
        water=blend(start_ml, start_c, hot_c, cold_c, kettle=kettle, ice=ice),
        steps=_steps(mixing, start_ml, makes_ml),
        rest_hours=mixing.rest_hours,
        to_the_mark=_mark(makes_ml, mixing, room_c),
        cautions=handling(rules, rules.form),
        warnings=_warnings(rules, mixing, makes_ml),
    )


def judge_packet(share: Fraction | Decimal, whole_packet: bool) -> Verdict:
    """Whether this many packets may be mixed at once: a positive whole number where the packet has several components.

    Source: US Navy photography course, page 238: mix the entire package, since ingredients separate in transport.
    """
    packets = Fraction(share)
    if packets <= 0:
        return refused("packet.none", "There is nothing to mix in no packet.", "mix 1 whole packet")
    if not whole_packet or packets.denominator == 1:
        return ALLOWED
    below, above = int(packets), int(packets) + 1
    offers = tuple(f"mix {_count(count)}" for count in (below, above) if count)
    reason = (
        "A powder packet is mixed whole: its ingredients separate on the way and the fine ones settle, so a part of it"
        " holds nobody knows how much of each."
    )
    return refused("packet.split", reason, *offers)


def split_variation(component_g: Decimal, grain_mg: Decimal, share: Decimal) -> Decimal:
    """Coefficient of variation in % of a component when a perfectly mixed packet is split: 100 sqrt((1-f)/(f N)).

    N = grains of the component. 2 g in 0.1 mg grains, halved: 0.7 %. So chance is not the danger; segregation is, and
    that has no bound. Valid for 0 < f <= 1. Source: binomial.
    """
    grains = component_g * 1000 / grain_mg
    return (100 * ((1 - share) / (share * grains)).sqrt()).quantize(Decimal("0.001"))


def _start_c(mixing: Mixing, hot_c: Decimal, cold_c: Decimal, *, kettle: bool, ice: bool) -> Decimal:
    """The middle of the window, or the nearest to it inside the window that the supply reaches."""
    middle = (mixing.start_low_c + mixing.start_high_c) / 2
    coldest = Decimal(0) if ice else min(hot_c, cold_c)
    hottest = Decimal(100) if kettle else max(hot_c, cold_c)
    reachable = min(max(middle, coldest), hottest)
    return min(max(reachable, mixing.start_low_c), mixing.start_high_c)


def _steps(mixing: Mixing, start_ml: Decimal, makes_ml: Decimal) -> tuple[str, ...]:
    first = f"Pour {start_ml:.0f} mL of water at {mixing.start_low_c}-{mixing.start_high_c} °C."
    parts = (f"Add {part}, stirring without a vortex, until all is dissolved." for part in mixing.order)
    cool = f"Let it come to {mixing.mark_c} °C, then add water to the {makes_ml:.0f} mL mark and stir."
    rest = f"Let it rest {mixing.rest_hours} hours before it is used." if mixing.rest_hours else ""
    return tuple(step for step in (first, *parts, cool, rest) if step)


def _mark(makes_ml: Decimal, mixing: Mixing, room_c: Decimal) -> str:
    """Why the mark is read cold, in millilitres of this batch."""
    hot = short_of_mark(mixing.start_low_c, mixing.mark_c)
    note = f"Water TO {makes_ml:.0f} mL, not {makes_ml:.0f} mL of water."
    if hot >= _VISIBLE:
        note += (
            f" Filled to the mark at {mixing.start_low_c} °C it would be {hot * makes_ml:.0f} mL ({hot * 100:.1f} %)"
            f" short at {mixing.mark_c} °C."
        )
    room = short_of_mark(room_c, mixing.mark_c)
    if abs(room) >= _VISIBLE:
        note += f" At this room's {room_c} °C the mark is {abs(room) * 100:.1f} % {'short' if room > 0 else 'over'}."
    return note


def _warnings(rules: Rules, mixing: Mixing, makes_ml: Decimal) -> tuple[str, ...]:
    start_ml = makes_ml * mixing.start_fraction
    found = []
    for part in rules.composition:
        grams = part.g_per_l * makes_ml / 1000
        fit = dissolves(part.cas, grams, start_ml, mixing.start_low_c)
        if not fit.ok:
            found.append(f"{fit.reason} {'; or '.join(fit.offers)}.")
        change = temperature_change(part.cas, grams, start_ml)
        if abs(change) >= 3:
            found.append(f"{part.name} {'warms' if change > 0 else 'cools'} the water by about {abs(change):.0f} °C.")
    return tuple(found)


def _count(packets: int) -> str:
    return "1 whole packet" if packets == 1 else f"{packets} whole packets"
