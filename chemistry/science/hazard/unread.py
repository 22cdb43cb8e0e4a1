"""Every value about hazards with its source, and those nobody has read there, so that a person can go and read them."""

from chemistry.science import air
from chemistry.science.hazard import cell, limit, strength
from chemistry.science.hazard.cell import Cell
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.origin import UNREAD, How, Origin
from chemistry.science.hazard.table import Table, standard

_MEMORY = Origin("from memory", How.MEMORY)
# What stands in the rules as a table or as words and not as a limit of its own.
_IN_RULES = (
    ("M-factors", "acute: 1 for 0.1 to 1 mg/l, ten more for each decade below; only 0.002 and 0.9 mg/l were read"),
    ("skin corrosion", "1A before 1 before 1B before 1C in a mixture"),
    ("specific limits", "shares as fractions of their own limits add up to 1"),
    ("reproduction", "how the letters F and D of several ingredients are joined"),
    ("gas from acid", "one litre per kg, this service's own screen, is taken from test N.5 of the UN manual"),
    ("label", "the words of hazard and precautionary statements, which statement asks for which precaution"),
    ("label", "about six precautionary statements (CLP Article 28)"),
    ("acute toxicity", "UN GHS Category 5: its statements and signal word"),
    ("density", f"no darkroom concentrate is denser than {shown(strength.DENSEST)} kg/l"),
)


def stated(table: Table | None = None) -> list[Cell]:
    """Return every value with its source: substances, limits in air, limits of rules, constants."""
    return [
        *cell.every(table or standard()),
        *(Cell("rule", each.name, str(shown(each.value)), each.origin) for each in limit.ALL),
        *(Cell("rule", name, words, _MEMORY) for name, words in _IN_RULES),
        *(Cell("sulfur dioxide over a bath", name, str(value), _MEMORY) for name, value in air.FROM_MEMORY),
    ]


def unread(table: Table | None = None) -> list[Cell]:
    """Return every value from memory or from a weak copy only."""
    return [each for each in stated(table) if each.origin.how in UNREAD]
