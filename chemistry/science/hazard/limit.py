"""Every limit the rules compare with, in one place, each with the table it stands in and whether it was read there."""

from dataclasses import dataclass
from fractions import Fraction

from chemistry.science.hazard.origin import How, Origin


@dataclass(frozen=True)
class Limit:
    """A limit in percent by weight unless its name says otherwise; reached means classified (>=)."""

    name: str
    value: Fraction
    origin: Origin


_CANADA = "same numbers read in Canada's SOR/2015-17"


def _limit(name: str, value: str, title: str, how: How) -> Limit:
    return Limit(name, Fraction(value), Origin(title, how))


def _read(name: str, value: str, place: str) -> Limit:
    return _limit(name, value, f"CLP {place}", How.READ)


def _same(name: str, value: str, place: str, where: str = _CANADA) -> Limit:
    return _limit(name, value, f"CLP {place}; {where}", How.INDIRECT)


def _memory(name: str, value: str, place: str) -> Limit:
    return _limit(name, value, f"CLP {place}, from memory", How.MEMORY)


CUT_ACUTE_SEVERE = _memory("acute toxicity 1 to 3 counts from", "0.1", "Annex I Table 1.1")
CUT_ACUTE_4 = _memory("acute toxicity 4 counts from", "1", "Annex I Table 1.1")
CUT_SKIN_EYE = _memory("skin and eye classes count from", "1", "Annex I Table 1.1")
CUT_STOT_3 = _memory("STOT SE 3 counts from", "1", "Annex I Table 1.1")
CUT_AQUATIC_1 = _read("aquatic acute 1 and chronic 1 count from, divided by M", "0.1", "Annex I 4.1.3.1")
CUT_AQUATIC_LOWER = _read("aquatic chronic 2 to 4 count from", "1", "Annex I 4.1.3.1")

UNKNOWN_STATED = _read("unknown acute toxicity is stated from", "1", "Annex I 3.1.3.6.2")
UNKNOWN_CORRECTED = _same("unknown share that corrects the sum is above", "10", "Annex I 3.1.3.6.2.3")

SKIN_CORROSIVE = _same("skin corrosive, sum", "5", "Annex I Table 3.2.3")
SKIN_CORROSIVE_IRRITATES = _same("skin corrosive as irritant, sum", "1", "Annex I Table 3.2.3")
SKIN_IRRITANT = _same("skin irritant, sum", "10", "Annex I Table 3.2.3")
SKIN_ALONE_CORROSIVE = _same("skin corrosive, not additive", "1", "Annex I Table 3.2.4")
SKIN_ALONE_IRRITANT = _same("skin irritant, not additive", "3", "Annex I Table 3.2.4")
EYE_DAMAGING = _same("eye damaging, sum", "3", "Annex I Table 3.3.3")
EYE_DAMAGING_IRRITATES = _same("eye damaging as irritant, sum", "1", "Annex I Table 3.3.3")
EYE_IRRITANT = _same("eye irritant, sum", "10", "Annex I Table 3.3.3")
EYE_ALONE_DAMAGING = _same("eye damaging, not additive", "1", "Annex I Table 3.3.4")
EYE_ALONE_IRRITANT = _same("eye irritant, not additive", "3", "Annex I Table 3.3.4")
PH_ACID = _read("extreme pH, at or below", "2", "Annex I 3.2.3.1.2")
PH_BASE = _read("extreme pH, at or above", "11.5", "Annex I 3.2.3.1.2")

_ELICITS = "the same numbers through Annex II 2.10"
RESPIRATORY_1 = _memory("respiratory sensitiser 1", "1", "Annex I Table 3.4.5")
RESPIRATORY_1A = _same("respiratory sensitiser 1A", "0.1", "Annex I Table 3.4.5")
RESPIRATORY_1B = _same("respiratory sensitiser 1B", "1", "Annex I Table 3.4.5")
SKIN_SENSITISER_1 = _memory("skin sensitiser 1", "1", "Annex I Table 3.4.5")
SKIN_SENSITISER_1A = _same("skin sensitiser 1A", "0.1", "Annex I Table 3.4.5")
SKIN_SENSITISER_1B = _same("skin sensitiser 1B", "1", "Annex I Table 3.4.5")
ELICITS = _same("sensitiser 1 or 1B named on the label from", "0.1", "Annex I Table 3.4.6", _ELICITS)
ELICITS_1A = _same("sensitiser 1A named on the label from", "0.01", "Annex I Table 3.4.6", _ELICITS)

MUTAGEN_1 = _read("germ cell mutagen 1A or 1B", "0.1", "Annex I Table 3.5.2")
MUTAGEN_2 = _read("germ cell mutagen 2", "1", "Annex I Table 3.5.2")
CARCINOGEN_1 = _read("carcinogen 1A or 1B", "0.1", "Annex I Table 3.6.2")
CARCINOGEN_2 = _read("carcinogen 2", "1", "Annex I Table 3.6.2")
REPRODUCTION_1 = _read("reproductive toxicant 1A or 1B", "0.3", "Annex I Table 3.7.2")
REPRODUCTION_2 = _read("reproductive toxicant 2", "3", "Annex I Table 3.7.2")
LACTATION = _read("effects on or via lactation", "0.3", "Annex I Table 3.7.2")
BORON = _read("boron compounds together", "0.3", "Annex VI Note 11, Regulation (EU) 2023/1434, from 1 Feb 2025")

ORGAN_FULL = _read("STOT 1 or 2 keeps its category from", "10", "Annex I Tables 3.8.3 and 3.9.4 (through TRGS 201)")
ORGAN_LOWER = _read("STOT 1 becomes STOT 2 from", "1", "Annex I Tables 3.8.3 and 3.9.4 (through TRGS 201)")
STOT_3 = _read("STOT SE 3, sum for each statement", "20", "Annex I Table 3.8.3 (through TRGS 201)")

_STEPS = "25 % and x 10 for each step read in New Zealand's guide, which is another law"
AQUATIC = _same("aquatic, sum", "25", "Annex I Tables 4.1.1 and 4.1.2", _STEPS)

SHEET_SENSITISER = _read("data sheet on request: sensitiser from", "0.1", "Annex II 2.10")
SHEET_CMR = _read("data sheet on request: Carc. 2, Repr. or lactation from", "0.1", "Annex II 2.10")
SHEET_OTHER = _read("data sheet on request: other health or environmental class from", "1", "Annex II 2.10")

GAS_LITRES = _limit(
    "litres of gas per kg at 20 °C that acid may set free", "1",
    "a screen of this service, after the litre per kg and hour of test N.5 for gas that water sets free (UN Manual of"
    " Tests and Criteria, from memory); the law has no general limit for EUH031", How.POLICY,
)  # fmt: skip
GAS_MOLAR_LITRES = _limit("litres per mole of gas at 20 °C", "24.06", "ideal gas law at 1 atm", How.COMPUTED)

_ASKED = "a rule of this service: below it the question is not put"
METALS_ASKED = _limit("corrosive to metals is asked from", "0.5", _ASKED, How.POLICY)
FLAMMABLE_ASKED = _limit("flammable liquid is asked from", "25", _ASKED, How.POLICY)
OXIDISING_ASKED = _limit("oxidising powder is asked from", "1", _ASKED, How.POLICY)
NO_DATA_ASKED = _limit("an ingredient without data is named from", "0.01", _ASKED, How.POLICY)

ALL = tuple(each for each in tuple(globals().values()) if isinstance(each, Limit))
