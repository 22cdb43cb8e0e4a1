"""The floor of words and gloves that no calculation lowers: from kind, composition and form alone."""

from dataclasses import dataclass

from chemistry.science.formula import Form, Kind, Rules

METOL, HYDROQUINONE = "55-55-0", "123-31-9"
SENSITISERS = {METOL: "metol", HYDROQUINONE: "hydroquinone"}
# Reproductive or germ-cell statements: hydroquinone (H341) and the borates (H360FD), EU harmonised list, from memory.
ASK_PREMIXED = {
    HYDROQUINONE: "hydroquinone",
    "1303-96-4": "borax",
    "12179-04-3": "borax",
    "1330-43-4": "borax",
    "10043-35-3": "boric acid",
    "1303-86-2": "boric oxide",
    "7775-19-1": "sodium metaborate",
    "10555-76-7": "sodium metaborate",
}
GLOVED = {
    Kind.DEVELOPER,
    Kind.REPLENISHER,
    Kind.TONER,
    Kind.BLEACH,
    Kind.BLEACH_FIX,
    Kind.STABILISER,
}
_STAFF = "ask the technician or the instructor"


@dataclass(frozen=True)
class Caution:
    """What it can do, what to do about it, and whom to ask."""

    hazard: str
    precaution: str
    ask: str


def handling(rules: Rules, form: Form) -> tuple[Caution, ...]:
    """The floor for handling this formula in this form, at any strength; see ``floor``."""
    return floor(rules.kind, {part.cas for part in rules.composition}, form)


def floor(kind: Kind, present: set[str], form: Form) -> tuple[Caution, ...]:
    """The floor for handling a kind of bath in a form, at any strength; the last line says what prevails over it.

    ``present`` holds CAS numbers. It never depends on concentration, so a weak dilution keeps every line. Source:
    common practice in school darkrooms; statements of metol, hydroquinone and borates from memory of the EU list.
    """
    found = [*_touch(kind), *allergy(present)]
    if form is Form.POWDER:
        found.append(
            Caution(
                "Dust gets into nose, eyes and lungs.",
                "Wear a dust respirator as the supplier's sheet says; pour low and slowly with the fan on; wipe wet.",
                "only people signed off for powder; " + _STAFF,
            )
        )
        found.extend(_premixed(present))
    if kind is Kind.STOP_BATH:
        found.append(_ACID)
    found.append(PREVAILS)
    return tuple(found)


# What prevails over every floor: its last line.
PREVAILS = Caution(
    "These lines are customary and calculated, not tested.",
    "The supplier's safety data sheet and the local rules prevail.",
    "the darkroom's own assessment; " + _STAFF,
)


_ACID = Caution(
    "Undiluted acid burns skin and eyes, and spits when water is poured into it.",
    "Wear eye protection and gloves; pour the acid into the water, never the water into the acid.",
    _STAFF,
)


def _touch(kind: Kind) -> list[Caution]:
    if kind not in GLOVED:
        return []
    words = f"Touching or splashing {kind.value.replace('_', ' ')} harms skin and eyes."
    return [Caution(words, "Wear eye protection and gloves to pour or touch it; move prints with tongs.", _STAFF)]


def allergy(present: set[str]) -> list[Caution]:
    """The line on sensitisers where one of them is ``present``, by CAS number; none otherwise."""
    names = [name for cas, name in SENSITISERS.items() if cas in present]
    if not names:
        return []
    words = f"Contains {', '.join(names)}: may cause an allergic reaction."
    return [Caution(words, "Keep it off the skin at every strength; stop at the first rash.", _STAFF)]


def _premixed(present: set[str]) -> list[Caution]:
    names = sorted({name for cas, name in ASK_PREMIXED.items() if cas in present})
    if not names:
        return []
    words = f"The powder holds {', '.join(names)}: warnings about fertility, an unborn child or genetic defects."
    return [Caution(words, "Ask for pre-mixed; no reason need be given.", _STAFF)]
