"""The hazards of a posted composition over HTTP: the three bases, both regimes, and every fault at its place."""

from decimal import Decimal

import pytest

from accounts.models import Entry

HYDROXIDE, METOL, HYDROQUINONE, SULFITE, BORAX = "1310-73-2", "55-55-0", "123-31-9", "7757-83-7", "1303-96-4"


@pytest.fixture
def ask(ada, client_for):
    speaks = client_for(ada)
    return lambda body, status=200: said(speaks.post("hazards", body), status)


def said(answer, status):
    assert answer.status_code == status, answer.content
    return answer.json()


def body(*rows, basis="percent", **more):
    return {"ingredients": [dict(each) for each in rows], "basis": basis, **more}


def of(cas, amount=None, low=None, high=None):
    return {"cas": cas, "amount": amount} if amount else {"cas": cas, "low": low, "high": high}


def classes(found):
    return {each["code"] for each in found["classes"]}


def places(answer):
    return [(each["pointer"], each["code"]) for each in answer["errors"]]


def test_the_answer_is_that_of_the_formula_and_nothing_is_written(ask, ada):
    """CLP Annex VI, specific limits of sodium hydroxide (from memory): 2 % <= C < 5 % is Skin Corr. 1B."""
    before = Entry.objects.count()
    found = ask(body(of(HYDROXIDE, "3"), rest="water"))
    assert "Skin Corr. 1B" in classes(found)
    assert found["signal"] == "Danger"
    assert {"protections", "cautions", "statements", "overrides", "assumptions", "best"} <= found.keys()
    [burns] = [each for each in found["classes"] if each["code"] == "Skin Corr. 1B"]
    [counted] = burns["counted"]
    assert (counted["cas"], counted["percent"], counted["weight"]) == (HYDROXIDE, "3", "2.5")
    assert (burns["sum"], burns["limit"]) == ("7.5", "5")  # its own limit of 2 % weighs as much as the general 5 %
    assert Entry.objects.count() == before


def test_it_asks_for_no_key(ada, client_for):
    speaks = client_for(ada)
    answer = speaks.post("hazards", body(of(SULFITE, "5"), rest="water"), HTTP_IDEMPOTENCY_KEY="")
    assert answer.status_code == 200, answer.content


def test_the_three_bases_agree_on_one_bath(ask):
    """Arithmetic: 10 g in 1 L, a packet of 10 g for 1 L, and 100 % of a powder used 10 g to the litre."""
    per_litre = ask(body(of(HYDROQUINONE, "10"), basis="g_per_l"))
    packet = ask(body(of(HYDROQUINONE, "10"), basis="grams", form="stock", makes={"value": "1", "unit": "L"}))
    percent = ask(body(of(HYDROQUINONE, "100"), received="powder", g_per_l="10"))
    for each in (packet, percent):
        assert classes(each) == classes(per_litre)
        assert [row["sum"] for row in each["classes"]] == [row["sum"] for row in per_litre["classes"]]


def test_a_range_labels_its_worst_and_tells_its_best(ask):
    """CLP Annex I Table 3.6.2, read: Carc. 2 from 1 %. Hydroquinone between 0.5 and 5 %."""
    found = ask(body(of(HYDROQUINONE, low="0.5", high="5"), rest="water"))
    assert any(each.startswith("Carc. 2") for each in classes(found))
    assert not any(each.startswith("Carc. 2") for each in found["best"])


def test_the_regime_of_the_united_nations_has_no_eu_statements(ask):
    rows = (of(METOL, "0.2"), of(SULFITE, "10"))
    assert any(each["code"].startswith("EUH") for each in ask(body(*rows, rest="water"))["supplements"])
    un = ask(body(*rows, rest="water", regime="UN"))
    assert un["regime"] == "UN"
    assert not any(each["code"].startswith("EUH") for each in un["supplements"])


def test_a_density_lowers_a_share_and_is_said(ask):
    """Arithmetic: 120 g/L at 1.2 kg/L are 10 % by weight, at the 1.00 taken where nobody knows 12 %."""
    plain = ask(body(of(HYDROQUINONE, "120"), basis="g_per_l"))
    dense = ask(body(of(HYDROQUINONE, "120"), basis="g_per_l", density="1.2"))
    shares = [each["classes"][0]["counted"][0]["percent"] for each in (plain, dense)]
    assert [Decimal(each) for each in shares] == [12, 10]
    assert any("Density not known" in each for each in plain["assumptions"])


def test_a_missing_ph_is_not_known_and_never_harmless(ask):
    found = ask(body(of(HYDROXIDE, "0.4"), rest="water"))
    assert "ph.missing" in {each["code"] for each in found["missing"]}
    assert found["known"] is False
    assert "ot known" in found["summary"]
    burning = ask(body(of(HYDROXIDE, "0.4"), rest="water", ph="13"))
    assert any(each.startswith("Skin Corr. 1") for each in classes(burning))


@pytest.mark.parametrize(("form", "measured"), [("1+2.0", "1+2"), ("1+2", "1+2.0"), ("1+2.0", None)])
def test_a_ph_counts_however_its_strength_is_written(ask, form, measured):
    """CLP Annex I 3.2.3.1.2, read: pH 11.5 and above burns; 1+2 and 1+2.0 are one strength."""
    said_where = {"ph_of": measured} if measured else {}
    found = ask(body(of(HYDROXIDE, "0.9"), rest="water", form=form, ph="13", **said_where))
    assert "Skin Corr. 1" in classes(found)
    assert "ph.missing" not in {each["code"] for each in found["missing"]}


def test_what_nobody_names_is_not_known(ask):
    found = ask(body(of(SULFITE, "5")))
    assert "composition.unnamed" in {each["code"] for each in found["missing"]}


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [
        (body(of("123-31-8", "5")), "/ingredients/0/cas", "cas.check_digit"),
        (body(of(METOL, "5"), of("108-95-2", "5")), "/ingredients/1/cas", "cas.unknown"),
        (body(of("metol", "5")), "/ingredients/0/cas", "cas.malformed"),
        (body(of(METOL, "60"), of(SULFITE, "50")), "/ingredients", "share.over_hundred"),
        (body(of(METOL, "101")), "/ingredients", ""),
        (body(of(METOL, low="5", high="3")), "/ingredients/0/low", "range.reversed"),
        (body(of(METOL, low="-1", high="3")), "/ingredients/0/low", "range.negative"),
        (body(of(METOL, "-1")), "/ingredients/0/amount", "range.negative"),
        (body(of(METOL, "0")), "/ingredients/0/amount", "range.nothing"),
        (body(), "/ingredients", "composition.empty"),
        (body(of(METOL, "5"), received="powder", form="1+3"), "/g_per_l", "dilution.without_stock"),
        (body(of(METOL, "5"), basis="grams", form="1+3"), "/makes", "dilution.without_stock"),
        (body(of(METOL, "5"), form="1:3"), "/form", "strength.malformed"),
        (body(of(METOL, "5"), form="powder", received="liquid"), "/form", "powder.none"),
        (body(of(METOL, "5"), density="9"), "/density", "density.implausible"),
        (body(of(METOL, "5"), ph="16"), "/ph", "ph.implausible"),
        (body(of(METOL, "5"), received="powder", g_per_l="-1"), "/g_per_l", "amount.not_positive"),
        (body(of(METOL, "5"), ph_of="stock"), "/ph_of", "ph.untold"),
        (body(of(METOL, "5"), ph="13", ph_of="tray"), "/ph_of", "strength.malformed"),
        (body(of(METOL, "5"), ph="13", ph_of="powder"), "/ph_of", "strength.malformed"),
    ],
)  # fmt: skip
def test_each_fault_is_named_at_its_place(ask, sent, pointer, code):
    found = places(ask(sent, 400))
    assert pointer in [place for place, _ in found]
    assert not code or (pointer, code) in found


def test_all_faults_are_told_at_once(ask):
    found = places(ask(body(of("123-31-8", "5"), of(METOL, low="5", high="3"), density="9"), 400))
    assert {("/ingredients/0/cas", "cas.check_digit"), ("/ingredients/1/low", "range.reversed"),
            ("/density", "density.implausible")} <= set(found)  # fmt: skip


@pytest.mark.parametrize("row", [{"cas": METOL}, {"cas": METOL, "low": "1"}, {"cas": METOL, "amount": "1", "low": "1"}])
def test_an_amount_is_one_figure_or_a_range(ask, row):
    [(pointer, code)] = places(ask(body(row), 400))
    assert (pointer, code) == ("/ingredients/0", "amount.untold")


def test_the_floor_of_protection_holds_for_what_carries_no_class(ask):
    """The floor no calculation lowers: eye protection and gloves for developer, common practice, no source."""
    found = ask(body(of(METOL, "0.001"), rest="water"))
    assert not found["classes"]
    using = next(each for each in found["protections"] if each["activity"] == "using")
    assert {"eye protection", "gloves"} <= set(using["worn"])
    assert any("allergic" in each["hazard"] for each in found["cautions"])
