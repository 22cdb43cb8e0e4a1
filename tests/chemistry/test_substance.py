"""Substances over HTTP: the table with its sources, and what a darkroom says instead, never silently."""

import pytest

from tests.chemistry import bench, brew

METOL, PHENOL = "55-55-0", "108-95-2"
SHEET = "supplier's sheet of 3 May 2026, section 2"


def said(answer, status=200):
    assert answer.status_code == status, answer.content
    return answer.json()


def told(**cells):
    return {"cells": cells, "source": SHEET, "reason": "It came with our powder."}


@pytest.fixture
def voice(ada, client_for):
    return client_for(ada)


@pytest.fixture
def cys(cy, client_for):
    return client_for(cy)


def test_every_cell_says_where_it_comes_from_and_whether_anybody_read_it(voice):
    found = said(voice.get(f"substances/{METOL}"))
    assert found["name"] == "metol"
    assert found["changed_by"] is None
    assert {"hazards", "molar_mass"} <= {each["cell"] for each in found["cells"]}
    assert all(each["source"] and each["how"] for each in found["cells"])
    assert "memory" in {each["how"] for each in found["cells"]}


def test_the_table_is_paged_without_losing_a_row(voice):
    whole = [each["cas"] for each in said(voice.get("substances?limit=200"))["items"]]
    seen, address = [], "substances?limit=7"
    while address:
        page = said(voice.get(address))
        seen += [each["cas"] for each in page["items"]]
        address = page["next"]
    assert seen == whole
    assert len(set(whole)) == len(whole) > 40


def test_what_is_not_there_is_not_there(voice):
    for address in ("substances/108-95-2", "substances/metol", "substances/metol/overrides"):
        assert voice.get(address).status_code == 404


def test_an_override_is_used_in_every_answer_and_named_there(voice, cys, room):
    """CLP Annex I Table 3.5.2, read: Muta. 1B from 0.1 %; metol at 2 g/L in the stock is 0.2 %."""
    formula = brew.published(room).formula.public_id
    vessel = bench.developer(room)
    assert "H340" not in str(said(voice.get(f"formulas/{formula}/hazards")))
    said(cys.post(f"substances/{METOL}/overrides", told(classes=[{"code": "Muta. 1B"}])), 201)
    named = [{"cas": METOL, "name": "metol", "source": SHEET}]
    hazards = said(voice.get(f"formulas/{formula}/hazards"))
    assert "H340" in {each["code"] for each in hazards["statements"]}
    assert hazards["overrides"] == named
    compared = said(voice.get(f"formulas/{formula}/hazards/compare"))["items"]
    assert all(each["overrides"] == named for each in compared)
    posted = {"ingredients": [{"cas": METOL, "amount": "5"}], "basis": "percent"}
    assert said(voice.post("hazards", posted))["overrides"] == named
    sheet = said(voice.get(f"formulas/{formula}/mixing-sheet?makes=3800&hot=55&cold=15"))
    assert [each["overrides"] for each in sheet["hazards"]] == [named, named]
    bottle = said(voice.get(f"vessels/{vessel.public_id}"))
    assert bottle["hazards"]["overrides"] == named
    assert "H340" in {each["code"] for each in bottle["hazards"]["statements"]}
    [row] = said(voice.get("substances?changed=true"))["items"]
    assert (row["cas"], row["changed_by"]) == (METOL, SHEET)
    assert ("hazards", "darkroom", SHEET) in {(each["cell"], each["how"], each["source"]) for each in row["cells"]}


def test_another_darkroom_does_not_hear_of_it(cys, outsider, client_for):
    said(cys.post(f"substances/{METOL}/overrides", told(classes=[])), 201)
    theirs = client_for(outsider)
    assert said(theirs.get(f"substances/{METOL}"))["changed_by"] is None
    assert said(theirs.get(f"substances/{METOL}/overrides"))["items"] == []


def test_a_later_version_replaces_the_one_before_whole(voice, cys):
    said(cys.post(f"substances/{METOL}/overrides", told(m_acute="10")), 201)
    said(cys.post(f"substances/{METOL}/overrides", told(m_chronic="10")), 201)
    by_darkroom = {
        each["cell"] for each in said(voice.get(f"substances/{METOL}"))["cells"] if each["how"] == "darkroom"
    }
    assert by_darkroom == {"m_chronic"}
    versions = said(voice.get(f"substances/{METOL}/overrides"))["items"]
    assert [each["number"] for each in versions] == [2, 1]


def test_a_withdrawn_override_counts_no_more_and_stays_on_record(voice, cys):
    made = said(cys.post(f"substances/{METOL}/overrides", told(m_acute="10")), 201)["id"]
    address = f"substances/{METOL}/overrides/{made}/withdrawal"
    said(cys.post(address, {"reason": "Read in the wrong line."}), 201)
    assert said(voice.get(f"substances/{METOL}"))["changed_by"] is None
    assert [each["withdrawn"] for each in said(voice.get(f"substances/{METOL}/overrides"))["items"]] == [True, False]
    assert said(cys.post(address, {"reason": "Again."}), 409)["code"] == "override.withdrawn"


def test_only_the_version_that_stands_is_withdrawn(cys):
    first = said(cys.post(f"substances/{METOL}/overrides", told(m_acute="10")), 201)["id"]
    said(cys.post(f"substances/{METOL}/overrides", told(m_acute="100")), 201)
    answer = said(cys.post(f"substances/{METOL}/overrides/{first}/withdrawal", {"reason": "Mistake."}), 409)
    assert answer["code"] == "override.replaced"


def test_a_substance_of_the_darkrooms_own_can_be_reckoned_with(voice, cys):
    lacking = said(cys.post(f"substances/{PHENOL}/overrides", told(name="phenol")), 400)
    assert lacking["errors"][0]["code"] == "override.incomplete"
    toxic = [{"route": "oral", "category": 3}]
    said(cys.post(f"substances/{PHENOL}/overrides", told(name="phenol", classes=[], toxicity=toxic)), 201)
    found = said(voice.post("hazards", {"ingredients": [{"cas": PHENOL, "amount": "100"}], "basis": "percent"}))
    assert "H301" in {each["code"] for each in found["statements"]}


def reckoned(voice, amount):
    body = {"ingredients": [{"cas": PHENOL, "amount": amount}], "basis": "percent", "rest": "water"}
    return said(voice.post("hazards", body))


def test_a_new_substance_whose_toxicity_nobody_told_is_not_known_to_be_harmless(voice, cys):
    """DESIGN's rule: missing data is "not known". CLP Annex I 3.1.3.6.2: unknown acute toxicity is stated from 1 %."""
    said(cys.post(f"substances/{PHENOL}/overrides", told(name="phenol", classes=[])), 201)
    found = reckoned(voice, "5")
    assert not found["known"]
    assert "no data for acute oral, acute dermal" in found["summary"]
    assert "ATE.unknown" in {each["code"] for each in found["supplements"]}
    said(cys.post(f"substances/{PHENOL}/overrides", told(name="phenol", classes=[], toxicity=[])), 201)
    assert reckoned(voice, "5")["known"]


@pytest.mark.parametrize("code", ["Skin Corr. 1B", "Eye Dam. 1"])
def test_what_the_darkroom_says_burns_asks_for_the_ph_until_it_says_from_which_share(voice, cys, code):
    """CLP Annex I 3.2.3.1.2, read: pH 2 and below or 11.5 and above burns, whatever the shares say."""
    burns = {"name": "phenol", "classes": [{"code": code}], "toxicity": []}
    said(cys.post(f"substances/{PHENOL}/overrides", told(**burns)), 201)
    found = reckoned(voice, "0.5")
    assert not found["classes"]
    assert {each["code"] for each in found["missing"]} == {"ph.missing"}
    said(cys.post(f"substances/{PHENOL}/overrides", told(**burns, extreme_ph_from="1")), 201)
    assert reckoned(voice, "0.5")["known"]


@pytest.mark.parametrize("who", ["ada", "bo"])
def test_only_instructors_and_admins_change_a_substance(who, request, client_for):
    speaks = client_for(request.getfixturevalue(who))
    assert speaks.post(f"substances/{METOL}/overrides", told(m_acute="10")).status_code == 403


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [
        ({"cells": {"m_acute": "10"}, "reason": "because"}, "/source", "required"),
        ({"cells": {"m_acute": "10"}, "source": SHEET}, "/reason", "required"),
        (told(), "/cells", "override.empty"),
        (told(colour="white"), "/cells/colour", "field.unknown"),
        (told(m_acute="0"), "/cells/m_acute", "number.out_of_range"),
        (told(m_acute="0.99"), "/cells/m_acute", "number.out_of_range"),
        (told(m_chronic="0.000001"), "/cells/m_chronic", "number.out_of_range"),
        (told(classes=[{"code": "Nasty 1"}]), "/cells/classes/0/code", "invalid_choice"),
        (
            told(classes=[{"code": "Eye Dam. 1", "statement": "H340"}]),
            "/cells/classes/0/statement", "statement.foreign",
        ),
        (
            told(limits=[{"code": "Eye Dam. 1", "from_percent": "5", "below_percent": "3"}]),
            "/cells/limits/0/below_percent", "range.reversed",
        ),
        (told(toxicity=[{"route": "oral"}]), "/cells/toxicity/0", "toxicity.untold"),
    ],
)  # fmt: skip
def test_a_bad_override_is_refused_at_its_place(cys, sent, pointer, code):
    found = said(cys.post(f"substances/{METOL}/overrides", sent), 400)["errors"]
    assert pointer in [each["pointer"] for each in found]
    if "required" not in code and code != "invalid_choice":
        assert (pointer, code) in [(each["pointer"], each["code"]) for each in found]


def test_every_cell_that_may_be_said_can_be_read_again(voice, cys):
    whole = told(
        name="metol of ours", molar_mass="344.38", classes=[{"code": "STOT SE 3", "statement": "H336"}],
        limits=[{"code": "Eye Irrit. 2", "from_percent": "1", "below_percent": "3"}],
        toxicity=[{"route": "dust", "ate": "1.5"}], m_acute="10", m_chronic="1", no_data=["cancer"],
        extreme_ph_from="5", own_ph="-0.5", non_additive=True, doubts=["Another batch may differ."],
        exposure=[{"body": "our own", "kind": "mean", "value": "1", "unit": "mg/m3", "minutes": 480}],
        aquatic=[{"test": "Daphnia 48 h EC50", "mg_per_l": "0.5"}],
    )  # fmt: skip
    said(cys.post(f"substances/{METOL}/overrides", whole), 201)
    cells = {each["cell"] for each in said(voice.get(f"substances/{METOL}"))["cells"] if each["how"] == "darkroom"}
    assert {"name", "molar_mass", "hazards", "bands", "toxicity", "m_acute", "m_chronic", "no_data", "own_ph",
            "extreme_ph_from", "non_additive", "flags", "aquatic", "limit in air, our own"} <= cells  # fmt: skip


def test_a_key_sent_twice_has_one_effect(voice, cys):
    key = "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"
    made = [said(cys.post(f"substances/{METOL}/overrides", told(m_acute="10"), key=key), 201) for _ in range(2)]
    assert made[0] == made[1]
    assert len(said(voice.get(f"substances/{METOL}/overrides"))["items"]) == 1


def test_listing_takes_the_same_queries_however_much_is_changed(voice, cys, django_assert_max_num_queries):
    for cas in (METOL, "123-31-9", "92-43-3"):
        said(cys.post(f"substances/{cas}/overrides", told(m_acute="10")), 201)
    with django_assert_max_num_queries(5):
        said(voice.get("substances"))


PPM = {"body": "our own", "kind": "mean", "value": "1", "unit": "ppm", "minutes": 480}


@pytest.mark.parametrize(
    ("cas", "cells", "code"),
    [
        (METOL, {"exposure": []}, "exposure.empty"),
        (PHENOL, {"name": "phenol", "classes": [], "exposure": [PPM]}, "exposure.without_mass"),
    ],
)
def test_limits_in_air_are_replaced_and_never_taken_away(cys, cas, cells, code):
    [fault] = said(cys.post(f"substances/{cas}/overrides", told(**cells)), 400)["errors"]
    assert (fault["pointer"], fault["code"]) == ("/cells", code)


def test_a_limit_in_air_of_the_darkrooms_own_judges_the_dust(voice, cys):
    said(cys.post(f"substances/{METOL}/overrides", told(exposure=[PPM])), 201)
    room = {"room_volume": "30", "air_changes": "6"}
    found = said(voice.post("air/dust", {"raised": {"value": "1", "unit": "g"}, "substance": METOL, **room}))
    assert "our own" in {each["body"] for each in found["cloud"]["limits"]}
