"""Labels, protection, what is missing, and the answers set side by side."""

from decimal import Decimal
from fractions import Fraction

import pytest

from chemistry.science.formula import Kind
from chemistry.science.hazard import assess, label, protect, statement, strength, timing
from chemistry.science.hazard.category import CATEGORIES, Endpoint, category, is_known, of
from chemistry.science.hazard.classify import CALCULATED, classify, judge
from chemistry.science.hazard.composition import Basis, Recipe, exact
from chemistry.science.hazard.label import Named
from chemistry.science.hazard.mixture import Policy, Regime
from chemistry.science.hazard.protect import Activity, Gear
from chemistry.science.hazard.table import standard
from chemistry.science.hazard.trail import Supplement
from tests.chemistry.science.hazard import made


def pictures(*classes):
    rows = [Named(*each.rsplit(" ", 1)) for each in classes]
    return list(label.elements(rows).pictograms)


@pytest.mark.parametrize(
    ("classes", "wanted"),
    [
        (("Acute Tox. 3 H301", "Skin Irrit. 2 H315", "Skin Sens. 1 H317"), ["GHS06"]),
        (("Skin Corr. 1B H314", "Eye Irrit. 2 H319"), ["GHS05"]),
        (("Eye Dam. 1 H318", "Skin Irrit. 2 H315"), ["GHS05"]),
        (("Eye Dam. 1 H318", "Skin Sens. 1 H317"), ["GHS05", "GHS07"]),
        (("Eye Dam. 1 H318", "Acute Tox. 4 H302"), ["GHS05", "GHS07"]),
        (("Met. Corr. 1 H290", "Skin Irrit. 2 H315", "Eye Irrit. 2 H319"), ["GHS05"]),
        (("Resp. Sens. 1 H334", "Skin Sens. 1 H317", "Skin Irrit. 2 H315"), ["GHS08"]),
        (("Resp. Sens. 1 H334", "STOT SE 3 H335"), ["GHS07", "GHS08"]),
        (("Carc. 2 H351", "Skin Sens. 1 H317"), ["GHS07", "GHS08"]),
        (("Aquatic Chronic 3 H412",), []),
        (("Aquatic Chronic 2 H411", "Eye Irrit. 2 H319"), ["GHS07", "GHS09"]),
        (("Ox. Sol. 2 H272", "Flam. Liq. 3 H226"), ["GHS02", "GHS03"]),
    ],
)
def test_which_pictograms_stay(classes, wanted):
    """CLP Article 26(1) b, c, d, read; corrosive to metals alone hides the irritant's mark (computed)."""
    assert pictures(*classes) == wanted


def test_danger_excludes_warning_and_some_classes_have_no_signal():
    assert label.elements([Named("Eye Irrit. 2", "H319")]).signal == "Warning"
    assert label.elements([Named("Eye Irrit. 2", "H319"), Named("Repr. 1B", "H360FD")]).signal == "Danger"
    assert label.elements([Named("Aquatic Chronic 2", "H411")]).signal == ""
    assert label.elements([]).signal == ""


@pytest.mark.parametrize(
    ("codes", "wanted"),
    [
        (("H314", "H318"), ["H314"]),
        (("H400", "H410"), ["H410"]),
        (("H400", "H411"), ["H400", "H411"]),
        (("H315", "H318"), ["H315", "H318"]),
        (("H331", "H332"), ["H331"]),
        (("H330", "H332"), ["H330"]),
    ],
)
def test_a_statement_that_another_already_makes_is_left_out(codes, wanted):
    """CLP Article 27: H314 and H410 read."""
    rows = [Named("Lact.", code) for code in codes]
    assert [code for code, _ in label.elements(rows).statements] == wanted


def test_every_statement_a_class_can_give_has_words():
    for each in CATEGORIES:
        assert statement.words(each.statement)
    for letters in ("F", "D", "FD", "Fd", "Df"):
        assert statement.words(f"H360{letters}")
    for code in statement.ORDER:
        assert statement.words(code)
    asked = {each for codes in statement.ASKED_BY.values() for each in codes}
    assert asked <= set(statement.ORDER)
    assert set(statement.ORDER) == set(statement.PRECAUTION)


def test_at_most_six_precautions_the_stronger_in_place_of_the_weaker():
    found = statement.precautions(("H302", "H314", "H317", "H341", "H351", "H360FD", "H410"))
    assert found == ("P280", "P305+P351+P338", "P303+P361+P353", "P310", "P260", "P201")
    assert statement.precautions(("H317",)) == ("P280", "P302+P352", "P333+P313", "P261")
    assert statement.precautions(("H301", "H302")) == ("P301+P310",)
    assert statement.precautions(()) == ()


def test_categories_by_code_and_endpoint():
    assert (is_known("Eye Dam. 1"), is_known("Eye Dam. 3")) == (True, False)
    assert category("STOT SE 3", "H336").endpoint is Endpoint.DROWSINESS
    assert category("STOT SE 3").endpoint is Endpoint.AIRWAYS
    assert of(Endpoint.ACUTE_DERMAL, "Acute Tox. 3").statement == "H311"
    assert [of(Endpoint.ACUTE_ORAL, f"Acute Tox. {each}").signal for each in (3, 4, 5)] == [
        "Danger",
        "Warning",
        "Warning",
    ]


def gear(kind, activity, codes, *, from_powder=False):
    found = protect.protection(kind, activity, codes, from_powder=from_powder)
    return {each.gear: each.because for each in found.worn}


@pytest.mark.parametrize(
    "kind", [Kind.DEVELOPER, Kind.REPLENISHER, Kind.TONER, Kind.BLEACH, Kind.BLEACH_FIX, Kind.STABILISER]
)
@pytest.mark.parametrize("activity", list(Activity))
def test_no_calculation_lowers_the_floor(kind, activity):
    worn = gear(kind, activity, ())
    assert worn[Gear.EYES] == worn[Gear.GLOVES] == ("floor",)
    assert (Gear.TONGS in worn) is (activity is Activity.USING)


def test_a_harmless_fixer_asks_for_tongs_only():
    assert gear(Kind.FIXER, Activity.USING, ()) == {Gear.TONGS: ("floor",)}
    assert gear(Kind.FIXER, Activity.DISPOSING, ()) == {}


def test_powder_and_mixing_from_powder_are_dusty():
    for activity in (Activity.POWDER, Activity.MIXING):
        worn = gear(Kind.FIXER, activity, (), from_powder=True)
        assert set(worn) == {Gear.EYES, Gear.GLOVES, Gear.MASK, Gear.EXTRACTION}
    assert Gear.MASK not in gear(Kind.FIXER, Activity.MIXING, ())
    assert Gear.MASK not in gear(Kind.FIXER, Activity.USING, (), from_powder=True)


@pytest.mark.parametrize(
    ("code", "activity", "wanted"),
    [
        ("H319", Activity.USING, {Gear.EYES}),
        ("H314", Activity.USING, {Gear.EYES, Gear.GLOVES}),
        ("H314", Activity.MIXING, {Gear.EYES, Gear.GLOVES, Gear.SHIELD, Gear.APRON}),
        ("H318", Activity.DISPOSING, {Gear.EYES, Gear.SHIELD, Gear.APRON}),
        ("H317", Activity.USING, {Gear.GLOVES}),
        ("H360FD", Activity.USING, {Gear.GLOVES}),
        ("H373", Activity.USING, {Gear.GLOVES}),
        ("H335", Activity.USING, {Gear.EXTRACTION}),
        ("EUH031", Activity.USING, {Gear.EXTRACTION}),
        ("H410", Activity.USING, set()),
    ],
)
def test_gear_follows_from_statements(code, activity, wanted):
    worn = gear(Kind.FIXER, activity, (code,))
    assert set(worn) - {Gear.TONGS} == wanted
    assert all(worn[each] == (code,) for each in wanted)


@pytest.mark.parametrize(
    ("code", "activity", "from_powder", "asked"),
    [
        ("H341", Activity.POWDER, True, True),
        ("H360FD", Activity.MIXING, True, True),
        ("H361d", Activity.POWDER, True, True),
        ("H362", Activity.POWDER, True, True),
        ("H351", Activity.POWDER, True, False),
        ("H360FD", Activity.USING, True, False),
        ("H360FD", Activity.MIXING, False, False),
    ],
)
def test_a_powder_that_may_harm_a_child_says_ask_for_pre_mixed(code, activity, from_powder, asked):
    found = protect.protection(Kind.DEVELOPER, activity, (code,), from_powder=from_powder)
    assert ("Ask for pre-mixed; no reason need be given." in found.words) is asked
    assert found.words[-1] == protect.PREVAILS


@pytest.mark.parametrize(
    ("codes", "activity", "from_powder", "wanted"),
    [
        ((), Activity.USING, True, ["room-induction", "ppe"]),
        ((), Activity.POWDER, True, ["room-induction", "ppe", "powder-handling"]),
        (("H314",), Activity.MIXING, False, ["room-induction", "ppe", "corrosives"]),
        (("H318", "EUH031"), Activity.DISPOSING, False, ["room-induction", "ppe", "corrosives", "toxic-gas", "waste"]),
    ],
)
def test_topics_follow_from_statements(codes, activity, from_powder, wanted):
    assert list(protect.protection(Kind.FIXER, activity, codes, from_powder=from_powder).topics) == wanted


def test_acid_is_warned_of_where_gas_comes_off():
    found = protect.protection(Kind.FIXER, Activity.USING, ("EUH031",), from_powder=False)
    assert any("acids" in each for each in found.words)


def test_activities_are_judged_by_the_form_in_hand(starter):
    given = assess.recipe_of(starter["mq-borax"])
    powder, stock, working = (assess.assess(given, each) for each in ("powder", "stock", "1+3"))
    found = assess.protections(Kind.DEVELOPER, powder=powder, stock=stock, working=working)
    assert [each.activity for each in found] == list(Activity)
    by = {each.activity: each for each in found}
    assert protect.ASK_PREMIXED in by[Activity.POWDER].words
    assert protect.ASK_PREMIXED in by[Activity.MIXING].words
    assert protect.ASK_PREMIXED not in by[Activity.USING].words
    shield = {each.gear for each in by[Activity.MIXING].worn}
    assert Gear.SHIELD in shield
    liquid = assess.protections(Kind.FIXER, powder=None, stock=stock, working=working)
    assert [each.activity for each in liquid] == [Activity.MIXING, Activity.USING, Activity.DISPOSING]


def missing(*triples, **more):
    return [each.code for each in classify(made.mixture(*triples, **more)).missing]


def test_missing_data_never_reads_as_harmless():
    answer = classify(made.mixture(("115-40-2", 1, 1)))
    assert answer.worst.codes == ()
    assert answer.summary.startswith("Not known.")
    assert "bromocresol purple" in answer.summary
    assert not answer.known
    plain = classify(made.mixture((made.WATER, 50, 50)))
    assert plain.summary == f"No class at this strength. {CALCULATED}"
    assert plain.known


def test_a_class_is_said_together_with_what_is_missing():
    answer = classify(made.mixture((made.METOL, 5, 5)))
    assert answer.summary.startswith("Skin Sens. 1 H317")
    assert "Not known: The M-factor of metol" in answer.summary


@pytest.mark.parametrize(
    ("triples", "wanted"),
    [
        (((made.METOL, "0.185", "0.185"),), ["m_factor.unknown"]),
        (((made.METOL, "0.0001", "0.0001"),), []),
        (((made.METOL, 30, 30),), []),
        (((made.HYDROXIDE, "0.4", "0.4"),), ["ph.missing"]),
        (((made.HYDROXIDE, "0.009", "0.009"),), []),
        (((made.HYDROXIDE, 1, 1),), ["ph.missing", "metals.not_calculated"]),
        ((("64-19-7", 30, 30),), ["ph.missing", "flammable.not_calculated"]),
        ((("64-19-7", 15, 15),), []),
        ((("64-19-7", 25, 25),), ["ph.missing", "flammable.not_calculated"]),
        ((("64-19-7", "24.99", "24.99"),), ["ph.missing"]),
        (((made.HYDROXIDE, "0.5", "0.5"),), ["ph.missing", "metals.not_calculated"]),
        (((made.HYDROXIDE, "0.499", "0.499"),), ["ph.missing"]),
        ((("115-40-2", "0.009", "0.009"),), []),
        ((("115-40-2", "0.01", "0.01"),), ["substance.no_data"]),
    ],
)
def test_what_is_missing_is_named_where_it_matters(triples, wanted):
    assert missing(*triples) == wanted


def test_a_measured_ph_answers_the_question():
    assert "ph.missing" not in missing((made.HYDROXIDE, "0.4", "0.4"), ph=("10", "10"))
    assert "ph.missing" not in missing((made.HYDROXIDE, "0.4", "0.4"), solid=True)


def test_an_oxidising_powder_is_asked_about_and_its_solution_is_not():
    dichromate = ("7778-50-9", 30, 30)
    assert "oxidising.not_calculated" in missing(dichromate, solid=True)
    assert "oxidising.not_calculated" not in missing(dichromate)
    assert "oxidising.not_calculated" in missing(("7778-50-9", 1, 1), solid=True)
    assert "oxidising.not_calculated" not in missing(("7778-50-9", "0.999", "0.999"), solid=True)
    assert "oxidising.not_calculated" not in missing(("7778-50-9", 100, 100), solid=True)
    assert "oxidising.not_calculated" not in missing(("7722-84-1", 30, 30))


def test_the_words_on_metol_say_what_an_m_of_ten_would_do():
    [said] = classify(made.mixture((made.METOL, "0.185", "0.185"))).missing
    assert said.words == "The M-factor of metol is not known and counted as 1; with 10 it would be Aquatic Chronic 3."


def test_a_ph_that_may_be_extreme_is_worst_case_only():
    answer = classify(made.mixture((made.SULFITE, 5, 5), ph=("11", "12")))
    assert "Skin Corr. 1 H314" in answer.worst.codes
    assert "Skin Corr. 1 H314" not in answer.best.codes
    acid = classify(made.mixture((made.SULFITE, 5, 5), ph=("1.5", "2.5")))
    assert "Skin Corr. 1 H314" in acid.worst.codes
    assert "Skin Corr. 1 H314" not in acid.best.codes
    sure = classify(made.mixture((made.SULFITE, 5, 5), ph=("1.5", "2")))
    assert "Skin Corr. 1 H314" in sure.best.codes


def test_a_range_labels_its_worst_case():
    answer = classify(made.mixture((made.HYDROQUINONE, "0.5", 5)))
    assert "Eye Dam. 1 H318" in answer.worst.codes
    assert answer.best.codes == ()
    assert "H318" in [code for code, _ in label.of_mixture(answer).statements]


def test_flags_of_the_ingredients_come_along():
    found = classify(made.mixture((made.METOL, 1, 1))).flags
    assert {name for name, _ in found} == {"metol"}


def test_side_by_side_from_powder_to_the_weakest(starter):
    rules = starter["mq-borax"]
    found = assess.compare(assess.recipe_of(rules), ("1+3", "1+1", "stock"))
    assert [each.strength for each in found] == ["powder", "stock", "1+1", "1+3"]
    assert [each.label.signal for each in found] == ["Danger", "", "", ""]
    assert assess.strengths(assess.recipe_of(starter["rapid-fixer"]), ("1+9", "1+4")) == ("stock", "1+4", "1+9")


def test_the_same_question_is_answered_from_memory():
    given = Recipe((exact(made.BORAX, Decimal(5)),), Basis.G_PER_L, powder=True)
    assert assess.assess(given, "stock") is assess.assess(given, "stock")
    assert assess.assess(given, "stock") is not assess.assess(given, "stock", policy=Policy(Regime.UN_GHS))


def test_codes_hold_what_the_label_leaves_out():
    given = Recipe((exact(made.HYDROXIDE, Decimal(60)),), Basis.G_PER_L, powder=True)
    found = assess.assess(given, "stock")
    assert {"H314", "H318"} <= found.codes
    assert "H318" not in dict(found.label.statements)


def test_supplements_keep_their_words():
    found = label.elements([], [Supplement("EUH031", "Contact with acids liberates toxic gas.")])
    assert found.supplements == (("EUH031", "Contact with acids liberates toxic gas."),)


def test_timing_takes_both_in_turn():
    given = Recipe((exact(made.BORAX, Decimal(5)),), Basis.G_PER_L, powder=True)
    ticks = iter(Fraction(each) for each in range(100))
    found = timing.timed(strength.at(given, "stock", standard()), 5, lambda: float(next(ticks)))
    assert (found.rounds, found.classify_us, found.loop_us, found.ratio) == (5, 1e6, 1e6, 1.0)


def test_the_eye_is_damaged_by_what_burns_the_skin():
    found = judge(made.point((made.WATER, 1), ph=13))
    assert set(found.codes) == {"Skin Corr. 1 H314", "Eye Dam. 1 H318"}


def test_a_low_skin_limit_of_its_own_damages_the_eye_too():
    """At 1 % the sum for the eye misses 3 %, but what burns the skin burns the eye."""
    sharp = made.substance("Skin Corr. 1B", bands=(("Skin Corr. 1B", "0.5", None),))
    judged = judge(made.point((sharp, 1)))
    assert set(judged.codes) == {"Skin Corr. 1B H314", "Eye Dam. 1 H318"}
    [eye] = [each for each in judged.given if each.code == "Eye Dam. 1"]
    assert (eye.endpoint, eye.rank, eye.verdict) == (Endpoint.EYE, 1, "10 % >= 5 %: Eye Dam. 1")
    assert eye.rule.startswith("a mixture that burns the skin")


def test_only_substances_without_an_m_factor_are_named():
    both = (made.METOL, 1, 1), ("25646-77-9", 1, 1), ("92-43-3", 1, 1), (made.HYDROQUINONE, "0.2", "0.2")
    [said] = [each.words for each in classify(made.mixture(*both)).missing if each.code == "m_factor.unknown"]
    assert said == (
        "The M-factor of colour developing agent CD-4, sulfate, metol is not known and counted as 1;"
        " with 10 it would be Aquatic Chronic 2."
    )


def test_an_acute_m_factor_is_missing_even_where_the_chronic_one_is_known():
    kind = made.substance("Aquatic Acute 1", name="fish", m_chronic=Fraction(1))
    [said] = classify(made.mixture((kind, 5, 5))).missing
    assert said.words.endswith("with 10 it would be Aquatic Acute 1.")
    known = made.substance("Aquatic Acute 1", "Aquatic Chronic 1", name="fish", m_acute=Fraction(1))
    assert classify(made.mixture((known, 5, 5))).missing == ()


def test_the_regime_reaches_the_rules():
    mild = made.substance(acute=(("oral", None, 3000),))
    assert classify(made.mixture((mild, 90, 90)), made.UN).worst.codes == ("Acute Tox. 5 H303",)
    assert classify(made.mixture((mild, 90, 90))).worst.codes == ()


@pytest.mark.parametrize("ph", [("11.5", "12"), ("1", "2")])
def test_a_ph_extreme_from_end_to_end_is_in_the_best_case_too(ph):
    assert "Skin Corr. 1 H314" in classify(made.mixture((made.SULFITE, 5, 5), ph=ph)).best.codes


def test_the_gas_statement_carries_its_trail():
    [own] = judge(made.point(("7681-52-9", 6))).supplements[:1]
    assert (own.code, own.trail.code, own.trail.verdict) == ("EUH031", "EUH031", "6 % >= 5 %: EUH031")
    assert own.trail.origin.title.startswith("from memory")
    screened = judge(made.point((made.SULFITE, "1.2604"), policy=Policy())).supplements[0].trail
    assert screened.verdict == "2.406 L/kg >= 1 L/kg: EUH031"
    assert [(each.name, each.percent) for each in screened.counted] == [("sodium sulfite", Fraction("1.2604"))]


def test_every_supplement_but_the_unknown_share_carries_its_trail():
    pairs = ((made.HYDROQUINONE, "0.5"), (made.SULFITE, 10))
    found = {each.code: each.trail for each in judge(made.point(*pairs, policy=Policy())).supplements}
    assert found["EUH208"].verdict == "0.5 % >= 0.1 %: EUH208"
    assert found["EUH210"].verdict == "0.5 % >= 0.1 %: EUH210"
    assert all(each.fired and each.rule and each.counted for each in found.values())
    [breath] = [each for each in judge(made.point(("64-19-7", 56))).supplements if each.code == "EUH071"]
    assert breath.trail.code == "Skin Corr. 1B"
