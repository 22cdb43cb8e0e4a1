"""Which chemistry to stock: the figures of one formula to set beside those of others, each with where it comes from.

No figure is an opinion and none is added to another: a reader weighs them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from chemistry.science import cost
from chemistry.science.dilution import STOCK, parse
from chemistry.science.formula import Capacity, Form, Rules, Use
from chemistry.science.hazard.protect import Protection
from chemistry.science.hazard.summary import Summary
from chemistry.science.load import words as rolls_words
from chemistry.science.reading import source_of

# Every figure in the order it is read, with the words of its row.
ROWS = {
    "cost_per_roll": "Cost per roll",
    "rolls_per_litre": "Rolls per litre",
    "counting": "How rolls are counted",
    "minimum_stock": "Least stock per roll",
    "keeping_sealed": "Keeping, sealed",
    "keeping_full": "Keeping, full and tight",
    "keeping_part_full": "Keeping, part-full",
    "keeping_diluted": "Keeping, diluted",
    "form": "Dust or liquid",
    "part": "A part measured out",
    "hazard": "Hazards",
    "protection": "Protection",
    "topic": "Training",
    "stream": "Waste stream",
    "drain": "The drain",
}
NO_SOURCE = "the formula names no source for it"
COUNTING = {
    Use.FRESH: "nothing is counted: the stock in the tank decides",
    Use.REUSE: "the rolls of one vessel are added up",
    Use.TRAY: "the sheets of one tray session are added up",
    Use.REPLENISHED: "nothing is added up: so much replenisher for each roll, and a control strip",
}


@dataclass(frozen=True)
class Figure:
    """One figure: of which row, at what strength or use, its value as text with its unit; None where ``missing``."""

    name: str
    at: str
    value: str | None
    unit: str
    trail: str
    missing: str = ""


@dataclass(frozen=True)
class Bought:
    """A pack as received; price in minor units."""

    makes_ml: Decimal
    minor: int
    received: date
    best_before: date | None


@dataclass(frozen=True)
class Subject:
    """One formula with all that is on record about it; ``protections`` are those of its stock."""

    rules: Rules
    sources: Mapping[str, str]
    currency: str
    packs: tuple[Bought, ...]
    hazards: tuple[Summary, ...]
    protections: tuple[Protection, ...]
    stream: str | None
    stream_here: bool
    drain: tuple[str | None, str, str]  # value, trail, missing


def figures(subject: Subject) -> tuple[Figure, ...]:
    """Return every figure of a formula, in the order of ``ROWS``; sums as in ``cost``, the rest is looked up."""
    parts = (_cost, _rolls, _counting, _least, _sealed, _keeping, _diluted, _form, _part, _hazards, _guarded, _waste)
    return tuple(figure for part in parts for figure in part(subject))


def _source(subject: Subject, pointer: str) -> str:
    return source_of(subject.sources, pointer) or NO_SOURCE


def _uses(each: Capacity) -> str:
    return f"{each.material}, {each.use}, {each.dilution}"


def _rates(subject: Subject) -> Iterator[tuple[str, Fraction, str]]:
    """Yield (use, rolls that a litre of stock does, where that comes from) of one-shot tanks and of counted baths."""
    least = subject.rules.minimum_stock_ml
    if least:
        source = _source(subject, "/minimum_stock_ml")
        yield "one-shot, any dilution", 1000 / Fraction(least), f"1000 mL / {least} mL of stock a roll: {source}"
    for number, each in enumerate(subject.rules.capacity):
        share, source = parse(each.dilution).stock_share, _source(subject, f"/capacity/{number}")
        for words, rolls in (("", each.rolls_per_litre), (", longer times", each.compensated)):
            if rolls:
                trail = f"{rolls} rolls a litre at {each.dilution}: {source}"
                yield _uses(each) + words, Fraction(rolls) / share, trail


def _cost(subject: Subject) -> Iterator[Figure]:
    """Yield the cost of a roll by use, from the latest price of the size that is cheapest by the litre."""
    unit = subject.currency
    latest = {each.makes_ml: each for each in sorted(subject.packs, key=lambda pack: pack.received) if each.minor}
    if not latest:
        yield Figure("cost_per_roll", "", None, unit, "", "No pack with a price was received.")
        return
    pack = min(latest.values(), key=lambda each: cost.per_litre(each.minor, each.makes_ml))
    paid = f"{cost.major(pack.minor, unit)} {unit} for {pack.makes_ml:f} mL, received {pack.received}"
    found = False
    for use, rolls, trail in _rates(subject):
        found = True
        minor = round(cost.per_litre(pack.minor, pack.makes_ml) / rolls)
        yield Figure("cost_per_roll", use, cost.major(minor, unit), unit, f"{paid}; {trail}")
    if not found:
        yield Figure("cost_per_roll", "", None, unit, paid, "The formula gives no rolls for a litre.")


def _rolls(subject: Subject) -> Iterator[Figure]:
    found = [
        Figure("rolls_per_litre", use, rolls_words(rolls), "roll units per litre of stock", trail)
        for use, rolls, trail in _rates(subject)
    ]
    yield from found or [
        Figure("rolls_per_litre", "", None, "roll units per litre of stock", "", "The formula gives no capacity.")
    ]


def _counting(subject: Subject) -> Iterator[Figure]:
    ways = [Use.FRESH] if subject.rules.minimum_stock_ml else []
    ways += [each for each in (Use.REUSE, Use.TRAY) if any(row.use is each for row in subject.rules.capacity)]
    ways += [Use.REPLENISHED] if subject.rules.replenishing else []
    for each in ways:
        longer = any(row.use is each and row.compensated for row in subject.rules.capacity)
        words = COUNTING[each] + (", and times may be lengthened for more" if longer else "")
        yield Figure("counting", "one-shot" if each is Use.FRESH else each.value, words, "", "how this service counts")
    if not ways:
        yield Figure("counting", "", None, "", "", "The formula gives no capacity.")


def _least(subject: Subject) -> Iterator[Figure]:
    least = subject.rules.minimum_stock_ml
    if least is None:
        yield Figure("minimum_stock", "", None, "mL", "", "The formula names none.")
    else:
        yield Figure("minimum_stock", "", f"{least:f}", "mL", _source(subject, "/minimum_stock_ml"))


def _sealed(subject: Subject) -> Iterator[Figure]:
    dated = [each for each in subject.packs if each.best_before]
    if not dated:
        yield Figure("keeping_sealed", "", None, "days", "", "No pack with a best-before date was received.")
        return
    pack = max(dated, key=lambda each: each.received)
    days = ((pack.best_before or pack.received) - pack.received).days
    trail = f"from {pack.received}, when the latest such pack came, to its best-before date {pack.best_before}"
    yield Figure("keeping_sealed", "", str(days), "days", trail)


def _keeping(subject: Subject) -> Iterator[Figure]:
    keeping = subject.rules.keeping
    for name, months in (("full", keeping.full_months), ("part_full", keeping.part_full_months)):
        value, missing = (None, "The formula promises none.") if months is None else (str(months), "")
        unit, trail = "month" if months == 1 else "months", _source(subject, f"/keeping/{name}_months")
        yield Figure(f"keeping_{name}", STOCK, value, unit, trail, missing)


def _diluted(subject: Subject) -> Iterator[Figure]:
    kept = subject.rules.keeping.diluted
    for each in subject.rules.dilutions:
        if each != STOCK:
            hours = kept.get(each)
            value = "nothing promised: use it at once" if hours is None else str(hours)
            unit = "" if hours is None else "hours"
            yield Figure("keeping_diluted", each, value, unit, _source(subject, f"/keeping/diluted/{each}"))


def _form(subject: Subject) -> Iterator[Figure]:
    words = "powder: dust when a packet is opened" if subject.rules.form is Form.POWDER else "liquid: no dust"
    yield Figure("form", "as received", words, "", "the formula's form")


def _part(subject: Subject) -> Iterator[Figure]:
    """Say whether a part can be taken: a powder of several substances is never alike in every spoonful."""
    rules = subject.rules
    if rules.form is Form.LIQUID:
        words, trail = "yes: a liquid is alike throughout", "the formula's form"
    elif rules.mixing is None:
        yield Figure("part", "", None, "", "", "The formula does not say how it is mixed.")
        return
    elif rules.mixing.whole_packet:
        words = "no: a powder of several substances is mixed whole"
        trail = _source(subject, "/mixing/whole_packet")
    else:
        words, trail = "yes: every part of it is alike", _source(subject, "/mixing/whole_packet")
    yield Figure("part", "", words, "", trail)


def _hazards(subject: Subject) -> Iterator[Figure]:
    for each in subject.hazards:
        found = ", ".join(each.classes) or ("" if each.unknowns else "no class")
        more = (" ".join(row).rstrip(".") for row in each.supplementary)
        said = "; ".join([*([found] if found else []), *more]) or None
        value = f"{each.signal}: {said}" if each.signal else said
        trail = "computed from the composition, calculated and not tested: " + _source(subject, "/composition")
        yield Figure("hazard", each.form, value, "", trail, " ".join(each.unknowns))


def _guarded(subject: Subject) -> Iterator[Figure]:
    trail = "the hazards at that strength over a floor no calculation lowers"
    for each in subject.protections:
        worn = ", ".join(one.gear.value for one in each.worn) or "nothing beyond the room's rules"
        yield Figure("protection", each.activity.value, worn, "", trail)
    if asked := ", ".join(subject.rules.required_topics):
        yield Figure("topic", "the formula", asked, "", "the formula's required topics")
    for each in subject.protections:
        yield Figure("topic", each.activity.value, ", ".join(each.topics), "", trail)


def _waste(subject: Subject) -> Iterator[Figure]:
    if subject.stream is None:
        missing = "Its kind does not tell which stream it belongs to: whoever pours says."
        yield Figure("stream", "", None, "", "", missing)
    else:
        lacking = "" if subject.stream_here else "This darkroom keeps no such stream yet."
        yield Figure("stream", "", subject.stream, "", "the formula's kind and process", lacking)
    value, *rest = subject.drain
    yield Figure("drain", "", value, "", *rest)
