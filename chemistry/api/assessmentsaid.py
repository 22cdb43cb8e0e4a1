"""The words that go with every assessment: rule, assumptions, cautions and sources."""

from typing import Any

from chemistry.science import air, bleach, discharge, neutralisation, oxygendemand, silverworth
from chemistry.science.caution import Caution
from chemistry.science.reaction import REACTIONS

COMPUTED = "computed, not measured"
PREVAILS = (
    "Computed, not measured. The suppliers' safety data sheets, the waste contractor's word, the permit and local law"
    " prevail; treating waste may need a permit of its own."
)
_STAFF = "ask whoever answers for the waste here, and the waste contractor"
_MASSES = {"of": "molar masses", "source": "sum of atomic weights", "status": "computed"}
_ACIDS = {"of": "dissociation constants", "source": "textbook values at 25 °C", "status": "from memory"}
MIXING = Caution(
    "Mixing wastes can give off gas and heat at once: chlorine, chloramines, sulfur dioxide, ammonia.",
    "Do not mix to try it out. Keep each liquid in its own container, lid on, fan on, goggles and gloves on.",
    _STAFF,
)
GAS = Caution(
    "Sulfur dioxide burns eyes and airways and can bring on asthma; foam throws acid about.",
    "Goggles, gloves, open window; small portions; leave if it smells sharp, and let nobody with asthma go back first.",
    _STAFF,
)
DRAIN = Caution(
    "What goes down a drain meets whatever else is in it, and kills in water at a few parts in a thousand million.",
    "Nothing goes down without the darkroom's drain rule, signed by whoever may allow it. Thinning is no permit.",
    _STAFF,
)
SILVERED = Caution(
    "Spent fixer holds silver and often ammonium: bleach, strong alkali or acid in it give off toxic gas.",
    "Leave recovery to somebody licensed; steel wool in acid fixer gives off hydrogen, so it is never shut in.",
    _STAFF,
)


def _answer(rule: str, assumed: tuple[str, ...], caution: Caution, *sources: dict[str, str]) -> dict[str, Any]:
    return {
        "basis": COMPUTED,
        "rule": rule,
        "assumptions": list(assumed),
        "cautions": [caution],
        "sources": list(sources),
        "prevails": PREVAILS,
    }


PH_WINDOW = {
    "bleach_lowest": bleach.LOWEST_BLEACH_PH,
    "sulfite_lowest": bleach.LOWEST_SULFITE_PH,
    "sulfite_alarm": bleach.ALARM_SULFITE_PH,
}
BLEACH_DONE = (
    "If it has been poured: step back, air the room, keep the lid off so that no pressure builds up, and add nothing.",
    "If it smells of swimming baths or burns the eyes, leave, keep others out and call the emergency number.",
    "Write it down as an incident: what, how much of each, when, which container, who was there.",
)
BLEACH = _answer(
    f"{REACTIONS['sulfite'].words} first; then {REACTIONS['thiosulfate'].words}; then one hypochlorite to each molecule"
    " of developing agent; rise = heat / (3.80 kJ/(kg K) x mass)",
    (
        "Bleach poured slowly into a stirred bath; the other way about the developing agents go first.",
        f"Density of the bath {bleach.BATH_DENSITY} kg/L; no heat lost; bleach as strong as its label says.",
        "Oxidation to quinones only: to carbon dioxide takes some 13 to 16 times as much and is not reached.",
    ),
    MIXING,
    _MASSES,
    {"of": "heat", "source": "enthalpies of formation of ions, CRC table, by Hess's law", "status": "read"},
    {"of": "heat of oxidising the agents", "source": "estimate, 15 kJ/mol either way", "status": "from memory"},
    {"of": "bleach density, rates, chlorine over bleach", "source": "textbook values", "status": "from memory"},
)
NEUTRALISED = _answer(
    "grams = moles of acid x share x molar mass / moles of acid that one mole takes; carbon dioxide at 24.465 L/mol",
    (
        *neutralisation.NOT_COUNTED,
        "A neutralised stop bath is still waste: where silver or chromium was carried into it, it is hazardous.",
    ),
    GAS,
    _MASSES,
    _ACIDS,
    {"of": "heat", "source": "enthalpies of formation, CRC and NBS tables", "status": "read and from memory"},
)
OXYGEN = _answer(
    "moles of O2 for CaHbNdOc = a + (b - 3d)/4 - c/2; half a mole for sulfite, two for thiosulfate",
    (*oxygendemand.ASSUMED, "Limits elsewhere are examples in stored copies; the site's own limit is what counts."),
    DRAIN,
    _MASSES,
    {"of": "limits elsewhere", "source": "a town by-law and a sample consent, stored copies", "status": "read"},
)
SILVER = _answer(
    "grams = roll units x 0.0516 m² x coated g/m² x share dissolved; a container by what was poured into it",
    (*silverworth.NOTES, "Nine tenths are taken to be recovered; metal exchange and current reach that, not always."),
    SILVERED,
    {"of": "coated silver", "source": "trade figures for film", "status": "from memory"},
    {"of": "share dissolved", "source": "a pollution-prevention sheet for photographic processors", "status": "read"},
    {"of": "D011", "source": "40 CFR 261.24, 5.0 mg/L; number of the code from memory", "status": "read"},
)


def soured(found: neutralisation.Soured, others: str) -> dict[str, Any]:
    """Return verdict and words of acid in a sulfite bath: it is never let pass, only less or more dangerous."""
    more = (f"Also in the stop bath and not balanced: {others}; there may be more gas.",) if others else ()
    low = "it smells sharp at once" if found.fumes.ph < neutralisation.DEVELOPER_ALARM_PH else "it may smell"
    told = f"The pH falls to {found.fumes.ph}, and {low}." if not found.safe else f"The pH stays at {found.fumes.ph}."
    return _answer(
        "pH where Na + H = HSO3 + 2 SO3 + acetate + OH; SO2 over it = dissolved SO2 / 1.23 mol/(L atm)",
        (*more, *air.EQUILIBRIUM), GAS, _MASSES, _ACIDS,
    ) | {
        "verdict": "keep_apart" if found.safe else "never",
        "words": f"{told} Developer and stop bath go into containers of their own, however little gas is reckoned.",
    }  # fmt: skip


def discharged(found: discharge.Discharge, *, ruled: bool) -> dict[str, Any]:
    """Return verdict and words of a discharge; a figure within every threshold known allows nothing by itself."""
    over = sorted({each.threshold.name for each in found.against if each.over})
    told = [f"Over a threshold: {', '.join(over)}." if over else "Within every threshold known here.", found.ph_words]
    told += ["This is a sum and allows nothing: the darkroom's drain rule does."]
    told += [] if ruled else ["No drain rule is in force, so nothing goes down: use the waste container."]
    rule = "after = before x litres / (litres + water); dilution needed = before / threshold"
    return _answer(
        rule, ("As mixed: what the bath has done since, and what is already in the sewer, is not counted.",), DRAIN,
        {"of": "thresholds", "source": "each row names its own", "status": "read, computed or told by this darkroom"},
    ) | {
        "verdict": "over" if found.over else "within_what_is_known",
        "words": " ".join(each for each in told if each),
    }  # fmt: skip
