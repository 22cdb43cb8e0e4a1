"""Assessments of waste by HTTP: computed from formula or composition, with nothing written and every fault named."""

from decimal import Decimal
from uuid import uuid4

import pytest

from accounts.models import Entry
from tests import make
from tests.chemistry import brew
from tests.waste.pail import can, ml, within
from waste.commands import fill
from waste.models import DrainRule

PATHS = ("bleach", "stop-into-developer", "neutralisation", "oxygen-demand", "silver", "discharge")
STOCK = [
    {"cas": "55-55-0", "g_per_l": "2"},
    {"cas": "7757-83-7", "g_per_l": "100"},
    {"cas": "123-31-9", "g_per_l": "5"},
    {"cas": "1303-96-4", "g_per_l": "2"},
]


NEGATIVE = [{"cas": "123-31-9", "g_per_l": "-1"}]


def litres(value="1"):
    return {"value": value, "unit": "L"}


def millilitres(value):
    return {"value": value, "unit": "mL"}


def bath(**given):
    return {"volume": litres(), "composition": STOCK, **given}


def stop(value="20", volume="1"):
    return {"volume": litres(volume), "composition": [{"cas": "64-19-7", "g_per_l": value}]}


@pytest.fixture
def voice(client_for, ada):
    return client_for(ada)


def told(client, path, body):
    answer = client.post(f"assessments/{path}", body)
    assert answer.status_code == 200, answer.json()
    found = answer.json()
    assert found["basis"] == "computed, not measured"
    assert found["cautions"]
    assert found["sources"]
    assert {each["status"] for each in found["sources"]}
    assert "prevail" in found["prevails"]
    return found


def fault(client, path, body, status=400):
    answer = client.post(f"assessments/{path}", body)
    assert answer.status_code == status, answer.json()
    return answer.json()["code"], [each["pointer"] for each in answer.json().get("errors", [])]


def asked():
    """Return one good question for each path."""
    return {
        "bleach": {"bath": bath(), "bleach": {"volume": millilitres("100")}},
        "stop-into-developer": {"bath": bath(), "stop": stop()},
        "neutralisation": {"bath": stop()},
        "oxygen-demand": {"bath": bath()},
        "silver": {"rolls": "25"},
        "discharge": {"bath": bath(), "water": litres("100")},
    }


# 1 L of MQ-borax stock with 50 and 100 mL of 5 % bleach: computed from molar masses and the CRC table of ions.
@pytest.mark.parametrize(("volume", "share", "rise"), [("50", "0.0455", "2.77"), ("100", "0.0910", "5.30")])
def test_the_customary_dose_of_bleach_eats_sulfite_and_nothing_else(voice, volume, share, rise):
    found = told(voice, "bleach", {"bath": bath(), "bleach": {"volume": millilitres(volume)}, "ph": "8.5"})
    assert (found["sulfite_share"], found["rise_k"]) == (share, rise)
    assert Decimal(found["hydroquinone_share"]) == Decimal(found["metol_share"]) == 0
    assert found["most_to_hydroquinone"] == "0.00337"
    assert found["verdict"] == "not_a_treatment"
    assert found["demand"]["before_agents_l"] == "1.0988"
    assert found["ph_window"] == {"bleach_lowest": "9.5", "sulfite_lowest": "7.0", "sulfite_alarm": "6.5"}
    assert "chlorine" in " ".join(found["warnings"])
    assert "incident" in " ".join(found["if_done"])
    assert "recommend" not in found["words"]


def test_a_formula_at_a_strength_is_the_same_as_its_composition(voice, room):
    row = brew.published(room).formula
    by_name = {"volume": litres(), "formula": str(row.public_id)}
    half = [{**each, "g_per_l": str(Decimal(each["g_per_l"]) / 2)} for each in STOCK]
    for given, composition in (({}, STOCK), ({"dilution": "1+1"}, half)):
        one = told(voice, "oxygen-demand", {"bath": by_name | given})
        assert one == told(voice, "oxygen-demand", {"bath": bath(composition=composition)})


def test_ammonium_fixer_is_warned_of_with_chloramines(voice, room):
    fixer = brew.published(room, "rapid-fixer").formula
    held = {"volume": litres(), "formula": str(fixer.public_id), "dilution": "1+4"}
    found = told(voice, "bleach", {"bath": held, "bleach": {"volume": millilitres("100")}})
    assert "chloramines" in " ".join(found["warnings"])
    assert found["chlorine_ppm"] is None


# 20 g/L of acetic acid into MQ-borax stock: charge balance, constants from memory.
@pytest.mark.parametrize(
    ("volume", "ph", "verdict"), [("1", 7.34, "keep_apart"), ("2", 6.53, "never"), ("8", 4.39, "never")]
)
def test_stop_bath_in_developer_is_never_let_pass(voice, volume, ph, verdict):
    found = told(voice, "stop-into-developer", {"bath": bath(), "stop": stop(volume=volume)})
    assert float(found["ph"]) == pytest.approx(ph, abs=0.1)
    assert (found["verdict"], found["break_point_l"]) == (verdict, "2.38")
    assert "containers of their own" in found["words"]


def test_a_stop_bath_and_what_neutralises_it(voice, room):
    found = told(voice, "neutralisation", {"bath": stop()})
    grams = {each["formula"]: each["grams"] for each in found["bases"]}
    assert grams == {"NaHCO3": "27.98", "Na2CO3": "17.65", "NaOH": "13.32"}  # stoichiometry, computed
    part = told(voice, "neutralisation", {"bath": stop(), "target_ph": "6"})
    assert part["share"] == "0.9461"  # 1 / (1 + 10^(4.756 - 6)), computed
    citric = {
        "volume": litres(),
        "formula": str(brew.published(room, "stop-citric").formula.public_id),
        "dilution": "1+19",
    }
    assert Decimal(told(voice, "neutralisation", {"bath": citric})["ph"]) < Decimal("2.3")


def test_oxygen_demand_is_set_against_limits_elsewhere(voice):
    found = told(voice, "oxygen-demand", {"bath": bath(volume=litres("2"))})
    # 25.1 g/L against 4000 and 400 mg/L: stoichiometry, computed; limits read in stored copies
    assert [each["times"] for each in found["elsewhere"]] == ["6.3", "62.8"]
    assert Decimal(found["total_g"]) == 2 * Decimal(found["total_g_per_l"])


def test_silver_of_rolls_with_a_price_that_the_asker_brings(voice):
    found = told(voice, "silver", {"rolls": "25", "price_per_g": "1.00", "cost": "30"})
    assert (found["low_g"], found["usual_g"], found["high_g"]) == ("3.0960", "5.1600", "7.2240")
    assert found["worth"]["words"] == "not worth recovering for the money"
    assert told(voice, "silver", {"rolls": "25"})["worth"] is None


def test_silver_of_a_container_is_what_its_pours_told_and_carries_d011(bo, voice):
    held = can(bo)
    silver = {"silver_mg": {"low": "1000", "nominal": "3000", "high": "4000"}}
    origin = {"kind": "check-in", "text": "fixer", "stream": "fixer", **silver}
    within(bo, lambda work: fill.pour_locked(work, container=held, volume=ml("1000"), origin=origin, happened=True))
    found = told(voice, "silver", {"container": str(held.public_id)})
    assert [Decimal(found[name]) for name in ("low_g", "usual_g", "high_g")] == [1, 3, 4]
    assert (Decimal(found["mg_per_l"]), found["us_code"]) == (3000, "D011")  # 600 times the 5.0 mg/L, computed
    empty = told(voice, "silver", {"container": str(can(bo, name="another").public_id)})
    assert (empty["mg_per_l"], empty["us_code"], Decimal(empty["usual_g"])) == (None, "", 0)


def test_a_discharge_shows_the_dilution_it_would_take_and_allows_nothing(voice):
    found = told(voice, "discharge", {"bath": bath(), "water": litres("100")})
    # 5 g/L against 0.57 µg/L and 0.71 mg/L, ECHA dossier 14417, read: 8.77 million and 7043 times, computed
    needed = {each["threshold_mg_per_l"]: each["dilution_needed"] for each in found["against"]}
    assert (needed["0.00057"], needed["0.71"]) == ("8771930", "7043")
    assert found["verdict"] == "over"
    assert found["drain_rule"] is None
    assert "No drain rule" in found["words"]


def test_the_limits_of_the_drain_rule_in_force_are_taken(di, room, voice):
    rule = DrainRule.objects.create(
        darkroom=room, number=1, approved_by="the water board", reference="WB 7", daily_volume=ml("5000"), by=di,
        ph_low=Decimal(6), ph_high=Decimal(10), limits=[{"cas": "7440-22-4", "name": "silver", "mg_per_l": "2"}],
        valid_from="2020-01-01", entry=Entry.objects.filter(darkroom=room).last(),
    )  # fmt: skip
    body = {"bath": stop(), "water": litres("9"), "silver_mg_per_l": "21", "ph": "5.9"}
    found = told(voice, "discharge", body)
    silver = next(each for each in found["against"] if each["cas"] == "7440-22-4")
    assert (silver["after_mg_per_l"], silver["over"], silver["place"]) == ("2.100", True, "sewer")
    assert found["drain_rule"] == str(rule.public_id)
    assert "below" in found["ph_words"]


@pytest.mark.parametrize("path", PATHS)
def test_an_assessment_writes_nothing_and_asks_for_no_key(voice, path):
    before = Entry.objects.count()
    answer = voice.generic("POST", f"assessments/{path}", make_json(asked()[path]), content_type="application/json")
    assert answer.status_code == 200, answer.json()
    assert Entry.objects.count() == before


def make_json(body):
    import json

    return json.dumps(body)


def test_everybody_of_the_room_may_ask(client_for, di, bo, cy, max):
    for who in (di, bo, cy, max):
        told(client_for(who), "oxygen-demand", {"bath": bath()})


def test_a_foreign_formula_is_like_one_that_is_not_there(voice, outsider):
    foreign = brew.published(outsider.darkroom).formula.public_id
    answers = [
        voice.post("assessments/oxygen-demand", {"bath": {"volume": litres(), "formula": str(each)}})
        for each in (foreign, uuid4())
    ]
    assert [each.status_code for each in answers] == [400, 400]
    assert answers[0].json() == answers[1].json()
    assert answers[0].json()["errors"][0]["pointer"] == "/bath/formula"


def test_a_foreign_container_is_like_one_that_is_not_there(voice, outsider):
    theirs = can(make.member(outsider, *make_roles()))
    answers = [voice.post("assessments/silver", {"container": str(each)}) for each in (theirs.public_id, uuid4())]
    assert [each.status_code for each in answers] == [400, 400]
    assert answers[0].json() == answers[1].json()


def make_roles():
    from accounts.acts import Role

    return (Role.TECHNICIAN,)


@pytest.mark.parametrize(
    ("path", "body", "pointer"),
    [
        ("bleach", {"bath": {"volume": litres()}, "bleach": {"volume": litres()}}, "/bath"),
        ("bleach", {"bath": bath(), "bleach": {"volume": litres(), "percent": "0"}}, "/bleach/percent"),
        ("bleach", {"bath": bath(), "bleach": {"volume": litres("0")}}, "/bleach/volume/value"),
        ("oxygen-demand", {"bath": bath(dilution="1+1")}, "/bath"),
        ("oxygen-demand", {"bath": bath(composition=[])}, "/bath/composition"),
        ("oxygen-demand", {"bath": bath(composition=[STOCK[0], STOCK[0]])}, "/bath/composition/1/cas"),
        ("oxygen-demand", {"bath": bath(composition=[{"cas": "123-31-8", "g_per_l": "1"}])}, "/bath/composition/0/cas"),
        ("oxygen-demand", {"bath": bath(composition=NEGATIVE)}, "/bath/composition/0/g_per_l"),
        ("oxygen-demand", {"bath": bath(composition="stock")}, "/bath/composition"),
        ("silver", {}, ""),
        ("silver", {"rolls": "1", "container": str(uuid4())}, ""),
        ("silver", {"rolls": "NaN"}, "/rolls"),
        ("discharge", {"bath": bath(), "ph": "15"}, "/ph"),
        ("neutralisation", {"bath": stop(), "target_ph": "9"}, "/target_ph"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_with_its_place(voice, path, body, pointer):
    assert pointer in fault(voice, path, body)[1]


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("stop-into-developer", {"bath": bath(), "stop": bath()}),
        ("stop-into-developer", {"bath": stop(), "stop": stop()}),
        ("neutralisation", {"bath": bath()}),
        ("neutralisation", {"bath": stop("0.0001"), "target_ph": "4"}),
    ],
)
def test_what_is_not_reckoned_is_no_yes(voice, path, body):
    assert fault(voice, path, body, 422)[0] == "assessment.not_reckoned"


def test_a_dilution_read_two_ways_is_refused(voice, room):
    row = brew.published(room).formula
    held = {"volume": litres(), "formula": str(row.public_id), "dilution": "1:1"}
    assert fault(voice, "oxygen-demand", {"bath": held})[1] == ["/bath/dilution"]
