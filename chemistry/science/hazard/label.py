"""Label elements from classes: signal word, pictograms by precedence, statements without what is said twice."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from chemistry.science.hazard import statement
from chemistry.science.hazard.category import DANGER, WARNING, Category, Endpoint, category, of
from chemistry.science.hazard.classify import Classification
from chemistry.science.hazard.trail import Supplement

SKULL, CORROSION, MARK = "GHS06", "GHS05", "GHS07"
IRRITANT = (Endpoint.SKIN, Endpoint.EYE)
SKIN_ALLERGY = Endpoint.SKIN_SENSITISATION
# (statement that stays, statement it makes needless). Source: CLP Article 27; H314 and H410 read, the rest by degree.
SAID = (
    ("H314", "H318"), ("H410", "H400"), ("H330", "H331"), ("H330", "H332"), ("H331", "H332"), ("H350", "H350i"),
)  # fmt: skip


class Classed(Protocol):
    """Anything with a class and its statement, such as a trail."""

    @property
    def code(self) -> str:
        """The category, such as 'Eye Dam. 1'."""
        ...

    @property
    def statement(self) -> str:
        """The statement, such as 'H318'."""
        ...

    @property
    def endpoint(self) -> Endpoint | None:
        """What is judged; needed for acute toxicity, whose categories differ by route only."""
        ...


@dataclass(frozen=True)
class Named:
    """A class by name, for labels that do not come out of a calculation."""

    code: str
    statement: str
    endpoint: Endpoint | None = None


@dataclass(frozen=True)
class Label:
    """What goes on the bottle; ``statements``, ``precautions`` and ``supplements`` are (code, words)."""

    signal: str
    pictograms: tuple[str, ...]
    statements: tuple[tuple[str, str], ...]
    precautions: tuple[tuple[str, str], ...]
    supplements: tuple[tuple[str, str], ...]


def elements(classes: Iterable[Classed], supplements: Iterable[Supplement] = ()) -> Label:
    """Return the label of these classes. Source: CLP Articles 20, 25, 26 and 27; precedence read in Article 26."""
    found = list(classes)
    rows = [_category(each) for each in found]
    codes = tuple(_kept({each.statement for each in found}))
    signals = {row.signal for row in rows}
    signal = DANGER if DANGER in signals else WARNING if WARNING in signals else ""
    return Label(
        signal, pictograms(rows),
        tuple((code, statement.words(code)) for code in codes),
        tuple((code, statement.words(code)) for code in statement.precautions(codes)),
        tuple((each.code, each.words) for each in supplements),
    )  # fmt: skip


def of_mixture(answer: Classification) -> Label:
    """Return the label of a classified mixture: the worst case is what it says."""
    return elements(answer.worst.given, answer.worst.supplements)


def pictograms(rows: Sequence[Category]) -> tuple[str, ...]:
    """Return the pictograms left by precedence: skull over mark; corrosion and asthma over the irritant's mark.

    Source: CLP Article 26(1) b, c and d, read.
    """
    all_of = {row.pictogram for row in rows if row.pictogram}
    asthma = any(row.endpoint is Endpoint.RESPIRATORY_SENSITISATION for row in rows)
    marked = [row for row in rows if row.pictogram == MARK]
    needed = [row for row in marked if not _covered(row, corrosion=CORROSION in all_of, asthma=asthma)]
    if SKULL in all_of or not needed:
        all_of.discard(MARK)
    return tuple(sorted(all_of))


def _covered(row: Category, *, corrosion: bool, asthma: bool) -> bool:
    if row.endpoint in IRRITANT:
        return corrosion or asthma
    return asthma and row.endpoint is SKIN_ALLERGY


def _kept(codes: set[str]) -> list[str]:
    needless = {less for more, less in SAID if more in codes}
    return sorted(codes - needless)


def _category(row: Classed) -> Category:
    if row.endpoint is not None:
        return of(row.endpoint, row.code)
    if row.code.startswith("Acute Tox."):
        routes = {"H30": Endpoint.ACUTE_ORAL, "H31": Endpoint.ACUTE_DERMAL, "H33": Endpoint.ACUTE_DUST}
        return of(routes[row.statement[:3]], row.code)
    return category(row.code, row.statement)
