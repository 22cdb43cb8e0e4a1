"""The words of hazard, precautionary and supplementary statements."""

# Source: the statements of CLP Annexes III and IV; the H codes and classes read in an open table of the chemistry
# databases, the words from memory.
HAZARD = {
    "H226": "Flammable liquid and vapour.",
    "H271": "May cause fire or explosion; strong oxidiser.",
    "H272": "May intensify fire; oxidiser.",
    "H290": "May be corrosive to metals.",
    "H300": "Fatal if swallowed.",
    "H301": "Toxic if swallowed.",
    "H302": "Harmful if swallowed.",
    "H303": "May be harmful if swallowed.",
    "H310": "Fatal in contact with skin.",
    "H311": "Toxic in contact with skin.",
    "H312": "Harmful in contact with skin.",
    "H313": "May be harmful in contact with skin.",
    "H314": "Causes severe skin burns and eye damage.",
    "H315": "Causes skin irritation.",
    "H317": "May cause an allergic skin reaction.",
    "H318": "Causes serious eye damage.",
    "H319": "Causes serious eye irritation.",
    "H330": "Fatal if inhaled.",
    "H331": "Toxic if inhaled.",
    "H332": "Harmful if inhaled.",
    "H333": "May be harmful if inhaled.",
    "H334": "May cause allergy or asthma symptoms or breathing difficulties if inhaled.",
    "H335": "May cause respiratory irritation.",
    "H336": "May cause drowsiness or dizziness.",
    "H340": "May cause genetic defects.",
    "H341": "Suspected of causing genetic defects.",
    "H350": "May cause cancer.",
    "H350i": "May cause cancer by inhalation.",
    "H351": "Suspected of causing cancer.",
    "H360": "May damage fertility or the unborn child.",
    "H360F": "May damage fertility.",
    "H360D": "May damage the unborn child.",
    "H360FD": "May damage fertility. May damage the unborn child.",
    "H360Fd": "May damage fertility. Suspected of damaging the unborn child.",
    "H360Df": "May damage the unborn child. Suspected of damaging fertility.",
    "H361": "Suspected of damaging fertility or the unborn child.",
    "H361f": "Suspected of damaging fertility.",
    "H361d": "Suspected of damaging the unborn child.",
    "H361fd": "Suspected of damaging fertility. Suspected of damaging the unborn child.",
    "H362": "May cause harm to breast-fed children.",
    "H370": "Causes damage to organs.",
    "H371": "May cause damage to organs.",
    "H372": "Causes damage to organs through prolonged or repeated exposure.",
    "H373": "May cause damage to organs through prolonged or repeated exposure.",
    "H400": "Very toxic to aquatic life.",
    "H410": "Very toxic to aquatic life with long lasting effects.",
    "H411": "Toxic to aquatic life with long lasting effects.",
    "H412": "Harmful to aquatic life with long lasting effects.",
    "H413": "May cause long lasting harmful effects to aquatic life.",
}
PRECAUTION = {
    "P201": "Obtain special instructions before use.",
    "P210": "Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.",
    "P220": "Keep away from clothing and other combustible materials.",
    "P260": "Do not breathe dust, mist or vapours.",
    "P261": "Avoid breathing dust, mist or vapours.",
    "P273": "Avoid release to the environment.",
    "P280": "Wear protective gloves and eye protection.",
    "P284": "Wear respiratory protection.",
    "P301+P310": "IF SWALLOWED: Immediately call a poison centre or a doctor.",
    "P301+P312": "IF SWALLOWED: Call a poison centre or a doctor if you feel unwell.",
    "P302+P352": "IF ON SKIN: Wash with plenty of water.",
    "P303+P361+P353": "IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water.",
    "P304+P340": "IF INHALED: Remove person to fresh air and keep comfortable for breathing.",
    "P305+P351+P338": (
        "IF IN EYES: Rinse cautiously with water for several minutes."
        " Remove contact lenses, if present and easy to do. Continue rinsing."
    ),
    "P308+P313": "IF exposed or concerned: Get medical advice.",
    "P310": "Immediately call a poison centre or a doctor.",
    "P333+P313": "If skin irritation or rash occurs: Get medical advice.",
    "P390": "Absorb spillage to prevent material damage.",
    "P501": "Dispose of contents and container through the darkroom's waste stream.",
}
_POISON, _SKIN, _EYES = "P301+P310", "P302+P352", "P305+P351+P338"
_CMR = ("P201", "P280", "P308+P313")
# Which precautions a statement asks for at a bench. Source: CLP Annex IV, from memory, narrowed to bench work.
ASKED_BY: dict[str, tuple[str, ...]] = {
    "H226": ("P210",), "H271": ("P210", "P220"), "H272": ("P210", "P220"), "H290": ("P390",),
    "H300": (_POISON,), "H301": (_POISON,), "H302": ("P301+P312",),
    "H310": ("P280", _SKIN, "P310"), "H311": ("P280", _SKIN), "H312": ("P280", _SKIN),
    "H314": ("P260", "P280", "P303+P361+P353", _EYES, "P310"),
    "H315": ("P280", _SKIN), "H317": ("P261", "P280", _SKIN, "P333+P313"),
    "H318": ("P280", _EYES, "P310"), "H319": ("P280", _EYES),
    "H330": ("P260", "P284", "P304+P340", "P310"), "H331": ("P261", "P304+P340"), "H332": ("P261", "P304+P340"),
    "H334": ("P261", "P284", "P304+P340"), "H335": ("P261", "P304+P340"), "H336": ("P261", "P304+P340"),
    "H340": _CMR, "H341": _CMR, "H350": _CMR, "H351": _CMR, "H360": _CMR, "H361": _CMR,
    "H362": ("P260", "P308+P313"),
    "H370": ("P260", "P308+P313"), "H371": ("P260", "P308+P313"), "H372": ("P260",), "H373": ("P260",),
    "H400": ("P273", "P501"), "H410": ("P273", "P501"), "H411": ("P273", "P501"), "H412": ("P273", "P501"),
    "H413": ("P273", "P501"),
}  # fmt: skip
# The order in which a bench needs them when more than six are asked for. Source: a choice of this service.
ORDER = (
    "P280", _EYES, "P303+P361+P353", "P310", _POISON, "P260", "P284", "P201", _SKIN, "P333+P313", "P304+P340",
    "P261", "P308+P313", "P301+P312", "P273", "P210", "P220", "P501", "P390",
)  # fmt: skip
STRONGER = {"P261": "P260", _SKIN: "P303+P361+P353", "P301+P312": _POISON}
MOST = 6


def words(code: str) -> str:
    """Return the words of a hazard or precautionary statement; KeyError for one that is not kept here."""
    return HAZARD[code] if code.startswith("H") else PRECAUTION[code]


def precautions(statements: tuple[str, ...]) -> tuple[str, ...]:
    """Return at most six precautions for these hazard statements, a stronger one in place of a weaker.

    Source: CLP Article 28 (usually not more than six), from memory.
    """
    asked = {each for code in statements for each in ASKED_BY.get(code[:4], ())}
    kept = [each for each in ORDER if each in asked and STRONGER.get(each) not in asked]
    return tuple(kept[:MOST])
