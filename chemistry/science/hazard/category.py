"""The hazard categories of CLP and UN GHS: how severe each is, its signal word, pictogram and statement."""

from dataclasses import dataclass
from enum import StrEnum


class Endpoint(StrEnum):
    """What is judged on its own: one class at most comes out of each."""

    OXIDISING = "oxidising"
    FLAMMABLE = "flammable"
    METALS = "metals"
    ACUTE_ORAL = "acute_oral"
    ACUTE_DERMAL = "acute_dermal"
    ACUTE_GAS = "acute_gas"
    ACUTE_VAPOUR = "acute_vapour"
    ACUTE_DUST = "acute_dust"
    SKIN = "skin"
    EYE = "eye"
    RESPIRATORY_SENSITISATION = "respiratory_sensitisation"
    SKIN_SENSITISATION = "skin_sensitisation"
    GERM_CELLS = "germ_cells"
    CANCER = "cancer"
    REPRODUCTION = "reproduction"
    LACTATION = "lactation"
    ORGAN_SINGLE = "organ_single"
    AIRWAYS = "airways"
    DROWSINESS = "drowsiness"
    ORGAN_REPEATED = "organ_repeated"
    AQUATIC_ACUTE = "aquatic_acute"
    AQUATIC_CHRONIC = "aquatic_chronic"


PHYSICAL = (Endpoint.OXIDISING, Endpoint.FLAMMABLE, Endpoint.METALS)
DANGER, WARNING = "Danger", "Warning"


@dataclass(frozen=True)
class Category:
    """One category; ``rank`` 1 is the worst of its endpoint. Empty signal or pictogram: it has none."""

    code: str
    endpoint: Endpoint
    rank: int
    signal: str
    pictogram: str
    statement: str


def _rows(endpoint: Endpoint, *rows: tuple[str, str, str, str]) -> tuple[Category, ...]:
    return tuple(
        Category(code, endpoint, rank, signal, pictogram, statement)
        for rank, (code, signal, pictogram, statement) in enumerate(rows, start=1)
    )


def _acute(endpoint: Endpoint, *statements: str) -> tuple[Category, ...]:
    skull, mark = "GHS06", "GHS07"
    looks = ((DANGER, skull), (DANGER, skull), (DANGER, skull), (WARNING, mark), (WARNING, ""))
    names = (f"Acute Tox. {number}" for number in range(1, 6))
    rows = ((name, *look, words) for name, look, words in zip(names, looks, statements, strict=True))
    return _rows(endpoint, *rows)


_INHALED = ("H330", "H330", "H331", "H332", "H333")
# Signal words, pictograms and statements: read in the open table of GHS statements of the chemistry databases;
# Category 5 is UN GHS only and from memory.
CATEGORIES: tuple[Category, ...] = (
    *_rows(
        Endpoint.OXIDISING,
        ("Ox. Liq. 1", DANGER, "GHS03", "H271"), ("Ox. Sol. 1", DANGER, "GHS03", "H271"),
        ("Ox. Liq. 2", DANGER, "GHS03", "H272"), ("Ox. Sol. 2", DANGER, "GHS03", "H272"),
        ("Ox. Liq. 3", WARNING, "GHS03", "H272"), ("Ox. Sol. 3", WARNING, "GHS03", "H272"),
    ),
    *_rows(Endpoint.FLAMMABLE, ("Flam. Liq. 3", WARNING, "GHS02", "H226")),
    *_rows(Endpoint.METALS, ("Met. Corr. 1", WARNING, "GHS05", "H290")),
    *_acute(Endpoint.ACUTE_ORAL, "H300", "H300", "H301", "H302", "H303"),
    *_acute(Endpoint.ACUTE_DERMAL, "H310", "H310", "H311", "H312", "H313"),
    *_acute(Endpoint.ACUTE_GAS, *_INHALED),
    *_acute(Endpoint.ACUTE_VAPOUR, *_INHALED),
    *_acute(Endpoint.ACUTE_DUST, *_INHALED),
    *_rows(
        Endpoint.SKIN,
        ("Skin Corr. 1A", DANGER, "GHS05", "H314"), ("Skin Corr. 1", DANGER, "GHS05", "H314"),
        ("Skin Corr. 1B", DANGER, "GHS05", "H314"), ("Skin Corr. 1C", DANGER, "GHS05", "H314"),
        ("Skin Irrit. 2", WARNING, "GHS07", "H315"),
    ),
    *_rows(Endpoint.EYE, ("Eye Dam. 1", DANGER, "GHS05", "H318"), ("Eye Irrit. 2", WARNING, "GHS07", "H319")),
    *_rows(
        Endpoint.RESPIRATORY_SENSITISATION,
        ("Resp. Sens. 1A", DANGER, "GHS08", "H334"), ("Resp. Sens. 1", DANGER, "GHS08", "H334"),
        ("Resp. Sens. 1B", DANGER, "GHS08", "H334"),
    ),
    *_rows(
        Endpoint.SKIN_SENSITISATION,
        ("Skin Sens. 1A", WARNING, "GHS07", "H317"), ("Skin Sens. 1", WARNING, "GHS07", "H317"),
        ("Skin Sens. 1B", WARNING, "GHS07", "H317"),
    ),
    *_rows(
        Endpoint.GERM_CELLS,
        ("Muta. 1A", DANGER, "GHS08", "H340"), ("Muta. 1B", DANGER, "GHS08", "H340"),
        ("Muta. 2", WARNING, "GHS08", "H341"),
    ),
    *_rows(
        Endpoint.CANCER,
        ("Carc. 1A", DANGER, "GHS08", "H350"), ("Carc. 1B", DANGER, "GHS08", "H350"),
        ("Carc. 2", WARNING, "GHS08", "H351"),
    ),
    *_rows(
        Endpoint.REPRODUCTION,
        ("Repr. 1A", DANGER, "GHS08", "H360"), ("Repr. 1B", DANGER, "GHS08", "H360"),
        ("Repr. 2", WARNING, "GHS08", "H361"),
    ),
    *_rows(Endpoint.LACTATION, ("Lact.", "", "", "H362")),
    *_rows(Endpoint.ORGAN_SINGLE, ("STOT SE 1", DANGER, "GHS08", "H370"), ("STOT SE 2", WARNING, "GHS08", "H371")),
    *_rows(Endpoint.AIRWAYS, ("STOT SE 3", WARNING, "GHS07", "H335")),
    *_rows(Endpoint.ORGAN_REPEATED, ("STOT RE 1", DANGER, "GHS08", "H372"), ("STOT RE 2", WARNING, "GHS08", "H373")),
    *_rows(Endpoint.AQUATIC_ACUTE, ("Aquatic Acute 1", WARNING, "GHS09", "H400")),
    *_rows(
        Endpoint.AQUATIC_CHRONIC,
        ("Aquatic Chronic 1", WARNING, "GHS09", "H410"), ("Aquatic Chronic 2", "", "GHS09", "H411"),
        ("Aquatic Chronic 3", "", "", "H412"), ("Aquatic Chronic 4", "", "", "H413"),
    ),
)  # fmt: skip
_DROWSY = Category("STOT SE 3", Endpoint.DROWSINESS, 1, WARNING, "GHS07", "H336")
_BY_ENDPOINT = {(each.endpoint, each.code): each for each in (*CATEGORIES, _DROWSY)}
_BY_CODE = {each.code: each for each in reversed(CATEGORIES)}


def category(code: str, statement: str = "") -> Category:
    """Return the category of a code; ``statement`` tells H335 from H336. KeyError for a code that is not kept here.

    'Acute Tox. n' needs its endpoint: see ``of``.
    """
    if code == "STOT SE 3" and statement == "H336":
        return _DROWSY
    return _BY_CODE[code]


def of(endpoint: Endpoint, code: str) -> Category:
    """Return the category of this code within one endpoint; KeyError when it has no such category."""
    return _BY_ENDPOINT[endpoint, code]


def is_known(code: str) -> bool:
    """Say whether a category code is kept here."""
    return code in _BY_CODE
