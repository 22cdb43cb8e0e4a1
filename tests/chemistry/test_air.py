"""The room's air by HTTP: dust, fumes and clearance, computed, with nothing written and every fault named."""

from decimal import Decimal
from math import exp, log

import pytest

from accounts.models import Entry
from tests.chemistry import brew

ROOM = {"room_volume": "30", "air_changes": "6"}
GRAM = {"value": "1", "unit": "g"}


def litre(value="1"):
    return {"value": value, "unit": "L"}


def grams(value):
    return {"value": value, "unit": "g"}


def fault(answer, status=400):
    assert answer.status_code == status, answer.json()
    return answer.json()["code"], [each["pointer"] for each in answer.json().get("errors", [])]


def told(client, path, body):
    answer = client.post(path, body)
    assert answer.status_code == 200, answer.json()
    return answer.json()


@pytest.fixture
def voice(client_for, ada):
    return client_for(ada)


def test_dust_of_any_kind_falls_by_the_air_changes(voice, room):
    """Derived: 1 g in 30 m3 is 33.3 mg/m3, and six changes an hour leave 1/e of it after ten minutes."""
    found = told(voice, "air/dust", {"raised": GRAM, **ROOM})
    curve = {each["minute"]: Decimal(each["mg_m3"]) for each in found["cloud"]["curve"]}
    assert abs(curve[0] - Decimal("33.3333")) < Decimal("0.001")
    assert abs(curve[10] - Decimal(1000 / 30 * exp(-1))) < Decimal("0.001")
    assert (found["of"], found["without_limit"]) == ("dust of any kind", [])
    assert any("highe" in each for each in found["assumptions"])
    assert found["cautions"]
    assert "Calculated" in found["prevails"]
    assert "exp" in found["rule"]


def test_a_powder_is_judged_by_each_ingredient_that_has_a_limit(voice, room):
    """The packet makes 109 g a litre, 5 g of it hydroquinone: 4.6 %, from the published MQ-borax formula."""
    row = brew.published(room).formula
    found = told(voice, "air/dust", {"raised": GRAM, "formula": str(row.public_id), **ROOM})
    limits = {(each["agent"], each["body"], each["kind"]): each for each in found["cloud"]["limits"]}
    ceiling = limits["hydroquinone", "NIOSH REL", "ceiling"]
    share, mean = 5 / 109, (1 - exp(-1.5)) / 1.5
    assert abs(Decimal(ceiling["reached"]) - Decimal(1000 / 30 * share * mean)) < Decimal("0.001")
    assert abs(Decimal(ceiling["reaching"]["value"]) - Decimal(2 / (1000 / 30 * share * mean))) < Decimal("0.001")
    assert (ceiling["over"], ceiling["how"], ceiling["minutes"]) == (False, "read", 15)
    assert {agent for agent, *_ in limits} == {"hydroquinone", "borax decahydrate", "dust of any kind"}
    assert any("metol" in each for each in found["without_limit"])
    assert any("respirator" in each["precaution"] for each in found["cautions"])


def test_a_substance_by_its_number(voice, room):
    found = told(voice, "air/dust", {"raised": GRAM, "substance": "123-31-9", **ROOM})
    assert found["of"] == "hydroquinone"
    assert any(each["over"] for each in found["cloud"]["limits"])
    other = told(voice, "air/dust", {"raised": GRAM, "substance": "55-55-0", **ROOM})
    assert {each["agent"] for each in other["cloud"]["limits"]} == {"dust of any kind"}
    assert len(other["without_limit"]) == 1


def test_settings_stand_in_for_what_is_left_out(client_for, di, ada, room):
    answer = client_for(di).patch(f"/api/v1/darkrooms/{room.slug}", ROOM)
    assert answer.status_code == 200, answer.json()
    assert (answer.json()["room_volume"], answer.json()["air_changes"]) == ("30.00", "6.00")
    found = told(client_for(ada), "air/dust", {"raised": GRAM})
    assert found["room"] == {
        "room_volume": "30.00", "air_changes": "6.00", "from_settings": ["room_volume", "air_changes"]
    }  # fmt: skip
    found = told(client_for(ada), "air/dust", {"raised": GRAM, "air_changes": "0"})
    assert found["room"]["from_settings"] == ["room_volume"]
    assert found["cloud"]["clear_after_minutes"] is None, "0 air changes told are 0, not the settings'"


def test_a_room_nobody_measured_is_asked_for_by_name(voice, room):
    assert fault(voice.post("air/dust", {"raised": GRAM})) == ("room.untold", ["/room_volume"])
    assert fault(voice.post("air/dust", {"raised": GRAM, "room_volume": "30"})) == ("room.untold", ["/air_changes"])
    assert fault(voice.post("air/clearance", {})) == ("room.untold", ["/air_changes"])


@pytest.mark.parametrize(
    ("more", "code", "pointer"),
    [
        ({"raised": grams("0")}, "shape.malformed", "/raised/value"),
        ({"raised": "1 g"}, "shape.malformed", "/raised"),
        ({"room_volume": "0"}, "shape.malformed", "/room_volume"),
        ({"room_volume": 30}, "shape.malformed", "/room_volume"),
        ({"air_changes": "-1"}, "shape.malformed", "/air_changes"),
        ({"air_changes": "6.001"}, "shape.malformed", "/air_changes"),
        ({"substance": "123-31-8"}, "cas.check_digit", "/substance"),
        ({"substance": "hydroquinone"}, "shape.malformed", "/substance"),
        ({"substance": "hydroq"}, "cas.malformed", "/substance"),
        ({"substance": "67-64-1"}, "cas.unknown", "/substance"),
        ({"formula": "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"}, "formula.unknown", "/formula"),
        ({"wind": "north"}, "shape.malformed", "/wind"),
    ],
)
def test_bad_input_is_named_where_it_stands(voice, room, more, code, pointer):
    answer = voice.post("air/dust", {"raised": GRAM, **ROOM, **more})
    assert answer.status_code == 400, answer.json()
    assert [each["pointer"] for each in answer.json()["errors"]] == [pointer]
    if not code.startswith("shape"):
        assert answer.json()["code"] == code


def test_a_liquid_raises_no_dust_and_two_answers_are_not_given_at_once(voice, room, elsewhere):
    liquid = str(brew.published(room, "rapid-fixer").formula.public_id)
    assert fault(voice.post("air/dust", {"raised": GRAM, "formula": liquid, **ROOM})) == ("powder.none", ["/formula"])
    both = {"raised": GRAM, "formula": liquid, "substance": "123-31-9", **ROOM}
    assert fault(voice.post("air/dust", both)) == ("dust.two_kinds", ["/substance"])
    foreign = str(brew.published(elsewhere).formula.public_id)
    absent = "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"
    foreign, absent = (voice.post("air/dust", {"raised": GRAM, "formula": each, **ROOM}) for each in (foreign, absent))
    assert foreign.content == absent.content


def test_acid_carried_into_a_sulfite_bath(voice, room):
    """Where acid equals sulfite mole for mole the mixture is bisulfite and acetate, half way between pKa 4.76 and 7.2.

    Derived: pH = (4.756 + 7.2) / 2 = 5.98 where both acids are far enough apart; constants from memory.
    """
    body = {
        "bath": {"volume": litre(), "sulfite": grams("12.604")},
        "acid": {"volume": litre("0.1"), "acetic_acid": grams("6.005")},
        "headspace": litre("2"),
        **ROOM,
    }
    found = told(voice, "air/sulfite-and-acid", body)
    assert abs(Decimal(found["ph"]) - Decimal("5.98")) < Decimal("0.05")
    assert found["at_most"]["released"]["value"] == "6.4060", "a tenth of a mole of SO2"
    shut_in, most = (Decimal(found[name]["released"]["value"]) for name in ("in_headspace", "at_most"))
    assert 0 < shut_in < most
    held = Decimal(found["headspace_ppm"]) / 1_000_000 * 2 / Decimal("24.06") * Decimal("64.06")
    assert abs(shut_in - held) < Decimal("0.00001")
    assert {each["unit"] for each in found["at_most"]["limits"]} == {"ppm"}
    assert any("closed space" in each for each in found["assumptions"])
    assert any("asthma" in each["hazard"] for each in found["cautions"])
    assert found["not_balanced"] == []


def test_baths_are_told_by_formula_and_strength_too(voice, room):
    """MQ-borax stock holds 100 g/L of sulfite; 28 % acid at 1+20 holds 290/21 g/L of acetic acid."""
    borax, stop = (str(brew.published(room, code).formula.public_id) for code in ("mq-borax", "stop-acetic"))
    body = {
        "bath": {"volume": litre(), "formula": borax, "dilution": "1+1"},
        "acid": {"volume": litre("0.021"), "formula": stop, "dilution": "1+20"},
        **ROOM,
    }
    found = told(voice, "air/sulfite-and-acid", body)
    assert found["sulfite"]["value"] == "50.000000"
    assert Decimal(found["acetic_acid"]["value"]) == Decimal("0.29")
    fixer = str(brew.published(room, "rapid-fixer").formula.public_id)
    body["bath"] = {"volume": litre(), "formula": fixer, "dilution": "1+4"}
    found = told(voice, "air/sulfite-and-acid", body)
    assert found["not_balanced"] == ["thiosulfate"]
    assert found["assumptions"][0].startswith("No bound here: thiosulfate")


def test_an_acid_that_is_not_reckoned_is_not_called_harmless(voice, room):
    borax, stop = (str(brew.published(room, code).formula.public_id) for code in ("mq-borax", "stop-citric"))
    body = {"bath": {"volume": litre(), "formula": borax}, "acid": {"volume": litre(), "formula": stop}, **ROOM}
    answer = voice.post("air/sulfite-and-acid", body)
    assert (answer.status_code, answer.json()["code"]) == (422, "fumes.not_reckoned")
    assert "harmless" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("part", "pointer", "code"),
    [
        ({"bath": {"volume": litre()}}, "/bath/formula", "liquid.untold"),
        ({"acid": {"volume": litre(), "acetic_acid": grams("1"), "dilution": "1+1"}}, "/acid/dilution",
         "dilution.without_formula"),
        ({"bath": {"volume": litre("0"), "sulfite": grams("1")}}, "/bath/volume/value", None),
        ({"headspace": "a lot"}, "/headspace", None),
    ],
)  # fmt: skip
def test_faults_of_the_two_liquids(voice, room, part, pointer, code):
    whole = {
        "bath": {"volume": litre(), "sulfite": grams("10")},
        "acid": {"volume": litre(), "acetic_acid": grams("10")},
        **ROOM,
    }
    answer = voice.post("air/sulfite-and-acid", {**whole, **part})
    assert answer.status_code == 400, answer.json()
    assert [each["pointer"] for each in answer.json()["errors"]] == [pointer]
    assert code in {None, answer.json()["code"]}


def test_a_strength_read_two_ways_is_refused_where_it_stands(voice, room):
    borax = str(brew.published(room).formula.public_id)
    body = {
        "bath": {"volume": litre(), "formula": borax, "dilution": "1:3"},
        "acid": {"volume": litre(), "acetic_acid": grams("10")},
        **ROOM,
    }
    assert fault(voice.post("air/sulfite-and-acid", body)) == ("dilution.malformed", ["/bath/dilution"])


def test_clearance(voice, room):
    """Derived: -60 ln 0.05 / 6 is 30.0 minutes; a table of the usual shares beside it."""
    found = told(voice, "air/clearance", {"air_changes": "6"})
    assert found["minutes"] == "30.0"
    assert {each["left_percent"]: each["minutes"] for each in found["others"]}["1"] == f"{-60 * log(0.01) / 6:.1f}"
    assert found["room"]["room_volume"] is None
    assert told(voice, "air/clearance", {"air_changes": "0"})["minutes"] is None
    assert told(voice, "air/clearance", {"air_changes": "6", "left_percent": "50"})["minutes"] == "6.9"
    assert fault(voice.post("air/clearance", {"air_changes": "6", "left_percent": "0"}))[1] == ["/left_percent"]


def test_nothing_is_written_and_no_key_is_asked(voice, room):
    before = Entry.objects.count()
    answer = voice.post("air/clearance", {"air_changes": "6"}, HTTP_IDEMPOTENCY_KEY="")
    assert answer.status_code == 200
    assert Entry.objects.count() == before
