"""The words a waste container carries, by the country's rules, and the usual hazards of each kind of waste.

The hazards are those usual for the kind, not computed from what is in this container: common practice, no source.
"""

from dataclasses import dataclass
from datetime import date

from waste.science.stream import is_hazardous, title

US = "US"
HAZARDOUS, WASTE = "HAZARDOUS WASTE", "WASTE"
BASIS = "Usual hazards of this kind of waste, not tested; local law and the collector's advice prevail."
NOT_KNOWN = "Its hazards are not known here: treat it as hazardous."


@dataclass(frozen=True)
class Profile:
    """Usual hazards: signal word, pictograms, and what to say."""

    signal: str
    pictograms: tuple[str, ...]
    statements: tuple[str, ...]


_ALLERGY = "May cause an allergic skin reaction."
_EYES = "Irritates eyes and skin."
_RIVER = "Harms aquatic life with long lasting effects."
_SILVER = "Holds silver, toxic to aquatic life."
# Kind -> usual hazards at working strength and above. Source: common practice, no source; from memory.
PROFILES = {
    "bw-developer": Profile("Warning", ("GHS07", "GHS09"), (_ALLERGY, _EYES, _RIVER)),
    "colour-developer": Profile("Warning", ("GHS07", "GHS09"), (_ALLERGY, _EYES, _RIVER)),
    "stop-bath": Profile("Warning", ("GHS07",), (_EYES, "Acid: gives off gas with developer or fixer.")),
    "fixer": Profile("Warning", ("GHS07", "GHS09"), (_EYES, _SILVER, "Gives off gas with acid or hypochlorite.")),
    "rinse": Profile("Warning", ("GHS09",), (_SILVER,)),
    "ferricyanide-bleach": Profile("Warning", ("GHS07", "GHS09"), (_RIVER, "Acid can set a poisonous gas free.")),
    "dichromate-bleach": Profile(
        "Danger", ("GHS05", "GHS06", "GHS08", "GHS09"),
        ("May cause cancer and genetic defects.", "Burns skin and eyes.", "Toxic if swallowed or inhaled.", _RIVER),
    ),
    "bleach-fix": Profile("Warning", ("GHS07", "GHS09"), (_EYES, _SILVER)),
    "selenium-toner": Profile("Danger", ("GHS06", "GHS08", "GHS09"), ("Toxic if swallowed.", "Harms organs.", _RIVER)),
    "sulfide-toner": Profile("Danger", ("GHS05", "GHS09"), ("Burns skin and eyes.", "Acid sets a poisonous gas free.")),
    "stabiliser": Profile("Danger", ("GHS08", "GHS07"), ("May cause cancer (formaldehyde).", _ALLERGY)),
    "hypochlorite": Profile("Danger", ("GHS05", "GHS09"), ("Burns skin and eyes.", "Acid sets a poisonous gas free.")),
}  # fmt: skip
# Source: 40 CFR 262.16(b)(6), 262.15(a)(5): a characteristic is one way to name a hazard (read in secondary texts).
CHARACTERISTICS = {"D001": "Ignitable", "D002": "Corrosive", "D003": "Reactive"}


@dataclass(frozen=True)
class Words:
    """What the label says; ``lines`` are (text, bold)."""

    banner: str
    lines: tuple[tuple[str, bool], ...]
    signal: str
    pictograms: tuple[str, ...]
    statements: tuple[str, ...]
    basis: str = BASIS


def words(
    country: str, *, kind: str, list_code: str, us_codes: tuple[str, ...], began: date | None, location: str = ""
) -> Words:
    """Return a container's words. ``began`` is the day the first waste went in, None while it is empty.

    EU and UK: list code with its title and pictograms. Source: Directive 2008/98/EC Article 19(1), read: hazardous
    waste is labelled in storage by the standards in force; that these are CLP's, and the UK alike, from memory.
    US: the words "Hazardous Waste", an indication of the hazards, and the day accumulation began. Source: 40 CFR
    262.16(b)(6); at the place of generation a date is asked for only above 55 gallons, and does no harm.
    """
    profile = PROFILES.get(kind, Profile("", (), (NOT_KNOWN,)))
    hazardous = bool(us_codes) if country == US else is_hazardous(list_code)
    doubtful = kind not in PROFILES
    coded = _us_lines(us_codes) if country == US else _list_lines(list_code)
    since = f"{began.day} {began:%b %Y}" if began else "____________________"
    name = "Accumulation began" if country == US else "First filled"
    place = ((location, False),) if location else ()
    banner = HAZARDOUS if hazardous or doubtful else WASTE
    lines = (*coded, (f"{name}: {since}", True), *place)
    return Words(banner, lines, profile.signal, profile.pictograms, profile.statements)


def _list_lines(list_code: str) -> tuple[tuple[str, bool], ...]:
    if not list_code:
        return (("Waste code: ____________________", True),)
    return ((f"Waste code {list_code}", True), *(((title(list_code), False),) if title(list_code) else ()))


def _us_lines(codes: tuple[str, ...]) -> tuple[tuple[str, bool], ...]:
    if not codes:
        return (("Hazards: determine and write here ____________________", True),)
    kinds = dict.fromkeys(CHARACTERISTICS.get(each, "Toxic") for each in codes)
    return ((f"Hazards: {', '.join(kinds)} ({', '.join(codes)})", True),)
