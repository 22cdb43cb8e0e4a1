"""Hazards and cautions where somebody is about to touch something: sheet, plan, vessel, and a pour asked about."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from accounts.acts import Act
from accounts.commands.entry import Work
from chemistry.commands import hazards
from chemistry.commands.ledger import Book
from chemistry.science.hazard.table import standard
from darkroom_service import clock
from tests.chemistry import bench, brew

PREVAILS = "Calculated, not tested; the supplier's sheet and local law prevail."


@pytest.fixture
def voice(bo, client_for):
    return client_for(bo)


def said(answer, status=200):
    assert answer.status_code == status, answer.content
    return answer.json()


def codes(brief):
    return {each["code"] for each in brief["statements"]}


def guarded(answer):
    """The floor no calculation lowers, DESIGN's words: allergic reaction at every strength; and who prevails."""
    assert any("allergic reaction" in each["hazard"] for each in answer["cautions"])
    assert "prevail" in answer["cautions"][-1]["precaution"]


def test_the_mixing_sheet_tells_of_the_powder_and_of_what_it_becomes(voice, room):
    formula = brew.published(room).formula.public_id
    sheet = said(voice.get(f"formulas/{formula}/mixing-sheet?makes=3800&hot=55&cold=15"))
    powder, stock = sheet["hazards"]
    assert (powder["form"], stock["form"]) == ("powder", "stock")
    assert {"H341", "H351"} <= codes(powder)
    assert not {"H341", "H351"} & codes(stock)
    assert powder["prevails"] == stock["prevails"] == PREVAILS
    worn = {each["activity"]: set(each["worn"]) for each in sheet["protections"]}
    assert worn.keys() == {"powder", "mixing"}
    assert all({"eye protection", "gloves"} <= each for each in worn.values())
    assert any("respirator" in each for each in worn["powder"])
    assert any("pre-mixed" in words for each in sheet["protections"] for words in each["words"])
    guarded(sheet)


def test_a_vessel_tells_of_its_contents_and_an_empty_one_of_nothing(voice, room):
    full, empty = bench.developer(room), brew.bottle(room)
    found = said(voice.get(f"vessels/{full.public_id}"))
    assert (found["hazards"]["formula"], found["hazards"]["form"]) == ("mq-borax", "stock")
    assert found["hazards"]["unknowns"]
    assert "ot known" in found["hazards"]["summary"]
    assert any(each["code"] == "EUH208" for each in found["hazards"]["supplements"])
    guarded(found)
    bare = said(voice.get(f"vessels/{empty.public_id}"))
    assert (bare["hazards"], bare["cautions"]) == (None, [])


def test_a_plan_tells_of_the_stock_that_is_poured_and_of_what_is_used(voice, room):
    line = bench.line(room, bench.developer(room))
    bench.inducted(room, brew.staff(room))
    wanted = bench.tank(line) | {"use": "one_shot", "dilution": "1+1"}
    plan = said(voice.post("tank-plans", wanted), 201)
    assert [each["form"] for each in plan["hazards"]][:2] == ["stock", "1+1"]
    assert all(each["prevails"] == PREVAILS for each in plan["hazards"])
    assert {"eye protection", "gloves"} <= set(plan["hazards"][1]["worn"])
    guarded(plan)


def test_a_pour_asked_about_tells_of_what_is_poured_and_what_it_becomes(voice, room):
    source, target = bench.developer(room), brew.bottle(room)
    asked = {
        "kind": "dilute", "check": True, "source": str(source.public_id), "target": str(target.public_id),
        "volume": bench.quantity("500"), "dilution": "1+1",
    }  # fmt: skip
    found = said(voice.post("transfers", asked))
    assert {each["form"] for each in found["hazards"]} == {"stock", "1+1"}
    guarded(found)
    target.refresh_from_db()
    assert target.contents == 0


def test_an_ingredient_the_table_does_not_know_is_not_known_and_the_rest_is_judged(room):
    """Hydroquinone in an MQ-borax powder still gives H351, CLP Annex I Table 3.6.2 (from 1 %), read."""
    version = brew.published(room)
    version.rules_data = version.rules_data | {
        "composition": [*version.rules_data["composition"], {"name": "mystery", "cas": "108-95-2", "g_per_l": "1"}]
    }
    vars(version).pop("rules", None)
    found = hazards.at_strength(version, "powder", substances=standard())
    assert "H351" in dict(found.statements)
    assert any("mystery" in each for each in found.unknowns)


def test_what_cannot_be_judged_keeps_the_floor_and_is_not_known(room):
    found = hazards.at_strength(brew.published(room), "1:3", substances=standard())
    assert not found.known
    assert found.words.startswith("Not known")
    assert {"eye protection", "gloves"} <= set(found.ppe)


def test_an_answer_is_kept_for_the_same_liquid(room):
    version, table = brew.published(room), hazards.substances_of(room)
    assert table is standard()
    assert hazards.at_strength(version, "stock", substances=table) is hazards.at_strength(
        version, "stock", substances=hazards.substances_of(room)
    )


def test_one_act_asks_for_the_substances_once_however_much_it_pours_away(room, bo, django_assert_num_queries):
    now = clock.now()
    book = Book(Work(room, bo, None, Act.CHECK_IN_CREATE, 99, now, now), now)
    with django_assert_num_queries(1):
        assert [book.substances for _ in range(3)] == [standard()] * 3


def spoken(*words):
    out = StringIO()
    call_command(*words, stdout=out)
    return out.getvalue().splitlines()


def test_every_value_from_memory_is_listed_with_its_source():
    unread, every = spoken("sources", "--unread"), spoken("sources")
    assert len(every) > len(unread) > 100
    assert unread[-1] == every[-1]
    assert all(" memory | " in each or " weak | " in each for each in unread[:-1])
    assert any(each.startswith("metol | hazards | ") for each in unread)
    assert set(unread) <= set(every)


def test_the_benchmark_tells_both_and_their_ratio():
    lines = spoken("bench_hazards", "--rounds", "5")
    assert lines[0].endswith("5")
    assert float(lines[-1].split(": ")[1]) > 1
    with pytest.raises(CommandError, match="fewer than 5"):
        spoken("bench_hazards", "--rounds", "4")
