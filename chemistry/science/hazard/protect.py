"""What to wear and what to be trained in, from hazard statements, over a floor that no calculation lowers."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum

from chemistry.science.caution import GLOVED
from chemistry.science.formula import Kind


class Activity(StrEnum):
    """The four ways a person meets a chemical. Each is judged by the form that is in hand then."""

    POWDER = "powder"
    MIXING = "mixing"
    USING = "using"
    DISPOSING = "disposing"


class Gear(StrEnum):
    """What a person wears or uses, in the order it is read out."""

    EYES = "eye protection"
    SHIELD = "face shield"
    GLOVES = "gloves"
    APRON = "apron"
    MASK = "dust respirator as the supplier's sheet says"
    EXTRACTION = "extraction running"
    TONGS = "tongs for prints"


@dataclass(frozen=True)
class Worn:
    """One piece of gear and why: statement codes, or 'floor' for what no calculation lowers."""

    gear: Gear
    because: tuple[str, ...]


@dataclass(frozen=True)
class Protection:
    """What one activity needs. ``words`` are sentences to show; ``topics`` are codes of training."""

    activity: Activity
    worn: tuple[Worn, ...]
    topics: tuple[str, ...]
    words: tuple[str, ...]


FLOOR = "floor"
ASK_PREMIXED = "Ask for pre-mixed; no reason need be given."
PREVAILS = "The supplier's sheet, section 8, and the darkroom's own assessment prevail."
_EYES = ("H314", "H318", "H319")
_BURNS = ("H314", "H318")
_SKIN = ("H310", "H311", "H312", "H314", "H315", "H317")
_LASTING = ("H340", "H341", "H350", "H351", "H360", "H361", "H362", "H370", "H371", "H372", "H373")
_BREATHED = ("H330", "H331", "H332", "H334", "H335", "H336", "EUH031", "EUH071")
_GERM_OR_BIRTH = ("H340", "H341", "H360", "H361", "H362")
_SPLASHED = (Activity.MIXING, Activity.DISPOSING)
_DUSTY = (Activity.POWDER, Activity.MIXING)


def protection(kind: Kind, activity: Activity, statements: Collection[str], *, from_powder: bool) -> Protection:
    """Return what one activity with this kind of bath needs, from the H and EUH codes of the form in hand.

    ``from_powder``: the bath is made up from a powder, so mixing is dusty too; pass the powder's codes along then.
    Floor: eye protection and gloves for developer, replenisher, toner, bleach and stabiliser, tongs for prints.
    Source: common practice, no source; the derivation from statements is this service's.
    """
    codes = set(statements)
    dusty = activity is Activity.POWDER or (from_powder and activity in _DUSTY)
    because: dict[Gear, tuple[str, ...]] = {}
    for gear, causes in (*_floor(kind, activity, dusty=dusty), *_derived(codes, activity)):
        because[gear] = (*because.get(gear, ()), *causes)
    worn = tuple(Worn(gear, because[gear]) for gear in Gear if because.get(gear))
    return Protection(activity, worn, _topics(codes, activity, dusty=dusty), _words(codes, dusty=dusty))


def _floor(kind: Kind, activity: Activity, *, dusty: bool) -> Iterable[tuple[Gear, tuple[str, ...]]]:
    if kind in GLOVED or dusty:
        yield Gear.EYES, (FLOOR,)
        yield Gear.GLOVES, (FLOOR,)
    if dusty:
        yield Gear.MASK, (FLOOR,)
        yield Gear.EXTRACTION, (FLOOR,)
    if activity is Activity.USING:
        yield Gear.TONGS, (FLOOR,)


def _derived(codes: Collection[str], activity: Activity) -> Iterable[tuple[Gear, tuple[str, ...]]]:
    yield Gear.EYES, _met(codes, _EYES)
    yield Gear.GLOVES, _met(codes, (*_SKIN, *_LASTING))
    yield Gear.EXTRACTION, _met(codes, _BREATHED)
    if activity in _SPLASHED:
        yield Gear.SHIELD, _met(codes, _BURNS)
        yield Gear.APRON, _met(codes, (*_SKIN, "H318"))


def _met(codes: Collection[str], wanted: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted(each for each in codes if each in wanted or each[:4] in wanted))


def _topics(codes: Collection[str], activity: Activity, *, dusty: bool) -> tuple[str, ...]:
    found = ["room-induction", "ppe"]
    if dusty:
        found.append("powder-handling")
    if _met(codes, _BURNS):
        found.append("corrosives")
    if _met(codes, ("EUH031", "EUH071", "H330", "H331")):
        found.append("toxic-gas")
    if activity is Activity.DISPOSING:
        found.append("waste")
    return tuple(found)


def _words(codes: Collection[str], *, dusty: bool) -> tuple[str, ...]:
    found = []
    if dusty and _met(codes, _GERM_OR_BIRTH):
        found.append(ASK_PREMIXED)
    if "EUH031" in codes:
        found.append("Keep acids away from it: contact sets free a toxic gas.")
    return (*found, PREVAILS)
