"""What must hold for any mixture: diluting never adds a class, order is nothing, the worst case is the worst."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.composition import Amount, Basis, Recipe
from chemistry.science.hazard.mixture import Mixture, Part, Point, Policy, Regime, Share
from chemistry.science.hazard.strength import at
from chemistry.science.hazard.table import standard
from tests.chemistry.science.hazard import made

INVENTED = [
    made.substance("Skin Corr. 1", name="corr"),
    made.substance("Skin Corr. 1C", name="corr-c"),
    made.substance("Skin Corr. 1B", name="alone", non_additive=True),
    made.substance("Resp. Sens. 1A", name="asthma"),
    made.substance("Lact.", ("STOT SE 3", "H336"), "STOT SE 1", name="organs"),
    made.substance(name="dark", no_data=("acute_oral", "acute_dust", "skin")),
    made.substance(name="poison", acute=(("oral", 1), ("dermal", 2), ("dust", 1), ("vapour", 3))),
    made.substance(name="mild", acute=(("oral", None, 3000), ("dermal", None, 1500))),
    made.substance("Aquatic Chronic 3", "Aquatic Acute 1", name="fish", m_acute=Fraction(1000)),
    made.substance("Aquatic Chronic 4", name="pond"),
    made.substance(("Repr. 2", "H361d"), "Muta. 1A", name="birth"),
]
KINDS = [*standard().substances.values(), *INVENTED]
GRAIN = 10**4


@st.composite
def compositions(draw, most=6):
    """Different substances and shares in ten-thousandths of a percent that add up to at most 100 %."""
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=most, unique=True))
    sizes = st.sampled_from([10, 100, 1000, 5000, 10**4, 3 * 10**4, 10**5, 3 * 10**5])
    left, pairs = 100 * GRAIN, []
    for kind in kinds:
        share = min(draw(st.integers(1, draw(sizes))), left)
        left -= share
        if share:
            pairs.append(Share(kind, Fraction(share, GRAIN)))
    return tuple(pairs)


policies = st.sampled_from([Policy(), Policy(Regime.UN_GHS)])


def ordered(shares):
    return tuple(sorted(shares, key=lambda each: each.substance.cas))


def ranks(point):
    return {each.endpoint: each.rank for each in judge(point).given}


def assert_no_worse(milder, harsher):
    for endpoint, rank in milder.items():
        assert endpoint in harsher, f"{endpoint} is new"
        assert rank >= harsher[endpoint], f"{endpoint} got worse"


@given(compositions(), st.booleans(), policies, st.fractions(0, 1).filter(bool))
@settings(max_examples=400)
def test_diluting_never_adds_or_worsens_a_class(shares, solid, policy, left):
    thinner = tuple(Share(each.substance, each.percent * left) for each in ordered(shares))
    before, after = Point(ordered(shares), solid, None, policy), Point(thinner, solid, None, policy)
    assert_no_worse(ranks(after), ranks(before))


@given(compositions(), st.booleans(), policies, st.integers(1, 10**6))
@settings(max_examples=200)
def test_adding_an_unclassified_solvent_never_raises_a_category(shares, solid, policy, grams):
    """100 g of the mixture and so many milligrams of water."""
    left = Fraction(100 * 1000, 100 * 1000 + grams)
    thinner = [Share(each.substance, each.percent * left) for each in shares]
    solvent = Share(made.substance(name="solvent"), 100 - 100 * left)
    before = ranks(Point(ordered(shares), solid, None, policy))
    assert_no_worse(ranks(Point(ordered([*thinner, solvent]), solid, None, policy)), before)


@given(compositions(), st.booleans(), policies, st.randoms(use_true_random=False))
@settings(max_examples=200)
def test_the_order_of_ingredients_is_irrelevant(shares, solid, policy, random):
    parts = [Part(each.substance, each.percent, each.percent) for each in shares]
    shuffled = list(parts)
    random.shuffle(shuffled)
    first, second = (Mixture(tuple(each), solid) for each in (parts, shuffled))
    assert judge(first.worst(policy)) == judge(second.worst(policy))
    raw = Point(tuple(shares), solid, None, policy)
    turned = Point(tuple(reversed(shares)), solid, None, policy)
    assert ranks(raw) == ranks(turned)


@st.composite
def ranges_with_a_point(draw):
    """A mixture with ranges and one composition inside all of them, both at most 100 %."""
    inside = draw(compositions())
    parts = []
    for each in inside:
        low = each.percent * draw(st.fractions(0, 1))
        high = min(each.percent * (1 + 9 * draw(st.fractions(0, 1))), Fraction(100))
        parts.append(Part(each.substance, low, high))
    return Mixture(tuple(parts), draw(st.booleans())), inside


@given(ranges_with_a_point(), policies)
@settings(max_examples=400)
def test_the_worst_case_is_never_milder_and_the_best_never_harsher_than_any_point_inside(pair, policy):
    mixture, inside = pair
    point = ranks(Point(ordered(inside), mixture.solid, None, policy))
    assert_no_worse(point, ranks(mixture.worst(policy)))
    assert_no_worse(ranks(mixture.best(policy)), point)


@given(compositions(most=4), st.decimals("0", "5", places=1).filter(bool), st.decimals("6", "50", places=1))
@settings(max_examples=100)
def test_a_weaker_dilution_of_a_recipe_never_adds_a_class(shares, strong, weak):
    """Grams per litre through the whole conversion, with a measured pH of the stock."""
    amounts = tuple(
        Amount(each.substance.cas, *(2 * [Decimal(each.percent.numerator) / Decimal(each.percent.denominator)]))
        for each in shares
        if each.substance.cas in standard().substances
    )
    if amounts:
        recipe = Recipe(amounts, Basis.G_PER_L, powder=False, ph=(("stock", Decimal("12.4")),))
        mixtures = [at(recipe, each, standard()) for each in ("stock", f"1+{strong}", f"1+{weak}")]
        found = [ranks(each.worst(Policy())) for each in mixtures]
        assert_no_worse(found[1], found[0])
        assert_no_worse(found[2], found[1])


def test_the_generator_reaches_every_endpoint():
    """A property nobody exercises proves nothing: each endpoint is classed by some substance at 100 %."""
    reached = set()
    for kind in KINDS:
        for solid in (True, False):
            reached |= set(ranks(Point((Share(kind, Fraction(100)),), solid, Decimal(12))))
    assert reached == set(Endpoint) - {Endpoint.ACUTE_GAS}


@pytest.mark.parametrize("policy", [Policy(), Policy(Regime.UN_GHS)])
def test_an_open_rest_makes_the_worst_case_worse(policy):
    toxic = made.substance(name="toxic", acute=(("oral", None, 1000),))
    known = made.mixture((toxic, 40, 40))
    recipe_rest = made.mixture((toxic, 40, 40), (made.substance(name="dark", no_data=("acute_oral",)), 60, 60))
    assert Endpoint.ACUTE_ORAL not in {e for e, r in ranks(known.worst(policy)).items() if r < 5}
    assert ranks(recipe_rest.worst(policy))[Endpoint.ACUTE_ORAL] == 4
