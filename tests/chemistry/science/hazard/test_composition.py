"""Compositions in three bases, from powder to stock to 1+n, and every fault by its name."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science.hazard import assess, composition, strength
from chemistry.science.hazard.composition import Amount, Basis, Recipe, exact
from chemistry.science.hazard.dissolving import dissolve
from chemistry.science.hazard.fault import Faulty
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.mixture import UNNAMED, Ph, Policy, Rest
from chemistry.science.hazard.table import standard
from tests.chemistry.science.hazard import made

D = Decimal
TABLE = standard()


def recipe(*pairs, basis=Basis.G_PER_L, powder=True, **more):
    amounts = tuple(Amount(cas, D(str(low)), D(str(high))) for cas, low, high in pairs)
    return Recipe(amounts, basis, powder, **more)


def shares(given, at="stock"):
    return {each.substance.cas: (each.low, each.high) for each in strength.at(given, at, TABLE).parts}


def faults(given, at="stock"):
    with pytest.raises(Faulty) as refused:
        strength.at(given, at, TABLE)
    return [(each.code, each.index) for each in refused.value.faults]


def test_grams_per_litre_at_a_known_density():
    assert shares(recipe((made.BORAX, 5, 5), density=D("1.25")))[made.BORAX] == (Fraction("0.4"), Fraction("0.4"))


def test_an_unknown_density_is_taken_as_one_and_said():
    mixture = strength.at(recipe((made.BORAX, 3, 3)), "stock", TABLE)
    assert mixture.parts[0].low == Fraction("0.3")
    assert any("1.00" in each for each in mixture.assumptions)


def test_a_dilution_by_volume():
    """w' = w rho / (rho + n): 10 % at 1.20 kg/l, 1+4 gives 2.3077 %."""
    given = recipe((made.SULFITE, 120, 120), density=D("1.2"))
    assert shares(given)[made.SULFITE][0] == 10
    assert shares(given, "1+4")[made.SULFITE][0] == 10 * Fraction("1.2") / Fraction("5.2")
    assert shares(recipe((made.SULFITE, 120, 120)), "1+4")[made.SULFITE][0] == Fraction("2.4")


def test_percent_of_a_liquid_by_weight_and_its_dilution():
    given = recipe((made.SULFITE, 10, 10), basis=Basis.PERCENT, powder=False, rest=Rest.WATER, density=D("1.2"))
    assert shares(given)[made.SULFITE][0] == 10
    assert shares(given, "1+4")[made.SULFITE][0] == 10 * Fraction("1.2") / Fraction("5.2")


def test_percent_by_weight_without_a_density_is_diluted_on_the_safe_side():
    """Taking 1.00 here would make the share too small; 1.60 is denser than any darkroom concentrate (from memory)."""
    given = recipe((made.SULFITE, 10, 10), basis=Basis.PERCENT, powder=False, rest=Rest.WATER)
    assert shares(given, "1+4")[made.SULFITE][0] == 10 * Fraction("1.6") / Fraction("5.6")
    assert any("1.60" in each for each in strength.at(given, "1+4", TABLE).assumptions)
    assert not any("1.60" in each for each in strength.at(given, "stock", TABLE).assumptions)


def test_parts_of_a_packet_become_percent_of_the_powder_and_grams_of_the_stock():
    given = recipe((made.METOL, 2, 2), (made.SULFITE, 98, 98), basis=Basis.GRAMS, makes_l=D(2))
    assert shares(given, "powder")[made.METOL] == (2, 2)
    assert shares(given)[made.METOL] == (Fraction("0.1"), Fraction("0.1"))


def test_percent_of_a_powder_needs_grams_per_litre_to_become_stock():
    given = recipe((made.HYDROQUINONE, 5, 10), basis=Basis.PERCENT, g_per_l=D(100), rest=Rest.HARMLESS)
    assert shares(given, "powder")[made.HYDROQUINONE] == (5, 10)
    assert shares(given)[made.HYDROQUINONE] == (Fraction("0.5"), 1)


def test_ranges_of_grams_give_ranges_of_percent():
    """An ingredient is at its most beside the least of the others: 10/(10+80), 20/(20+60)."""
    given = recipe((made.METOL, 10, 20), (made.SULFITE, 60, 80))
    assert shares(given, "powder")[made.METOL] == (Fraction(1000, 90), 25)


def test_what_nobody_names_is_counted_as_not_known():
    given = recipe((made.HYDROQUINONE, 5, 10), basis=Basis.PERCENT, powder=False)
    parts = strength.at(given, "stock", TABLE).parts
    assert [(each.low, each.high) for each in parts if each.substance is UNNAMED] == [(90, 95)]
    answer = assess.assess(given, "stock").classification
    assert [each.code for each in answer.missing] == ["composition.unnamed"]
    assert not any(
        each.substance is UNNAMED for each in strength.at(replace(given, rest=Rest.WATER), "stock", TABLE).parts
    )


def test_the_unnamed_part_of_a_powder_is_dissolved_along():
    given = recipe((made.HYDROQUINONE, 10, 10), basis=Basis.PERCENT, g_per_l=D(100))
    parts = strength.at(given, "stock", TABLE).parts
    assert [(each.low, each.high) for each in parts if each.substance is UNNAMED] == [(9, 9)]


def test_a_full_hundred_leaves_nothing_unnamed():
    given = recipe((made.HYDROQUINONE, 100, 100), basis=Basis.PERCENT)
    assert list(shares(given, "powder")) == [made.HYDROQUINONE]


def test_the_same_substance_twice_is_added_up():
    assert shares(recipe((made.BORAX, 1, 2), (made.BORAX, 1, 1)))[made.BORAX] == (Fraction("0.2"), Fraction("0.3"))


def test_hydrates_keep_their_own_weight_and_convert_by_molar_mass():
    """Borax decahydrate x 0.528 is anhydrous; monohydrate of carbonate x 0.855."""
    borax, grams = composition.anhydrous(Fraction(100), made.real(made.BORAX), TABLE)
    assert (borax.cas, round(float(grams), 1)) == ("1330-43-4", 52.8)
    assert round(float(composition.anhydrous(Fraction(1), made.real("5968-11-6"), TABLE)[1]), 3) == 0.855
    assert composition.anhydrous(Fraction(1), made.real(made.SULFITE), TABLE) == (made.real(made.SULFITE), 1)
    weightless = replace(made.real(made.BORAX), molar_mass=None)
    assert composition.anhydrous(Fraction(1), weightless, TABLE) == (weightless, 1)


def rows(*pairs):
    return tuple(composition.Weighed(made.real(cas), Fraction(low), Fraction(high)) for cas, low, high in pairs)


def dissolved(*pairs):
    found, words = dissolve(rows(*pairs), TABLE)
    return {each.substance.cas: (each.low, each.high) for each in found}, words


def test_boric_oxide_becomes_boric_acid():
    """B2O3 + 3 H2O -> 2 H3BO3: x 1.776."""
    found, [words] = dissolved((made.BORIC_OXIDE, 10, 20), (made.BORIC_ACID, 1, 1))
    assert set(found) == {made.BORIC_ACID}
    low, high = found[made.BORIC_ACID]
    assert (round(float(low), 2), round(float(high), 2)) == (18.76, 36.52)
    assert "20 g become 35.524 g (x 1.776)" in words


def test_hydroxide_is_consumed_by_boric_acid():
    """NaOH + H3BO3 -> NaBO2 + 2 H2O, mole for mole: 4 g take 6.183 g and make 6.58 g."""
    found, [words] = dissolved((made.HYDROXIDE, 4, 4), (made.BORIC_ACID, 10, 10))
    assert set(found) == {made.BORIC_ACID, "7775-19-1"}
    assert shown(found[made.BORIC_ACID][0]) == D("3.817")
    assert shown(found["7775-19-1"][1]) == D("6.58")
    assert "4 g of it make 6.58 g" in words


def test_hydroxide_in_excess_stays():
    found, _ = dissolved((made.HYDROXIDE, 8, 8), (made.BORIC_ACID, "6.183", "6.183"))
    assert set(found) == {made.HYDROXIDE, "7775-19-1"}
    assert shown(found[made.HYDROXIDE][0]) == 4


def test_hydroxide_left_over_is_bounded_over_both_ranges():
    found, _ = dissolved((made.HYDROXIDE, 4, 8), (made.BORIC_ACID, "6.183", "12.366"))
    assert [shown(each) for each in found[made.HYDROXIDE]] == [0, 4]
    assert [shown(each, 2) for each in found[made.BORIC_ACID]] == [0, D("6.18")]
    assert [shown(each, 2) for each in found["7775-19-1"]] == [D("6.58"), D("13.16")]


@pytest.mark.parametrize(
    ("base", "acid", "made_borate"),
    [(("4", "4"), ("61.83", "61.83"), ("6.58", "6.58")), (("40", "40"), ("6.183", "6.183"), ("6.58", "6.58")),
     (("4", "40"), ("30.915", "61.83"), ("6.58", "65.8")), (("40", "80"), ("6.183", "61.83"), ("6.58", "65.8"))],
)  # fmt: skip
def test_the_scarcer_of_hydroxide_and_boric_acid_sets_the_borate(base, acid, made_borate):
    """Mole for mole: 40 g NaOH, 61.83 g H3BO3, 65.8 g NaBO2."""
    found, _ = dissolved((made.HYDROXIDE, *base), (made.BORIC_ACID, *acid))
    assert tuple(str(shown(each)) for each in found["7775-19-1"]) == made_borate


def test_a_trace_left_over_is_kept():
    found, _ = dissolved((made.HYDROXIDE, "4.5", "4.5"), (made.BORIC_ACID, "6.183", "6.183"))
    assert shown(found[made.HYDROXIDE][1]) == D("0.5")


def test_metabisulfite_is_said_to_change_and_keeps_its_stricter_class():
    found, [words] = dissolved((made.METABISULFITE, 10, 10))
    assert found == {made.METABISULFITE: (10, 10)}
    assert "10.947 g" in words
    assert dissolved((made.SULFITE, 1, 1)) == ({made.SULFITE: (1, 1)}, ())


def test_dissolving_is_counted_in_the_stock_and_not_in_the_powder():
    given = recipe((made.BORIC_OXIDE, "1.7", "1.7"), (made.SULFITE, 98, 98))
    assert made.BORIC_OXIDE in shares(given, "powder")
    mixture = strength.at(given, "stock", TABLE)
    assert mixture.parts[0].substance.cas == made.BORIC_ACID
    assert mixture.changes
    assert {"Repr. 1B H360FD"} == set(assess.assess(given, "stock").classification.worst.codes)


@pytest.mark.parametrize(
    ("given", "at", "wanted"),
    [
        (
            recipe((made.METOL, 60, 60), (made.SULFITE, 41, 41), basis=Basis.PERCENT),
            "powder",
            [("share.over_hundred", None)],
        ),
        (recipe((made.METOL, 50, 101), basis=Basis.PERCENT), "powder", [("share.over_hundred", 0)]),
        (recipe((made.METOL, -1, 2)), "stock", [("range.negative", 0)]),
        (recipe((made.METOL, "NaN", 2)), "stock", [("range.negative", 0)]),
        (recipe((made.METOL, 1, "Infinity")), "stock", [("range.negative", 0)]),
        (recipe((made.SULFITE, 1, 1), (made.METOL, 3, 2)), "stock", [("range.reversed", 1)]),
        (recipe((made.METOL, 0, 0)), "stock", [("range.nothing", 0)]),
        (recipe(("108-95-2", 1, 1)), "stock", [("cas.unknown", 0)]),
        (recipe(("123-31-8", 1, 1)), "stock", [("cas.check_digit", 0)]),
        (recipe(("metol", 1, 1)), "stock", [("cas.malformed", 0)]),
        (
            recipe((made.METOL, 3, 2), ("123-31-8", -1, 1)),
            "stock",
            [("range.reversed", 0), ("cas.check_digit", 1), ("range.negative", 1)],
        ),
        (recipe((made.METOL, 2, 2), basis=Basis.GRAMS), "1+1", [("dilution.without_stock", None)]),
        (recipe((made.METOL, 2, 2), basis=Basis.PERCENT), "stock", [("dilution.without_stock", None)]),
        (recipe((made.METOL, 2, 2), powder=False), "powder", [("powder.none", None)]),
        (recipe((made.METOL, 2, 2)), "1:3", [("strength.malformed", None)]),
        (recipe((made.METOL, 2, 2)), "weak", [("strength.malformed", None)]),
        (recipe(), "stock", [("composition.empty", None)]),
        (recipe(*[(made.METOL, 1, 1)] * 51), "stock", [("composition.long", None)]),
        (recipe((made.METOL, 2, 2), density=D(0)), "stock", [("density.implausible", None)]),
        (recipe((made.METOL, 2, 2), density=D(4)), "stock", [("density.implausible", None)]),
        (recipe((made.METOL, 2, 2), basis=Basis.GRAMS, makes_l=D(0)), "stock", [("amount.not_positive", None)]),
        (recipe((made.METOL, 2, 2), ph=(("stock", D(16)),)), "stock", [("ph.implausible", None)]),
        (recipe((made.SULFITE, 1200, 1200)), "stock", [("share.over_hundred", None)]),
    ],
)  # fmt: skip
def test_every_fault_is_named_where_it_stands(given, at, wanted):
    assert faults(given, at) == wanted


def test_a_fault_says_what_would_be_allowed():
    with pytest.raises(Faulty, match="would end in 9"):
        strength.at(recipe(("123-31-8", 1, 1)), "stock", TABLE)
    with pytest.raises(Faulty, match="how many litres the packet makes"):
        strength.at(recipe((made.METOL, 2, 2), basis=Basis.GRAMS), "stock", TABLE)
    with pytest.raises(Faulty, match=r"1\+3"):
        strength.at(recipe((made.METOL, 2, 2)), "1:3", TABLE)


def test_exactly_a_hundred_percent_is_allowed():
    assert strength.at(recipe((made.SULFITE, 1000, 1000)), "stock", TABLE).parts[0].low == 100
    both = recipe((made.METOL, 60, 60), (made.SULFITE, 40, 40), basis=Basis.PERCENT)
    assert len(strength.at(both, "powder", TABLE).parts) == 2


def test_the_highest_share_is_capped_by_the_least_of_the_others():
    mixture = made.mixture((made.METOL, 10, 90), (made.SULFITE, 30, 90))
    worst = {each.substance.cas: each.percent for each in mixture.worst(Policy()).shares}
    assert worst == {made.METOL: 70, made.SULFITE: 90}


@pytest.mark.parametrize(
    ("measured", "at", "wanted"),
    [
        ((("stock", D("12")),), "stock", ("12", "12")),
        ((("stock", D("12")),), "1+9", ("11", "12")),
        ((("stock", D("1")),), "1+9", ("1", "2")),
        ((("stock", D("7.5")),), "1+9", ("7", "7.5")),
        ((("stock", D("6.5")),), "1+9", ("6.5", "7")),
        ((("stock", D("12")), ("1+9", D("11.2"))), "1+9", ("11.2", "11.2")),
    ],
)
def test_ph_moves_towards_seven_by_at_most_the_dilution(measured, at, wanted):
    found = strength.at(recipe((made.SULFITE, 10, 10), ph=measured), at, TABLE).ph
    assert (found.low, found.high) == tuple(D(each) for each in wanted)


def test_ph_of_a_dilution_alone_says_nothing_of_the_stock():
    given = recipe((made.SULFITE, 10, 10), ph=(("1+1", D(9)),))
    assert strength.at(given, "stock", TABLE).ph is None


def test_ph_shown_to_be_mild_stays_so_when_diluted():
    given = recipe((made.SULFITE, 10, 10), ph=(("stock", D(12)),), ph_shown_mild=("stock",))
    assert strength.at(given, "stock", TABLE).ph == Ph(D(12), D(12), True)
    assert strength.at(given, "1+1", TABLE).ph.shown_mild
    assert assess.assess(given, "stock").classification.worst.codes == ()


def test_the_formula_of_the_house_becomes_a_recipe(starter):
    given = assess.recipe_of(starter["mq-borax"], density=D("1.08"))
    assert (given.basis, given.powder, len(given.amounts)) == (Basis.G_PER_L, True, 4)
    assert given.amounts[0] == exact(made.METOL, D(2))
    assert not assess.recipe_of(starter["rapid-fixer"]).powder
