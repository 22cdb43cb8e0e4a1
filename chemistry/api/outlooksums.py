"""The plain sum behind each figure of an outlook, in words a person can check with pencil and paper."""

from collections.abc import Iterable

from accounts.models import Darkroom
from chemistry.commands.outlook import Outlook
from chemistry.science.forecast import LIKELY, SERVICE, Choice
from chemistry.science.formula import Form
from chemistry.science.outlook import Ahead


def sums(found: Outlook, room: Darkroom) -> dict[str, list[str]]:
    """Return the sums, and what is not known and therefore missing."""
    lines = list(_demand(found))
    if found.ahead is not None:
        lines += [*_runs_out(found.ahead, found), *_mix(found.ahead, found, room), *_order(found.ahead, found)]
    return {"sums": lines, "missing": list(_missing(found))}


def _demand(found: Outlook) -> Iterable[str]:
    counted = [each for each in found.weeks if not each.why]
    left_out: dict[str, int] = {}
    for each in found.weeks:
        if each.why:
            left_out[each.why] = left_out.get(each.why, 0) + 1
    aside = ", ".join(f"{number} for: {why}" for why, number in left_out.items()) or "none"
    total = sum(each.used_ml for each in counted)
    line = f"{len(found.weeks)} weeks back, left out {aside}; {len(counted)} counted, {total:.0f} mL of stock used."
    if found.demand:
        line += f" {total:.0f} / {len(counted)} = {found.demand.mean_ml:.0f} mL a week, spread"
        line += f" {found.demand.spread_ml:.0f} mL."
    yield line


def _runs_out(ahead: Ahead, found: Outlook) -> Iterable[str]:
    mean = found.demand.mean_ml if found.demand else 0
    for what, each in (("Released stock", ahead.released), ("Stock and what sealed packs give", ahead.with_packs)):
        if mean > 0:
            yield (
                f"{what}: {each.stock_ml:.0f} mL / {mean:.0f} mL = {each.stock_ml / mean:.1f} open weeks; the day given"
                f" counts breaks and use-by dates as well, the range holds {LIKELY:.0%}."
            )


def _mix(ahead: Ahead, found: Outlook, room: Darkroom) -> Iterable[str]:
    mix, mean = ahead.mix, found.demand.mean_ml if found.demand else 0
    if mean <= 0:
        return
    wait, verb = found.asked.mixing_weeks, "Mix" if found.rules.form is Form.POWDER else "Open the next"
    yield (
        f"{verb} at {mix.at_ml:.0f} mL: {mean:.0f} mL x {_weeks(wait)} of waiting = {mean * wait:.0f} mL, and"
        f" {mix.at_ml - mean * wait:.0f} mL so that {SERVICE:.0%} of waits have enough."
    )
    for each in mix.choices:
        yield _size(each, mix.life_weeks or 0, mean, room)


def _size(each: Choice, life: float, mean: float, room: Darkroom) -> str:
    words = (
        f"A packet for {each.size.makes_ml:.0f} mL lives {life:.1f} open weeks part-full; {life:.1f} x {mean:.0f} mL ="
        f" {life * mean:.0f} mL are wanted in them on average; with the spread of that, {each.used_ml:.0f} mL are"
        f" expected to be used and {each.lost_ml:.0f} mL poured away."
    )
    if each.minor_per_litre is None:
        return words + " Its price is not known."
    used = f"{each.size.minor:.0f} / {each.used_ml / 1000:.2f} L = {each.minor_per_litre:.0f}"
    return f"{words} {used} in the smallest unit of {room.currency} for each litre used."


def _order(ahead: Ahead, found: Outlook) -> Iterable[str]:
    order, mean = ahead.order, found.demand.mean_ml if found.demand else 0
    if mean <= 0:
        return
    term = found.asked.term_weeks
    yield (
        f"For {term} open weeks: {mean:.0f} mL x {term} = {mean * term:.0f} mL, and"
        f" {order.need_ml - mean * term:.0f} mL so that it is enough in {SERVICE:.0%} of terms; less"
        f" {order.usable_ml:.0f} mL usable of what there is = {order.amount_ml:.0f} mL to order."
    )
    wait = found.asked.delivery_weeks + found.asked.mixing_weeks
    yield (
        f"Order at {order.at_ml:.0f} mL: {mean:.0f} mL x {_weeks(wait)} until it is here and mixed ="
        f" {mean * wait:.0f} mL, and {order.at_ml - mean * wait:.0f} mL to be sure."
    )
    if order.size and order.amount_ml:
        yield (
            f"{order.amount_ml:.0f} mL / {order.each_ml:.0f} mL expected to be used of a packet for"
            f" {order.size.makes_ml:.0f} mL = {order.packs} packets."
        )
    yield f"Of what there is now, {ahead.lost_ml:.0f} mL are expected to reach their date unused."


def _weeks(number: int) -> str:
    return "1 week" if number == 1 else f"{number} weeks"


def _missing(found: Outlook) -> Iterable[str]:
    if found.demand is None:
        yield "Use in a week: at least two weeks of work have to be on record."
    elif found.demand.mean_ml == 0:
        yield "A day it runs out: none of it was used in the weeks counted."
    if found.supply.life_days is None:
        yield "How long a new packet lives: the formula promises no keeping time."
    if not found.supply.sizes:
        yield "The sizes to choose from: no pack of this formula was ever received."
    elif any(each.minor is None for each in found.supply.sizes):
        yield "A price: one of the sizes received has none."
    if found.supply.to_test_ml:
        yield f"What {found.supply.to_test_ml:.0f} mL that need a test first are worth: they are not counted."
