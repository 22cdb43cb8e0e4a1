"""Substances and mixtures made for one test, in one line each."""

from decimal import Decimal
from fractions import Fraction

from chemistry.science.hazard.category import Endpoint, category
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.mixture import Mixture, Part, Ph, Point, Policy, Regime, Share
from chemistry.science.hazard.origin import How, Origin
from chemistry.science.hazard.substance import Band, Hazard, Substance, Toxicity
from chemistry.science.hazard.table import standard

HERE = Origin("made for a test", How.COMPUTED)
UN = Policy(Regime.UN_GHS)
BARE = Policy(gas_screen=False)
WATER = Substance("7732-18-5", "water")
HYDROQUINONE, METOL, SULFITE, BORAX = "123-31-9", "55-55-0", "7757-83-7", "1303-96-4"
BORIC_ACID, BORIC_OXIDE, HYDROXIDE, METABISULFITE = "10043-35-3", "1303-86-2", "1310-73-2", "7681-57-4"


def real(cas):
    return standard().substances[cas]


def substance(*classes, name="x", cas=None, bands=(), acute=(), **more):
    """Classes as 'Skin Corr. 1B' or ('Repr. 1B', 'H360D'); bands as (class, from, below); acute: (route, cat, ate)."""
    hazards = tuple(_hazard(each) for each in classes)
    own = tuple(
        Band(category(code), category(code).statement, Fraction(start), Fraction(end) if end else None, HERE)
        for code, start, end in bands
    )
    toxicity = tuple(_toxicity(*each) for each in acute)
    no_data = frozenset(Endpoint(each) for each in more.pop("no_data", ()))
    return Substance(cas or name, name, hazards=hazards, bands=own, toxicity=toxicity, no_data=no_data, **more)


def _hazard(given):
    code, statement = (given, "") if isinstance(given, str) else given
    known = category(code, statement)
    return Hazard(known, statement or known.statement, HERE)


def _toxicity(route, number, ate=None, minimum=False, harmonised=False):
    value = Fraction(str(ate)) if ate is not None else None
    return Toxicity(Endpoint(f"acute_{route}"), number, value, HERE, minimum, harmonised)


def share(kind, percent):
    return Share(real(kind) if isinstance(kind, str) else kind, Fraction(str(percent)))


def point(*pairs, solid=False, ph=None, policy=BARE):
    """A composition without ranges: (substance or CAS, % w/w) pairs; the order is the table's."""
    shares = sorted((share(*each) for each in pairs), key=lambda each: each.substance.cas)
    return Point(tuple(shares), solid, Decimal(str(ph)) if ph is not None else None, policy)


def codes(*pairs, **more):
    """The classes of a composition, such as {'Eye Dam. 1 H318'}."""
    return set(judge(point(*pairs, **more)).codes)


def given(endpoint, *pairs, **more):
    """The class of one endpoint, None without one."""
    found = [each.code for each in judge(point(*pairs, **more)).given if each.endpoint == endpoint]
    return found[0] if found else None


def supplements(*pairs, **more):
    return [each.code for each in judge(point(*pairs, **more)).supplements]


def mixture(*triples, solid=False, ph=None):
    """A mixture with ranges: (substance or CAS, low, high)."""
    parts = tuple(
        Part(real(kind) if isinstance(kind, str) else kind, Fraction(str(low)), Fraction(str(high)))
        for kind, low, high in triples
    )
    acidity = Ph(*(Decimal(str(each)) for each in ph)) if ph else None
    return Mixture(parts, solid, acidity)
