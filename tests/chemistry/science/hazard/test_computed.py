"""Worked examples computed from the tables, not published: marked computed in ``cases.json``."""

from decimal import Decimal

import pytest

from chemistry.science.hazard import assess, gas, label
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import classify, judge
from chemistry.science.hazard.composition import Basis, Recipe, exact
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.mixture import Policy
from tests.chemistry.science.hazard import made
from tests.chemistry.science.hazard.cases import COMPUTED

CAS = {
    "metol": made.METOL,
    "sodium sulfite": made.SULFITE,
    "hydroquinone": made.HYDROQUINONE,
    "borax decahydrate": made.BORAX,
    "boric acid": made.BORIC_ACID,
    "sodium hypochlorite": "7681-52-9",
    "acetic acid": "64-19-7",
    "sodium carbonate": "497-19-8",
}
MQ_BORAX = Recipe(
    tuple(exact(CAS[each["name"]], Decimal(str(each["g"]))) for each in COMPUTED["D01"]["ingredients"]),
    Basis.GRAMS,
    powder=True,
    makes_l=Decimal(1),
    density=Decimal("1.08"),
)


def near(value, wanted, within="0.01"):
    return abs(shown(value) - Decimal(str(wanted))) <= Decimal(within)


def total(case, rule):
    return next(each.total for each in case.trails if each.rule.startswith(rule))


def test_every_computed_case_has_a_test_here():
    assert set(COMPUTED) == {"D01", "D02", "D04", "D05", "D06", "D07", "D09"}
    assert {each["read_or_memory"] for each in COMPUTED.values()} == {"computed"}


def test_d01_the_powder_of_an_mq_borax_set():
    case = COMPUTED["D01"]
    answer = assess.assess(MQ_BORAX, "powder")
    worst = answer.classification.worst
    shares = {each.substance.cas: each.low for each in answer.mixture.parts}
    for each in case["ingredients"]:
        assert near(shares[CAS[each["name"]]], each["pct"], "0.0006")
    assert set(worst.codes) == set(case["expected"]["classes"])
    assert (answer.label.signal, list(answer.label.pictograms)) == ("Danger", case["expected"]["pictograms"])
    steps = case["steps"]
    ate = next(each for each in worst.trails if each.endpoint is Endpoint.ACUTE_ORAL)
    assert near(ate.total, steps["ate_oral"], "1")
    assert not ate.fired
    assert near(total(worst, "Table 3.3.3: Skin"), steps["eye_sum_cat1"])
    assert near(total(worst, "M x Acute 1"), steps["aq_acute"])
    assert near(total(worst, "M x Chronic 1"), steps["aq_chr1"])
    assert near(total(worst, "(M x 10 "), steps["aq_chr2"])
    assert near(total(worst, "(M x 100"), steps["aq_chr3"], "0.05")
    assert near(total(worst, "Note 11"), steps["boron_sum_pct"])


def test_d02_the_stock_of_that_set_has_no_class_and_names_its_sensitisers():
    """EUH210 was added by a second reading (CLP Annex II 2.10); EUH031 is this service's screen."""
    case = COMPUTED["D02"]
    answer = assess.assess(MQ_BORAX, "stock", policy=Policy(gas_screen=False))
    worst = answer.classification.worst
    shares = {each.substance.cas: each.low for each in answer.mixture.parts}
    for each in case["ingredients"]:
        assert near(shares[CAS[each["name"]]], each["pct"], "0.0006")
    assert worst.codes == ()
    assert (answer.label.signal, answer.label.pictograms) == ("", ())
    words = dict(answer.label.supplements)
    assert set(words) == {"EUH208", "EUH210"}
    assert words["EUH208"] == "Contains hydroquinone, metol. May produce an allergic reaction."
    assert near(total(worst, "M x Acute 1"), case["steps"]["aq_acute"])
    assert near(total(worst, "(M x 100"), case["steps"]["aq_chr3"])
    assert near(total(worst, "Note 11"), case["steps"]["boron_sum_pct"])
    assert "EUH031" in assess.assess(MQ_BORAX, "stock").codes


def test_at_1_1_only_hydroquinone_is_named():
    """Computed: metol falls to 0.096 %, below 0.1 %."""
    said = dict(assess.assess(MQ_BORAX, "1+1").label.supplements)
    assert said["EUH208"] == "Contains hydroquinone. May produce an allergic reaction."


@pytest.mark.parametrize("number", ["D04", "D05"])
def test_d04_d05_hypochlorite_on_either_side_of_five_percent(number):
    case = COMPUTED[number]
    judged = judge(made.point(("7681-52-9", case["ingredients"][0]["pct"])))
    answer = label.elements(judged.given, judged.supplements)
    assert set(judged.codes) == set(case["expected"]["classes"])
    assert [code for code, _ in answer.supplements] == case["expected"]["euh"]
    assert (answer.signal, list(answer.pictograms)) == ("Danger", case["expected"]["pictograms"])
    if "label_h" in case["expected"]:
        said = [code for code, _ in (*answer.statements, *answer.supplements)]
        assert said == case["expected"]["label_h"]


def test_d06_two_percent_of_acetic_acid_has_no_class_and_the_concentrate_burns():
    assert made.codes(("64-19-7", 2)) == set()
    assert made.codes(("64-19-7", 56)) == {"Skin Corr. 1B H314", "Eye Dam. 1 H318"}


def test_d07_two_borates_are_added_up():
    assert made.codes((made.BORIC_ACID, "0.2"), (made.BORAX, "0.2")) == set(COMPUTED["D07"]["expected"]["classes"])
    assert made.codes((made.BORIC_ACID, "0.2"), (made.BORAX, "0.09")) == set()


def test_d09_a_ph_of_12_burns_until_reserve_and_tests_say_otherwise():
    case = COMPUTED["D09"]
    measured = made.mixture(("497-19-8", 8, 8), ph=(12, 12))
    assert set(case["expected"]["classes"]) <= set(classify(measured).worst.codes)
    mild = made.mixture(("497-19-8", 8, 8), ph=("11.4", "11.4"))
    assert not set(case["expected"]["classes"]) & set(classify(mild).worst.codes)


@pytest.mark.parametrize(
    ("cas", "percent"),
    [
        ("7681-57-4", "0.40"),
        ("7757-83-7", "0.52"),
        ("7783-18-8", "0.62"),
        ("7772-98-7", "0.66"),
        ("10117-38-1", "0.66"),
    ],
)
def test_the_gas_screen_is_one_litre_per_kilogram(cas, percent):
    """Computed: 24.06 litres per mole at 20 °C; the shares that give one litre."""
    one = 1 / gas.litres_per_percent(made.share(cas, 1))
    assert abs(shown(one) - Decimal(percent)) <= Decimal("0.006")
    screened = Policy()
    assert "EUH031" in made.supplements((cas, str(shown(one, 4) + Decimal("0.001"))), policy=screened)
    assert "EUH031" not in made.supplements((cas, str(shown(one, 4) - Decimal("0.001"))), policy=screened)
