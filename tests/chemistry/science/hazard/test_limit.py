"""Every limit on both sides: at it the class is given, just below it is not. The sources stand in ``limit.py``."""

from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science.hazard import limit
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from tests.chemistry.science.hazard import made

E = Endpoint
LITTLE = Fraction(1, 10**6)
# (class of the only ingredient, endpoint, % w/w from which, class given there, class given just below)
STEPS = [
    ("Skin Corr. 1A", E.SKIN, "5", "Skin Corr. 1A", "Skin Irrit. 2"),
    ("Skin Corr. 1B", E.SKIN, "5", "Skin Corr. 1B", "Skin Irrit. 2"),
    ("Skin Corr. 1C", E.SKIN, "5", "Skin Corr. 1C", "Skin Irrit. 2"),
    ("Skin Corr. 1", E.SKIN, "5", "Skin Corr. 1", "Skin Irrit. 2"),
    ("Skin Corr. 1B", E.SKIN, "1", "Skin Irrit. 2", None),
    ("Skin Irrit. 2", E.SKIN, "10", "Skin Irrit. 2", None),
    ("Eye Dam. 1", E.EYE, "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Eye Dam. 1", E.EYE, "1", "Eye Irrit. 2", None),
    ("Skin Corr. 1B", E.EYE, "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Eye Irrit. 2", E.EYE, "10", "Eye Irrit. 2", None),
    ("Resp. Sens. 1", E.RESPIRATORY_SENSITISATION, "1", "Resp. Sens. 1", None),
    ("Resp. Sens. 1A", E.RESPIRATORY_SENSITISATION, "0.1", "Resp. Sens. 1A", None),
    ("Resp. Sens. 1B", E.RESPIRATORY_SENSITISATION, "1", "Resp. Sens. 1B", None),
    ("Skin Sens. 1", E.SKIN_SENSITISATION, "1", "Skin Sens. 1", None),
    ("Skin Sens. 1A", E.SKIN_SENSITISATION, "0.1", "Skin Sens. 1A", None),
    ("Skin Sens. 1B", E.SKIN_SENSITISATION, "1", "Skin Sens. 1B", None),
    ("Muta. 1A", E.GERM_CELLS, "0.1", "Muta. 1A", None),
    ("Muta. 1B", E.GERM_CELLS, "0.1", "Muta. 1B", None),
    ("Muta. 2", E.GERM_CELLS, "1", "Muta. 2", None),
    ("Carc. 1A", E.CANCER, "0.1", "Carc. 1A", None),
    ("Carc. 1B", E.CANCER, "0.1", "Carc. 1B", None),
    ("Carc. 2", E.CANCER, "1", "Carc. 2", None),
    ("Repr. 1A", E.REPRODUCTION, "0.3", "Repr. 1A", None),
    ("Repr. 1B", E.REPRODUCTION, "0.3", "Repr. 1B", None),
    ("Repr. 2", E.REPRODUCTION, "3", "Repr. 2", None),
    ("Lact.", E.LACTATION, "0.3", "Lact.", None),
    ("STOT SE 1", E.ORGAN_SINGLE, "10", "STOT SE 1", "STOT SE 2"),
    ("STOT SE 1", E.ORGAN_SINGLE, "1", "STOT SE 2", None),
    ("STOT SE 2", E.ORGAN_SINGLE, "10", "STOT SE 2", None),
    ("STOT RE 1", E.ORGAN_REPEATED, "10", "STOT RE 1", "STOT RE 2"),
    ("STOT RE 1", E.ORGAN_REPEATED, "1", "STOT RE 2", None),
    ("STOT RE 2", E.ORGAN_REPEATED, "10", "STOT RE 2", None),
    (("STOT SE 3", "H335"), E.AIRWAYS, "20", "STOT SE 3", None),
    (("STOT SE 3", "H336"), E.DROWSINESS, "20", "STOT SE 3", None),
    ("Aquatic Acute 1", E.AQUATIC_ACUTE, "25", "Aquatic Acute 1", None),
    ("Aquatic Chronic 1", E.AQUATIC_CHRONIC, "25", "Aquatic Chronic 1", "Aquatic Chronic 2"),
    ("Aquatic Chronic 1", E.AQUATIC_CHRONIC, "2.5", "Aquatic Chronic 2", "Aquatic Chronic 3"),
    ("Aquatic Chronic 1", E.AQUATIC_CHRONIC, "0.25", "Aquatic Chronic 3", None),
    ("Aquatic Chronic 2", E.AQUATIC_CHRONIC, "25", "Aquatic Chronic 2", "Aquatic Chronic 3"),
    ("Aquatic Chronic 2", E.AQUATIC_CHRONIC, "2.5", "Aquatic Chronic 3", None),
    ("Aquatic Chronic 3", E.AQUATIC_CHRONIC, "25", "Aquatic Chronic 3", None),
    ("Aquatic Chronic 4", E.AQUATIC_CHRONIC, "25", "Aquatic Chronic 4", None),
]


@pytest.mark.parametrize(("having", "endpoint", "start", "at", "below"), STEPS)
def test_a_limit_reached_gives_the_class_and_missed_does_not(having, endpoint, start, at, below):
    kind = made.substance(having)
    assert made.given(endpoint, (kind, start)) == at
    assert made.given(endpoint, (kind, Fraction(start) - LITTLE)) == below


@pytest.mark.parametrize(
    ("having", "start", "at", "below"),
    [
        ("Skin Corr. 1B", "1", "Skin Corr. 1", None),
        ("Skin Irrit. 2", "3", "Skin Irrit. 2", None),
        ("Eye Dam. 1", "1", "Eye Dam. 1", None),
        ("Eye Irrit. 2", "3", "Eye Irrit. 2", None),
    ],
)
def test_what_does_not_add_up_has_stricter_limits(having, start, at, below):
    """CLP Annex I Tables 3.2.4 and 3.3.4; the same numbers read in SOR/2015-17."""
    kind = made.substance(having, non_additive=True)
    endpoint = E.SKIN if having.startswith("Skin") else E.EYE
    assert made.given(endpoint, (kind, start)) == at
    assert made.given(endpoint, (kind, Fraction(start) - LITTLE)) == below


def two(code, first, second):
    return (made.substance(code, name="a"), first), (made.substance(code, name="b"), second)


@pytest.mark.parametrize(
    ("code", "endpoint", "half", "wanted"),
    [
        ("Skin Corr. 1B", E.SKIN, "2.5", "Skin Corr. 1B"),
        ("Skin Irrit. 2", E.SKIN, "5", "Skin Irrit. 2"),
        ("Eye Dam. 1", E.EYE, "1.5", "Eye Dam. 1"),
        ("Eye Irrit. 2", E.EYE, "5", "Eye Irrit. 2"),
        (("STOT SE 3", "H335"), E.AIRWAYS, "10", "STOT SE 3"),
        ("Aquatic Acute 1", E.AQUATIC_ACUTE, "12.5", "Aquatic Acute 1"),
        ("Skin Sens. 1", E.SKIN_SENSITISATION, "0.5", None),
        ("Carc. 2", E.CANCER, "0.5", None),
        ("Repr. 1B", E.REPRODUCTION, "0.15", None),
        ("STOT RE 2", E.ORGAN_REPEATED, "5", None),
    ],
)
def test_what_is_added_up_and_what_is_not(code, endpoint, half, wanted):
    assert made.given(endpoint, *two(code, half, half)) == wanted


@pytest.mark.parametrize(
    ("code", "endpoint", "cut", "beside"),
    [
        ("Skin Corr. 1B", E.SKIN, "1", ("Skin Corr. 1B", "4.5")),
        ("Skin Irrit. 2", E.SKIN, "1", ("Skin Irrit. 2", "9.5")),
        ("Eye Dam. 1", E.EYE, "1", ("Eye Dam. 1", "2.5")),
        ("Eye Irrit. 2", E.EYE, "1", ("Eye Irrit. 2", "9.5")),
        (("STOT SE 3", "H335"), E.AIRWAYS, "1", (("STOT SE 3", "H335"), "19.5")),
        ("Aquatic Acute 1", E.AQUATIC_ACUTE, "0.1", ("Aquatic Acute 1", "24.95")),
        ("Aquatic Chronic 2", E.AQUATIC_CHRONIC, "1", ("Aquatic Chronic 2", "24.5")),
        ("Aquatic Chronic 3", E.AQUATIC_CHRONIC, "1", ("Aquatic Chronic 3", "24.5")),
    ],
)
def test_an_ingredient_below_its_cut_off_is_left_out_of_the_sum(code, endpoint, cut, beside):
    """CLP Annex I Table 1.1: aquatic read, the others from memory."""
    small, large = made.substance(code, name="small"), (made.substance(beside[0], name="large"), beside[1])
    worst = made.given(endpoint, (small, cut), large)
    assert worst is not None
    assert made.given(endpoint, (small, Fraction(cut) - LITTLE), large) != worst


def test_an_m_factor_weighs_and_lowers_the_cut_off():
    """CLP Annex I 4.1.3.1: 0.1/M, read."""
    kind = made.substance("Aquatic Acute 1", name="a", m_acute=Fraction(100))
    assert made.given(E.AQUATIC_ACUTE, (kind, "0.25")) == "Aquatic Acute 1"
    assert made.given(E.AQUATIC_ACUTE, (kind, "0.249")) is None
    large = (made.substance("Aquatic Acute 1", name="b"), "24.9")
    assert made.given(E.AQUATIC_ACUTE, (kind, "0.001"), large) == "Aquatic Acute 1"
    assert made.given(E.AQUATIC_ACUTE, (kind, "0.0009"), large) is None


def test_the_chronic_m_factor_is_used_for_chronic():
    kind = made.substance("Aquatic Chronic 1", m_acute=Fraction(100), m_chronic=Fraction(10))
    assert made.given(E.AQUATIC_CHRONIC, (kind, "2.5")) == "Aquatic Chronic 1"
    assert made.given(E.AQUATIC_CHRONIC, (kind, "2.4")) == "Aquatic Chronic 2"


def test_all_chronic_classes_count_once_towards_the_fourth():
    kinds = [made.substance(f"Aquatic Chronic {each}", name=str(each)) for each in (3, 4)]
    assert made.given(E.AQUATIC_CHRONIC, (kinds[0], "12.5"), (kinds[1], "12.5")) == "Aquatic Chronic 4"


@pytest.mark.parametrize(
    ("code", "start", "named"),
    [("Skin Sens. 1", "0.1", True), ("Skin Sens. 1B", "0.1", True), ("Skin Sens. 1A", "0.01", True),
     ("Resp. Sens. 1", "0.1", True), ("Resp. Sens. 1A", "0.01", True)],
)  # fmt: skip
def test_a_sensitiser_is_named_from_its_elicitation_limit(code, start, named):
    """CLP Annex I Table 3.4.6, the same numbers read in Annex II 2.10."""
    kind = made.substance(code)
    assert ("EUH208" in made.supplements((kind, start))) is named
    assert "EUH208" not in made.supplements((kind, Fraction(start) - LITTLE))


def test_an_own_limit_below_0_1_percent_is_elicited_at_a_tenth():
    kind = made.substance("Skin Sens. 1", bands=(("Skin Sens. 1", "0.05", None),))
    assert made.given(E.SKIN_SENSITISATION, (kind, "0.05")) == "Skin Sens. 1"
    assert made.given(E.SKIN_SENSITISATION, (kind, "0.049")) is None
    assert "EUH208" in made.supplements((kind, "0.005"))
    assert "EUH208" not in made.supplements((kind, "0.0049"))
    plain = made.substance("Skin Sens. 1", bands=(("Skin Sens. 1", "0.1", None),))
    assert "EUH208" not in made.supplements((plain, "0.099"))


def test_the_weight_of_a_1a_sensitiser_stands_in_the_trail():
    judged = judge(made.point((made.substance("Skin Sens. 1A"), "0.05")))
    [said] = [each.trail for each in judged.supplements if each.code == "EUH208"]
    assert said.verdict == "0.5 % >= 0.1 %: EUH208"
    assert "EUH208" not in made.supplements((made.substance("Skin Sens. 1"), 1))
    assert "EUH208" not in made.supplements((made.substance("Skin Sens. 1A"), "0.1"))


def test_a_sensitiser_that_classes_the_mixture_is_not_named_again_but_a_second_one_is():
    first, second = made.substance("Skin Sens. 1", name="first"), made.substance("Skin Sens. 1", name="second")
    judged = judge(made.point((first, 2), (second, "0.2")))
    assert [each.code for each in judged.given] == ["Skin Sens. 1"]
    [said] = [each.words for each in judged.supplements if each.code == "EUH208"]
    assert said == "Contains second. May produce an allergic reaction."


@pytest.mark.parametrize(("ph", "extreme"), [("2", True), ("2.01", False), ("11.5", True), ("11.49", False)])
def test_extreme_ph_includes_its_bounds(ph, extreme):
    """CLP Annex I 3.2.3.1.2, read."""
    from chemistry.science.hazard.mixture import is_extreme

    assert is_extreme(Decimal(ph)) is extreme


def test_every_limit_says_where_it_stands():
    assert len(limit.ALL) == len({each.name for each in limit.ALL}) > 45
    assert all(each.origin.title and each.value > 0 for each in limit.ALL)
