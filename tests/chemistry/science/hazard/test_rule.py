"""Specific limits, estimates, statements and supplements: what the tables of limits do not show."""

from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science.hazard import acute, cmr
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.mixture import Policy, Regime
from tests.chemistry.science.hazard import made

E = Endpoint
ORAL, DERMAL, GAS, VAPOUR, DUST = acute.ROUTES
CLP, UN = Regime.CLP, Regime.UN_GHS


@pytest.mark.parametrize(
    ("route", "bounds"),
    [
        (ORAL, "5 50 300 2000"),
        (DERMAL, "50 200 1000 2000"),
        (GAS, "100 500 2500 20000"),
        (VAPOUR, "0.5 2 10 20"),
        (DUST, "0.05 0.5 1 5"),
    ],
)
def test_acute_bounds_belong_to_the_worse_category(route, bounds):
    """CLP Annex I Table 3.1.1, read."""
    figures = [Fraction(each) for each in bounds.split()]
    for number, bound in enumerate(figures, start=1):
        assert acute.band(route, bound) == number
        assert acute.band(route, bound + Fraction(1, 1000)) == (number + 1 if number < 4 else None)


def test_category_5_is_un_only_and_ends_at_5000():
    """Read in an encyclopedia's table of estimates: oral and dermal 2000 to 5000."""
    for route in (ORAL, DERMAL):
        assert (acute.band(route, Fraction(5000), UN), acute.band(route, Fraction(5001), UN)) == (5, None)
        assert acute.band(route, Fraction(2001), CLP) is None
    assert acute.band(VAPOUR, Fraction(21), UN) is None


@pytest.mark.parametrize(
    ("route", "points"),
    [
        ("oral", "0.5 5 100 500"),
        ("dermal", "5 50 300 1100"),
        ("gas", "10 100 700 4500"),
        ("vapour", "0.05 0.5 3 11"),
        ("dust", "0.005 0.05 0.5 1.5"),
    ],
)
def test_a_category_alone_is_converted_to_a_point(route, points):
    """CLP Annex I Table 3.1.2, all twenty read in a federal guide to CLP."""
    for number, point in enumerate(points.split(), start=1):
        kind = made.substance(acute=((route, number),))
        found = acute.estimate(kind, Endpoint(f"acute_{route}"), CLP)
        assert found == acute.Estimate(Fraction(point), number)


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        (("oral", 4, 237), (500, 4)),  # worse than the law says, which is no minimum: the law holds
        (("oral", 4, 237, True), (237, 3)),  # a minimum classification: the worse own value wins
        (("oral", 3, 400, True), (100, 3)),  # a milder own value never lowers the law's category
        (("oral", 4, 400), (400, 4)),  # inside the law's category the own value is used
        (("oral", 4, 150, False, True), (150, 3)),  # the law's own estimate goes first
        (("oral", None, 1600), (1600, 4)),
        (("oral", 4, 3000), (500, 4)),
    ],
)
def test_which_estimate_counts(given, wanted):
    """CLP Annex VI 1.2.1 on minimum classifications, read."""
    found = acute.estimate(made.substance(acute=(given,)), ORAL, CLP)
    assert found == acute.Estimate(Fraction(wanted[0]), wanted[1])


def test_an_own_value_above_every_category_stays_out():
    assert acute.estimate(made.substance(acute=(("oral", None, 3000),)), ORAL, CLP) is None
    assert acute.estimate(made.substance(acute=(("oral", None, 3000),)), ORAL, UN) == acute.Estimate(Fraction(3000), 5)
    assert acute.estimate(made.substance(), ORAL, CLP) is None


@pytest.mark.parametrize(("number", "cut"), [(1, "0.1"), (3, "0.1"), (4, "1")])
def test_acute_cut_offs(number, cut):
    """CLP Annex I Table 1.1, from memory."""
    kind = made.substance(acute=(("oral", number),))
    assert acute.by_route(made.point((kind, cut)), ORAL)
    assert not acute.by_route(made.point((kind, Fraction(cut) - Fraction(1, 1000))), ORAL)


def test_category_5_counts_from_one_percent():
    kind = made.substance(acute=(("oral", None, 3000),))
    assert not acute.by_route(made.point((kind, "0.99"), policy=made.UN), ORAL)
    [trail] = acute.by_route(made.point((kind, 90), policy=made.UN), ORAL)
    assert (trail.code, trail.statement, trail.limit) == ("Acute Tox. 5", "H303", 5000)


def test_an_estimate_above_the_last_category_is_compared_with_it():
    kind = made.substance(acute=(("oral", None, 3000),))
    [trail] = acute.by_route(made.point((kind, 50), policy=made.UN), ORAL)
    assert (trail.verdict, trail.fired) == ("6000 mg/kg > 5000 mg/kg: not Acute Tox. 5", False)
    vapour = made.substance(acute=(("vapour", None, 15),))
    [trail] = acute.by_route(made.point((vapour, 50), policy=made.UN), VAPOUR)
    assert trail.verdict == "30 mg/l > 20 mg/l: not Acute Tox. 4"


@pytest.mark.parametrize(("unknown", "whole"), [(10, 100), (Fraction(101, 10), Fraction(899, 10))])
def test_the_unknown_share_corrects_the_sum_only_above_ten_percent(unknown, whole):
    """CLP Annex I 3.1.3.6.2; the formula read in the UN worked example 3.1(d)."""
    dark = made.substance(name="dark", no_data=("acute_oral",))
    toxic = made.substance(name="toxic", acute=(("oral", None, 200),))
    [trail] = acute.by_route(made.point((toxic, 20), (dark, unknown)), ORAL)
    assert trail.total == whole / (Fraction(20) / 200)


def test_unknown_toxicity_is_stated_from_one_percent():
    dark = made.substance(name="dark", no_data=("acute_oral", "acute_dermal"))
    assert "ATE.unknown" in made.supplements((dark, 1))
    assert "ATE.unknown" not in made.supplements((dark, "0.99"))
    [said] = [each for each in judge(made.point((dark, 1))).supplements if each.code == "ATE.unknown"]
    assert said.words == "1 % of the mixture consists of ingredients of unknown acute toxicity (oral, dermal)."


def test_a_converted_estimate_never_makes_a_substance_worse_than_it_is():
    """Category 2 converts to 5 mg/kg, which by itself would read as Category 1."""
    kind = made.substance(acute=(("oral", 2),))
    assert made.codes((kind, 100)) == {"Acute Tox. 2 H300"}


def test_a_powder_is_breathed_as_dust_only():
    kind = made.substance(acute=(("vapour", 2), ("gas", 2), ("dust", 4)))
    assert made.codes((kind, 50), solid=True) == {"Acute Tox. 4 H332"}
    assert made.given(E.ACUTE_VAPOUR, (kind, 50)) == "Acute Tox. 2"


@pytest.mark.parametrize(
    ("percent", "skin", "eye"),
    [
        ("5", "Skin Corr. 1A", "Eye Dam. 1"),
        ("4.9", "Skin Corr. 1B", "Eye Dam. 1"),
        ("2", "Skin Corr. 1B", "Eye Dam. 1"),
        ("1.9", "Skin Irrit. 2", "Eye Irrit. 2"),
        ("0.5", "Skin Irrit. 2", "Eye Irrit. 2"),
        ("0.49", None, None),
    ],
)
def test_sodium_hydroxide_goes_by_its_own_limits(percent, skin, eye):
    """GisChem data sheet 577: 1A from 5 %, 1B from 2 %, irritant from 0.5 %."""
    assert made.given(E.SKIN, (made.HYDROXIDE, percent)) == skin
    assert made.given(E.EYE, (made.HYDROXIDE, percent)) == eye


@pytest.mark.parametrize(
    ("percent", "skin", "eye"),
    [
        ("90", "Skin Corr. 1A", "Eye Dam. 1"),
        ("25", "Skin Corr. 1B", "Eye Dam. 1"),
        ("24", "Skin Irrit. 2", "Eye Irrit. 2"),
        ("10", "Skin Irrit. 2", "Eye Irrit. 2"),
        ("9.9", None, None),
    ],
)
def test_acetic_acid_goes_by_its_own_limits(percent, skin, eye):
    """From memory: 90, 25 and 10 %."""
    assert made.given(E.SKIN, ("64-19-7", percent)) == skin
    assert made.given(E.EYE, ("64-19-7", percent)) == eye


@pytest.mark.parametrize(
    ("percent", "wanted"),
    [
        ("70", {"Ox. Liq. 1 H271", "Skin Corr. 1A H314", "Eye Dam. 1 H318", "STOT SE 3 H335"}),
        ("50", {"Ox. Liq. 2 H272", "Skin Corr. 1B H314", "Eye Dam. 1 H318", "STOT SE 3 H335"}),
        ("35", {"Skin Irrit. 2 H315", "Eye Dam. 1 H318", "STOT SE 3 H335"}),
        ("8", {"Eye Dam. 1 H318"}),
        ("7.9", {"Eye Irrit. 2 H319"}),
        ("4.9", set()),
    ],
)
def test_hydrogen_peroxide_goes_by_its_own_limits(percent, wanted):
    """ECHA registry of CLH intentions, 0b0236e186a47938: the present row."""
    toxic = {"Acute Tox. 4 H302", "Acute Tox. 4 H332"}
    assert made.codes(("7722-84-1", percent)) - toxic == wanted


def test_own_limits_and_general_ones_add_up_as_fractions_of_themselves():
    """SUM(Ci/limit) >= 1: half of 2 % hydroxide's and half of the general 5 % burn together."""
    other = made.substance("Skin Corr. 1B", name="other")
    assert made.given(E.SKIN, (made.HYDROXIDE, 1), (other, "2.5")) == "Skin Corr. 1B"
    assert made.given(E.SKIN, (made.HYDROXIDE, 1), (other, "2.4")) == "Skin Irrit. 2"


def test_three_thirds_make_a_whole():
    """Exact arithmetic: with rounded thirds the sum would stay below 1."""
    thirds = [(made.substance("Eye Dam. 1", name=name), 1) for name in "abc"]
    assert made.given(E.EYE, *thirds) == "Eye Dam. 1"


def test_tenfold_corrosives_and_irritants_add_up():
    burns, irritates = made.substance("Skin Corr. 1C", name="a"), made.substance("Skin Irrit. 2", name="b")
    assert made.given(E.SKIN, (made.substance("Skin Corr. 1C", bands=()), 1)) == "Skin Irrit. 2"
    assert made.given(E.SKIN, (irritates, "9.5"), (burns, "0.99")) is None
    damages = made.substance("Eye Dam. 1", name="c")
    smarts = made.substance("Eye Irrit. 2", name="d")
    assert made.given(E.EYE, (damages, 1), (smarts, 1)) == "Eye Irrit. 2"


def test_an_ingredient_both_corrosive_and_eye_damaging_counts_once():
    """CLP Annex I 3.3.3.3.4: 2 % stays below 3 %."""
    both = made.substance("Skin Corr. 1B", "Eye Dam. 1")
    assert made.given(E.EYE, (both, 2)) == "Eye Irrit. 2"


@pytest.mark.parametrize(
    ("shares", "wanted"),
    [
        ({"Skin Corr. 1A": 5, "Skin Corr. 1C": 5}, "Skin Corr. 1A"),
        ({"Skin Corr. 1A": 3, "Skin Corr. 1B": 2}, "Skin Corr. 1B"),
        ({"Skin Corr. 1A": 2, "Skin Corr. 1B": 2, "Skin Corr. 1C": 1}, "Skin Corr. 1C"),
        ({"Skin Corr. 1A": 3, "Skin Corr. 1": 2}, "Skin Corr. 1"),
        ({"Skin Corr. 1A": 5, "Skin Corr. 1": 2}, "Skin Corr. 1A"),
        ({"Skin Corr. 1B": 6, "Skin Corr. 1": 1}, "Skin Corr. 1"),
    ],
)
def test_the_letters_of_skin_corrosion(shares, wanted):
    """From memory of CLP Annex I 3.2.3.3.3; not found in a text read."""
    pairs = [(made.substance(code, name=code), percent) for code, percent in shares.items()]
    assert made.given(E.SKIN, *pairs) == wanted


@pytest.mark.parametrize(
    ("statements", "wanted"),
    [
        (("H360F", "H360D"), "H360FD"), (("H360FD", "H360D"), "H360FD"), (("H360F", "H360Fd"), "H360Fd"),
        (("H360D", "H360Fd"), "H360FD"), (("H360Df",), "H360Df"), (("H360", "H360F"), "H360"),
        (("H361f", "H361d"), "H361fd"), (("H361d",), "H361d"),
    ],
)  # fmt: skip
def test_letters_of_reproductive_statements_are_joined(statements, wanted):
    code = "Repr. 1B" if wanted.startswith("H360") else "Repr. 2"
    hazards = [made.substance((code, each)).hazards[0] for each in statements]
    assert cmr.lettered(hazards) == wanted


def test_joined_letters_reach_the_class():
    assert made.codes((made.substance(("Repr. 1B", "H360D")), "0.3")) == {"Repr. 1B H360D"}
    kinds = [(made.substance(("Repr. 1B", f"H360{each}"), name=each), 1) for each in "FD"]
    assert made.codes(*kinds) == {"Repr. 1B H360FD"}
    weak = (made.substance(("Repr. 1B", "H360D"), name="D"), "0.1")
    assert made.codes(kinds[0], weak) == {"Repr. 1B H360F"}


def test_cancer_by_every_way_in_outweighs_by_breathing_only():
    kinds = [(made.substance(("Carc. 1B", each), name=each), 1) for each in ("H350i", "H350")]
    assert made.codes(*kinds) == {"Carc. 1B H350"}


def test_boron_compounds_are_summed_and_others_are_not():
    """CLP Annex VI Note 11, read."""
    other = made.substance(("Repr. 1B", "H360FD"), name="other")
    assert made.codes((made.BORIC_ACID, "0.2"), (other, "0.2")) == set()
    assert made.codes((made.BORIC_ACID, "0.15"), (made.BORAX, "0.15")) == {"Repr. 1B H360FD"}
    assert made.codes((made.BORIC_ACID, "0.15"), (made.BORAX, "0.1499")) == set()


def test_a_specific_limit_of_reproduction_replaces_the_general_one():
    assert made.given(E.REPRODUCTION, ("140-01-2", "2.99")) is None
    assert made.given(E.REPRODUCTION, ("140-01-2", "3")) == "Repr. 1B"


def test_irritant_and_drowsy_third_categories_are_summed_apart():
    """TRGS 201: H335 and H336 apart."""
    airways = made.substance(("STOT SE 3", "H335"), name="a")
    drowsy = made.substance(("STOT SE 3", "H336"), name="b")
    assert made.codes((airways, 15), (drowsy, 15)) == set()
    assert made.codes((airways, 20), (drowsy, 20)) == {"STOT SE 3 H335", "STOT SE 3 H336"}


def test_a_limit_without_a_class_still_counts():
    """Dichromate has no STOT SE 3 by itself, only from 5 % (from memory)."""
    assert made.given(E.AIRWAYS, ("7778-50-9", 5)) == "STOT SE 3"
    assert made.given(E.AIRWAYS, ("7778-50-9", "4.9")) is None


def test_a_pure_substance_keeps_its_physical_class():
    assert made.given(E.OXIDISING, ("7778-50-9", 100), solid=True) == "Ox. Sol. 2"
    assert made.given(E.OXIDISING, ("7778-50-9", 99), solid=True) is None


@pytest.mark.parametrize(
    ("pairs", "solid", "said"),
    [
        (((made.HYDROXIDE, 10),), True, True),  # dust of a corrosive nobody has breathing data for
        (((made.HYDROXIDE, 10),), False, False),  # a liquid that gives no vapour
        ((("64-19-7", 56),), False, True),  # a corrosive that evaporates
        ((("64-19-7", 12),), False, False),  # irritant only
        ((("111-30-8", 50),), False, True),  # listed with the statement
        ((("7778-50-9", 10),), True, False),  # breathing data are there
        ((("111-30-8", 4),), False, True),  # harmful to breathe only, by an ingredient listed with the statement
        (((made.substance("Skin Corr. 1C"), 10),), True, True),
        (((made.substance("Skin Irrit. 2"), 50),), True, False),
    ],
)
def test_corrosive_to_the_airways(pairs, solid, said):
    """CLP Annex II 1.2.6, read."""
    assert ("EUH071" in made.supplements(*pairs, solid=solid)) is said


@pytest.mark.parametrize(
    ("kind", "start"),
    [
        (made.substance("Skin Sens. 1"), "0.1"),
        (made.substance("Skin Sens. 1A"), "0.01"),
        (made.substance("Carc. 2"), "0.1"),
        (made.substance("Repr. 1B"), "0.1"),
        (made.substance("Lact."), "0.1"),
        (made.substance("Muta. 2"), "1"),
        (made.substance("Aquatic Chronic 2"), "1"),
        (made.substance(acute=(("oral", 4),)), "1"),
    ],
)
def test_a_data_sheet_on_request(kind, start):
    """CLP Annex II 2.10, read; never on a mixture that has a class."""
    below = Fraction(start) - Fraction(1, 1000)
    assert "EUH210" not in made.supplements((kind, below))
    if not judge(made.point((kind, start))).given:
        assert "EUH210" in made.supplements((kind, start))
    assert "EUH210" not in made.supplements((kind, start), (made.substance("Eye Dam. 1", name="z"), 3))


def test_metals_and_fire_alone_ask_for_no_data_sheet():
    assert "EUH210" not in made.supplements((made.substance("Met. Corr. 1"), 50))


def test_un_ghs_has_no_eu_statements():
    pairs = ((made.HYDROQUINONE, "0.5"), (made.SULFITE, 10))
    assert set(made.supplements(*pairs, policy=Policy())) == {"EUH031", "EUH208", "EUH210"}
    assert made.supplements(*pairs, policy=made.UN) == []


def test_the_gas_screen_adds_up_and_can_be_switched_off():
    pairs = ((made.SULFITE, "0.3"), (made.METABISULFITE, "0.2"))
    assert "EUH031" in made.supplements(*pairs, policy=Policy())
    assert "EUH031" not in made.supplements(*pairs[:1], policy=Policy())
    assert "EUH031" not in made.supplements(*pairs, policy=made.BARE)


def test_the_laws_own_gas_limit_goes_before_the_screen():
    assert "EUH031" in made.supplements(("7681-52-9", 5), policy=made.BARE)
    assert "EUH031" not in made.supplements(("7681-52-9", "4.99"), policy=Policy())


def test_every_class_carries_its_trail():
    judged = judge(made.point((made.HYDROQUINONE, "4.587"), (made.BORAX, "1.835")))
    trail = next(each for each in judged.given if each.code == "Eye Dam. 1")
    assert trail.verdict == "4.587 % >= 3 %: Eye Dam. 1"
    assert [(each.name, each.percent) for each in trail.counted] == [("hydroquinone", Fraction("4.587"))]
    missed = next(each for each in judge(made.point((made.METOL, "0.5"))).trails if each.code == "Skin Sens. 1")
    assert missed.verdict == "0.5 % < 1 %: not Skin Sens. 1"
    [oral] = [each for each in judged.trails if each.endpoint is ORAL]
    assert oral.verdict == "10900.371 mg/kg > 2000 mg/kg: not Acute Tox. 4"
    assert all(each.rule and each.origin.title for each in judged.trails)


def test_a_ph_trail_names_the_bound():
    [skin] = [each for each in judge(made.point((made.WATER, 1), ph=12)).trails if each.endpoint is E.SKIN]
    assert (skin.verdict, skin.limit) == ("12 pH >= 11.5 pH: Skin Corr. 1", Fraction("11.5"))
    [acid] = [each for each in judge(made.point((made.WATER, 1), ph="1.5")).trails if each.endpoint is E.SKIN]
    assert (acid.verdict, acid.limit) == ("1.5 pH <= 2 pH: Skin Corr. 1", Decimal(2))
