"""Every published worked example, reproduced; the source stands in ``cases.json`` and beside each test."""

from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science.hazard import acute, aquatic, ecotox, label
from chemistry.science.hazard.category import Endpoint
from chemistry.science.hazard.classify import judge
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.label import Named
from chemistry.science.hazard.trail import Supplement
from tests.chemistry.science.hazard import made
from tests.chemistry.science.hazard.cases import PUBLISHED

ORAL, VAPOUR = Endpoint.ACUTE_ORAL, Endpoint.ACUTE_VAPOUR
COVERED = {
    "P01",
    "P03",
    "P04",
    "P06",
    "P07",
    "P08",
    "P10",
    "P11",
    "P13",
    "P14",
    "P16",
    "P17",
    "P18",
    "P19",
    "P20",
    "P21",
}


def test_every_published_case_has_a_test_here():
    assert set(PUBLISHED) == COVERED
    assert all(each["read_or_memory"].startswith("READ") and each["source"]["address"] for each in PUBLISHED.values())


def number(text):
    """LD50 values as published; '>2000, no signs' is above every category."""
    return None if text is None else Fraction(str(text).lstrip(">").split(",", maxsplit=1)[0])


def of_case(case, route, key):
    """The case's ingredients with one route's value; a value above a limit dose stays out, a missing one is unknown."""
    pairs = []
    for each in case["ingredients"]:
        value = each.get("oral_ate_used") if key == "oral_ld50" else None
        value = value or each.get(key)
        kept = value is not None and not str(value).startswith(">")
        acute_data = ((route, None, value),) if kept else ()
        no_data = () if value is not None else (f"acute_{route}",)
        pairs.append((made.substance(name=each["name"], acute=acute_data, no_data=no_data), each["pct"]))
    return pairs


def near(value, case):
    return abs(shown(value) - Decimal(str(case["expected"]["ate_mix"]))) <= Decimal(str(case["tolerance"]))


def test_p01_an_ld50_range_enters_at_its_lower_end():
    """UN Sub-Committee worked example 3.1(a), ST/SG/AC.10/C.4/2008/23 (copy): Category 5 data are counted."""
    case = PUBLISHED["P01"]
    [trail] = acute.by_route(made.point(*of_case(case, "oral", "oral_ld50"), policy=made.UN), ORAL)
    assert near(trail.total, case)
    assert (trail.fired, trail.code, trail.statement) == (True, "Acute Tox. 4", "H302")


def test_p01_under_clp_there_is_no_category_5_and_so_no_class():
    """Computed: the ingredient above 2000 mg/kg stays out, ATEmix 3333."""
    case = PUBLISHED["P01"]
    [trail] = acute.by_route(made.point(*of_case(case, "oral", "oral_ld50")), ORAL)
    assert abs(shown(trail.total) - Decimal(str(case["clp_variant"]["ate_mix"]))) <= Decimal("0.1")
    assert not trail.fired


def test_p03_several_routes_by_mouth():
    """UN worked example 3.1(d) (copy): Category 5 data are counted; CLP gives 1000 by computation."""
    case = PUBLISHED["P03"]
    pairs = of_case(case, "oral", "oral_ld50")
    [trail] = acute.by_route(made.point(*pairs, policy=made.UN), ORAL)
    assert near(trail.total, case)
    assert (trail.fired, trail.code) == (True, case["expected"]["category"])
    [clp] = acute.by_route(made.point(*pairs), ORAL)
    assert (clp.total, clp.code, clp.fired) == (1000, "Acute Tox. 4", True)


def test_p04_eleven_percent_unknown_corrects_the_sum_and_is_stated():
    """UN worked example 3.1(d) (copy): 6.6 mg/l, Acute Tox. 3 H331, 11 % unknown."""
    case = PUBLISHED["P04"]
    point = made.point(*of_case(case, "vapour", "inh_vapour_lc50"))
    [trail] = acute.by_route(point, VAPOUR)
    assert near(trail.total, case)
    assert (trail.code, trail.statement) == ("Acute Tox. 3", "H331")
    assert acute.unknown(point, VAPOUR) == case["unknown_pct"]
    stated = [each.words for each in judge(point).supplements if each.code == "ATE.unknown"]
    assert stated == ["11 % of the mixture consists of ingredients of unknown acute toxicity (inhalation)."]


def named(text):
    """Read 'Met. Corr. 1 H290', with or without an M-factor behind it."""
    words = text.split(" (", maxsplit=1)[0].rsplit(" ", 1)
    return Named(words[0], words[1])


def labelled(case):
    classes = [named(each) for each in case["classes"] if not each.startswith("EUH")]
    said = [Supplement(each, "words") for each in case["classes"] if each.startswith("EUH")]
    return label.elements(classes, said)


@pytest.mark.parametrize("number", ["P06", "P13", "P16"])
def test_the_label_of_published_classes(number):
    """P06: UN worked example 3.1(d). P13, P16: GisChem data sheets 4421 and 898 of the statutory accident insurance."""
    case = PUBLISHED[number]
    found = labelled(case)
    codes = [code for code, _ in (*found.statements, *found.supplements)]
    assert found.signal == case["expected"]["signal"]
    assert sorted(codes) == sorted(case["expected"]["h"])
    assert list(found.pictograms) == case["expected"]["pictograms"]


def test_p13_five_percent_of_sodium_hydroxide_is_skin_corrosive_1a():
    """GisChem data sheet 4421: from 5 % Skin Corr. 1A."""
    assert {"Skin Corr. 1A H314", "Eye Dam. 1 H318"} <= made.codes((made.HYDROXIDE, 5))


def test_p07_a_strong_acid_that_does_not_add_up_burns_from_one_percent():
    """UN worked example 3.2.3.3(a) (copy): ingredient pH 1.8 at 4 %, mixture pH 4.0 is no extreme."""
    acid = made.substance("Skin Corr. 1", name="acid", non_additive=True, own_ph=Decimal("1.8"))
    others = ((made.substance("Skin Irrit. 2", name="irritant"), 5), (made.substance(name="none"), 86))
    assert made.given(Endpoint.SKIN, (acid, 4), *others) == PUBLISHED["P07"]["expected"]["category"]
    adding = made.substance("Skin Corr. 1", name="acid")
    assert made.given(Endpoint.SKIN, (adding, 4), *others) == PUBLISHED["P07"]["clp_variant"]["category"]


def test_p08_an_irritant_below_one_percent_does_not_count():
    """ECHA Helpdesk exercises, Baltic seminar, 5 March 2012 (copy)."""
    thickener = made.substance("Skin Irrit. 2", name="thickener")
    assert made.given(Endpoint.SKIN, (thickener, "0.8"), (made.WATER, 90)) is None


@pytest.mark.parametrize(("percent", "wanted"), [(4, "Skin Irrit. 2"), (7, "Skin Corr. 1B")])
def test_p10_a_corrosive_at_four_irritates_and_at_seven_burns(percent, wanted):
    """H. Krejsova, enviprofi.cz, 2014 (Czech): the upper end of a data sheet's range is used."""
    corrosive = made.substance("Skin Corr. 1B")
    assert made.given(Endpoint.SKIN, (corrosive, percent)) == wanted
    assert next(each.code for each in judge(made.mixture((corrosive, 1, percent)).worst(made.BARE)).given) == wanted


def test_p11_a_surfactant_above_three_percent_damages_the_eye():
    """DetNet, the detergent makers' network: the rule; 4 % is ours."""
    answer = label.elements(judge(made.point((made.substance("Eye Dam. 1"), 4))).given)
    assert ([code for code, _ in answer.statements], list(answer.pictograms)) == (["H318"], ["GHS05"])


def test_p14_six_percent_peroxide_irritates_the_eye_and_nothing_else():
    """GisChem data sheet 770: 5 % <= C < 8 %."""
    case = PUBLISHED["P14"]
    judged = judge(made.point((case["ingredients"][0]["cas"], 6)))
    answer = label.elements(judged.given)
    assert list(judged.codes) == case["expected"]["classes"]
    assert (answer.signal, list(answer.pictograms)) == ("Warning", ["GHS07"])


@pytest.mark.parametrize("cas", [made.BORIC_ACID, made.BORAX, made.BORIC_OXIDE])
def test_p17_borates_from_0_3_percent_harm_reproduction(cas):
    """Bulletin 1257 of 9 July 2021 and the ZVO/BAuA note: Regulation (EU) 2021/849, from 17 December 2022."""
    case = PUBLISHED["P17"]
    judged = judge(made.point((cas, "0.3")))
    answer = label.elements(judged.given)
    assert list(judged.codes) == ["Repr. 1B H360FD"]
    assert (answer.signal, list(answer.pictograms)) == (case["expected"]["signal"], case["expected"]["pictograms"])
    assert made.codes((cas, case["also"]["pct"])) == set()


def lowest(case):
    return [Decimal(str(each)) for each in case["data"].values() if not isinstance(each, bool | str)]


def test_p18_the_laws_m_factor_goes_before_the_one_from_data():
    """ECHA dossier 14417."""
    case = PUBLISHED["P18"]
    found = ecotox.from_tests(lowest(case), rapidly_degradable=True)
    assert found == ecotox.Ecotoxicity(("Aquatic Acute 1",), case["expected"]["m_acute_from_data"], None)
    assert ecotox.used_m(found.m_acute, case["expected"]["m_acute_harmonised"]) == case["expected"]["use"]
    assert made.real(made.HYDROQUINONE).m_acute == case["expected"]["use"]


def test_p19_without_chronic_data_the_acute_m_is_the_chronic_m():
    """ECHA dossier 27699."""
    case = PUBLISHED["P19"]
    found = ecotox.from_tests(lowest(case), rapidly_degradable=case["data"]["rapidly_degradable"])
    assert found == ecotox.Ecotoxicity(tuple(case["expected"]["category"]), 1, 1)


def test_p20_moderately_toxic_and_not_degradable_is_chronic_2():
    """ECHA dossier 16527."""
    case = PUBLISHED["P20"]
    found = ecotox.from_tests(lowest(case), rapidly_degradable=False)
    assert found == ecotox.Ecotoxicity(tuple(case["expected"]["category"]), None, None)


def test_p21_each_step_down_weighs_ten_times_more():
    """New Zealand EPA guide 2012, Table 21.5: another law with the same arithmetic, 6 and 65 against 25."""
    case = PUBLISHED["P21"]
    letters = {"9.3A": "Aquatic Chronic 1", "9.3B": "Aquatic Chronic 2", "9.3C": "Aquatic Chronic 3"}
    pairs = []
    for each in case["ingredients"]:
        m = Fraction(each["m"]) if "m" in each else None
        classes = [letters[name] for name in each["class"]]
        pairs.append((made.substance(*classes, name=each["name"], m_acute=m, m_chronic=m), each["pct"]))
    first, second, *_ = aquatic.aquatic(made.point(*pairs))
    assert (first.total, first.fired) == (case["expected"]["sum_A"], case["expected"]["class_A"])
    assert (second.total, second.fired) == (case["expected"]["sum_10A_plus_B"], case["expected"]["class_B"])
    assert second.limit == case["expected"]["threshold"]
