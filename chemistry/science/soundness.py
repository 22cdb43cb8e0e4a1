"""What no formula may promise: limits for each figure, and figures that contradict each other."""

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise

from chemistry.science.dilution import NotADilution, parse
from chemistry.science.formula import Check, Form, Kind, ReuseTime, Rules, Temperature, TimeRule, Use

POWDER_TOPIC = "powder-handling"
Fault = tuple[str, str]
"""A JSON Pointer and what is wrong there."""

# (lowest, highest) of every figure, wide enough for any real bath: a slip of a decimal point falls outside.
LIMITS: dict[tuple[str, str], tuple[str, str]] = {
    ("Ingredient", "g_per_l"): ("0.001", "1500"),
    ("Capacity", "rolls_per_litre"): ("0.01", "500"),
    ("Capacity", "compensated"): ("0.01", "500"),
    ("ReuseTime", "per_roll_per_litre"): ("0", "1"),
    ("ReuseTime", "table"): ("0", "500"),
    ("Temperature", "per_degrees"): ("0.5", "20"),
    ("Temperature", "coefficient"): ("1", "10"),
    ("Temperature", "reference_c"): ("5", "60"),
    ("Temperature", "lowest_c"): ("5", "60"),
    ("Temperature", "highest_c"): ("5", "60"),
    ("TimeRule", "crowding"): ("0.5", "3"),
    ("TimeRule", "agitation"): ("0.2", "5"),
    ("TimeRule", "push"): ("0.2", "5"),
    ("TimeRule", "shortest_min"): ("0.25", "60"),
    ("Keeping", "full_months"): ("1", "120"),
    ("Keeping", "part_full_months"): ("1", "120"),
    ("Keeping", "tested_days"): ("1", "365"),
    ("Keeping", "diluted"): ("1", "8760"),
    ("Keeping", "tray_hours"): ("1", "336"),
    ("Mixing", "start_low_c"): ("5", "70"),
    ("Mixing", "start_high_c"): ("5", "70"),
    ("Mixing", "start_fraction"): ("0.1", "1"),
    ("Mixing", "rest_hours"): ("0", "168"),
    ("Mixing", "mark_c"): ("10", "30"),
    ("Replenishing", "ml_per_roll"): ("1", "1000"),
    ("Replenishing", "strip_days"): ("1", "90"),
    ("Testing", "density_tolerance"): ("0.01", "1"),
    ("Testing", "fail_ratio"): ("1.1", "10"),
    ("Testing", "highest_ph"): ("3", "9"),
    ("Rules", "minimum_stock_ml"): ("1", "2000"),
}
_CHECKS = {
    Kind.DEVELOPER: Check.CLIP,
    Kind.REPLENISHER: Check.CLIP,
    Kind.STOP_BATH: Check.STOP,
    Kind.FIXER: Check.CLEARING,
    Kind.BLEACH_FIX: Check.CLEARING,
}
_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_CAS = re.compile(r"([1-9][0-9]{1,6})-([0-9]{2})-([0-9])")
_STOPS = re.compile(r"[+-]?[1-9](?:\.[0-9]{1,2})?|0\.[1-9][0-9]?")


def faults(rules: Rules) -> Iterator[Fault]:
    """Yield every contradiction in a formula as (JSON Pointer, message); nothing where it is sound."""
    yield from _dilutions(rules)
    yield from _composition(rules)
    yield from _capacity(rules)
    yield from _keeping(rules)
    yield from _time(rules.time, rules.dilutions)
    yield from _mixing(rules)
    yield from _rest(rules)
    if rules.form is Form.POWDER and POWDER_TOPIC not in rules.required_topics:
        yield "/required_topics", f"a powder always asks for {POWDER_TOPIC}: its dust is the hazard"


def _dilutions(rules: Rules) -> Iterator[Fault]:
    if not rules.dilutions:
        yield "/dilutions", "name at least one, such as stock"
    for index, text in enumerate(rules.dilutions):
        try:
            canonical = str(parse(text))
        except NotADilution as fault:
            yield f"/dilutions/{index}", str(fault)
        else:
            if canonical != text:
                yield f"/dilutions/{index}", f"write it as {canonical}"
    yield from _repeated("/dilutions", rules.dilutions)


def _composition(rules: Rules) -> Iterator[Fault]:
    for index, each in enumerate(rules.composition):
        if not _is_cas(each.cas):
            yield f"/composition/{index}/cas", "not a CAS number: its check digit does not fit"
    yield from _repeated("/composition", [each.cas for each in rules.composition])


def _capacity(rules: Rules) -> Iterator[Fault]:
    for index, each in enumerate(rules.capacity):
        at = f"/capacity/{index}"
        if each.use is Use.FRESH:
            yield f"{at}/use", "a one-shot tank is judged by minimum_stock_ml, not by a capacity"
        if each.use is Use.REPLENISHED and rules.replenishing is None:
            yield f"{at}/use", "say under replenishing what is added for each roll"
        if each.dilution not in rules.dilutions:
            yield f"{at}/dilution", "not one of the formula's dilutions"
        if each.compensated is not None and each.compensated < each.rolls_per_litre:
            yield f"{at}/compensated", "below rolls_per_litre: longer times cannot lower a capacity"
    yield from _repeated("/capacity", [(each.material, each.use, each.dilution) for each in rules.capacity])


def _keeping(rules: Rules) -> Iterator[Fault]:
    keeping = rules.keeping
    full, part = keeping.full_months, keeping.part_full_months
    if full is not None and part is not None and part > full:
        yield "/keeping/part_full_months", "longer than full_months: air shortens a life"
    yield from _undiluted("/keeping/diluted", keeping.diluted, rules.dilutions)


def _time(time: TimeRule, dilutions: tuple[str, ...]) -> Iterator[Fault]:
    yield from _undiluted("/time/crowding", time.crowding, dilutions)
    for stops in time.push:
        if not _STOPS.fullmatch(stops):
            yield f"/time/push/{_token(stops)}", "name the stops as a plain number, such as 1 or -1"
    if time.reuse is not None:
        yield from _reuse(time.reuse)
    if time.temperature is not None:
        yield from _temperature(time.temperature)


def _reuse(reuse: ReuseTime) -> Iterator[Fault]:
    at = "/time/reuse"
    if reuse.shape not in {"linear", "compound", "table"}:
        yield f"{at}/shape", "one of linear, compound, table"
    if (reuse.shape == "table") is not bool(reuse.table):
        yield f"{at}/table", "rows belong to the shape table, and to no other"
    if reuse.shape == "table" and reuse.per_roll_per_litre:
        yield f"{at}/per_roll_per_litre", "a table says it all"
    for index, (_, factor) in enumerate(reuse.table):
        if not 1 <= factor <= 10:
            yield f"{at}/table/{index}/1", "a factor is 1 to 10: used developer is never faster"
    for index, (earlier, later) in enumerate(pairwise(reuse.table), start=1):
        if not (earlier[0] < later[0] and earlier[1] <= later[1]):
            yield f"{at}/table/{index}", "rows rise: more rolls, and no shorter time"


def _temperature(temperature: Temperature) -> Iterator[Fault]:
    at = "/time/temperature"
    if temperature.lowest_c >= temperature.highest_c:
        yield f"{at}/highest_c", "not above lowest_c"
    elif not temperature.lowest_c <= temperature.reference_c <= temperature.highest_c:
        yield f"{at}/reference_c", "outside the window it is the middle of"


def _mixing(rules: Rules) -> Iterator[Fault]:
    if rules.mixing is None:
        if rules.form is Form.POWDER:
            yield "/mixing", "a powder needs its mixing procedure"
    elif rules.mixing.start_low_c > rules.mixing.start_high_c:
        yield "/mixing/start_high_c", "below start_low_c"


def _rest(rules: Rules) -> Iterator[Fault]:
    testing = rules.testing
    if testing is not None and _CHECKS.get(rules.kind) is not testing.check:
        yield "/testing/check", f"not the check of a {rules.kind}"
    if testing is not None and testing.highest_ph is not None and testing.check is not Check.STOP:
        yield "/testing/highest_ph", "only a stop bath is judged by its pH"
    if rules.replenishing is not None and not _SLUG.fullmatch(rules.replenishing.replenisher):
        yield "/replenishing/replenisher", "the code of a formula, such as mq-borax-replenisher"
    for index, topic in enumerate(rules.required_topics):
        if not _SLUG.fullmatch(topic):
            yield f"/required_topics/{index}", "the code of a topic, such as powder-handling"
    yield from _repeated("/required_topics", rules.required_topics)


def _repeated(at: str, items: Iterable[object]) -> Iterator[Fault]:
    seen: set[object] = set()
    for index, each in enumerate(items):
        if each in seen:
            yield f"{at}/{index}", "named twice"
        seen.add(each)


def _undiluted(at: str, named: Iterable[str], dilutions: tuple[str, ...]) -> Iterator[Fault]:
    for each in named:
        if each not in dilutions:
            yield f"{at}/{_token(each)}", "not one of the formula's dilutions"


def _is_cas(text: str) -> bool:
    found = _CAS.fullmatch(text)
    if not found:
        return False
    digits = (found[1] + found[2])[::-1]
    return sum(weight * int(digit) for weight, digit in enumerate(digits, start=1)) % 10 == int(found[3])


def _token(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
