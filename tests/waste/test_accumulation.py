"""Where a darkroom stands, by HTTP: kilograms computed from volumes by a density that the answer states."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from darkroom_service import clock
from tests.waste.pail import can, do, poured
from waste.commands import fill, inspection
from waste.science.standing import DENSITY

MAY = datetime(2026, 5, 10, 12, tzinfo=UTC)


@pytest.fixture
def us(room):
    room.country_rules = "US"
    room.save()
    return room


@pytest.fixture
def stands(bo, client_for):
    speaks = client_for(bo)

    def read(at=MAY, query=""):
        with clock.fixed(at):
            answer = speaks.get(f"accumulation{query}")
        assert answer.status_code == 200, answer.json()
        return answer.json()

    return read


@pytest.fixture
def held(bo):
    with clock.fixed(MAY - timedelta(days=60)):
        return can(bo, rated="1000000")


def pour(bo, held, amount, at=MAY):
    with clock.fixed(at):
        return poured(bo, held, amount)


def test_an_empty_darkroom_stands_on_nothing(us, stands):
    found = stands()
    assert (found["category"], found["days"], found["next_deadline"], found["inspection_due"]) == (
        "VSQG", None, None, None,
    )  # fmt: skip
    assert found["basis"] == "computed, not weighed"
    assert "1.10 kg/L" in found["assumption"]
    assert "prevail" in found["prevails"]
    assert found["caution"]


# 40 CFR 260.10, read in the EPA's summary: 100 kg is VSQG and more is SQG. 90.9 L x 1.10 = 99.99 kg, 90.92 L 100.01.
@pytest.mark.parametrize(("litres", "category"), [("90.9", "VSQG"), ("90.92", "SQG")])
def test_the_month_makes_the_category_on_both_sides(us, bo, held, stands, litres, category):
    pour(bo, held, str(Decimal(litres) * 1000))
    found = stands()
    assert (found["category"], Decimal(found["month_kg"])) == (category, round(Decimal(litres) * DENSITY, 2))


def test_a_pour_counts_in_the_month_it_happened_in_by_the_clocks_of_the_room(us, bo, held, stands):
    # Berlin is two hours ahead in May: 22:30 UTC on 30 April is 1 May there
    pour(bo, held, "10000", at=datetime(2026, 4, 30, 22, 30, tzinfo=UTC))
    pour(bo, held, "20000", at=datetime(2026, 4, 30, 21, 30, tzinfo=UTC))
    found = stands()
    assert (found["month_kg"], found["onsite_kg"]) == ("11.00", "33.00")
    assert found["began"] == "2026-04-30"


def test_a_pour_taken_back_counts_for_nothing_in_the_month_it_was_in(us, bo, held, stands):
    kept = pour(bo, held, "10000")
    wrong = pour(bo, held, "5000", at=datetime(2026, 4, 20, tzinfo=UTC))
    with clock.fixed(MAY):
        do(fill.reverse, bo, wrong, reason="wrong can")
    assert stands()["month_kg"] == "11.00"
    with clock.fixed(MAY):
        do(fill.reverse, bo, kept, reason="wrong can")
    assert (stands()["month_kg"], stands()["onsite_kg"]) == ("0.00", "0.00")


# 262.16(b), read: an SQG has 180 days, 270 where the site that takes it is 200 miles away.
def test_day_180_is_in_time_and_day_181_is_late(us, bo, held, stands):
    began = datetime(2026, 1, 1, 12, tzinfo=UTC)
    with clock.fixed(began):
        second = can(bo, rated="2000000", name="drum")
    pour(bo, second, "950000", at=began)  # 1045 kg on site keeps the limits of an SQG: 262.14(a)(4), read
    in_time, late = stands(began + timedelta(days=180)), stands(began + timedelta(days=181))
    assert (in_time["days"], in_time["over"], in_time["category"]) == (180, [], "VSQG")
    assert in_time["next_deadline"]["by"] == "2026-06-30"
    assert (late["days"], len(late["over"])) == (181, 1)
    assert stands(began + timedelta(days=181), "?far=yes")["over"] == []


def test_containers_never_looked_at_are_due_a_week_after_the_first_went_in(us, bo, held, stands):
    pour(bo, held, "1000")
    assert stands()["inspection_due"] == "2026-05-17"
    assert stands(MAY + timedelta(days=7))["inspection_late"] is False
    assert stands(MAY + timedelta(days=8))["inspection_late"] is True


def test_the_container_longest_unseen_is_due_first(us, bo, held, stands):
    # weekly: 40 CFR 262.16(b)(2)(iv), read in a trade note
    with clock.fixed(MAY):
        second = can(bo, name="second")
    pour(bo, held, "1000")
    pour(bo, second, "1000", at=MAY + timedelta(days=1))
    sound = {"lid": True, "leak": True, "label": True, "bund": True}
    with clock.fixed(MAY + timedelta(days=3)):
        do(inspection.record, bo, held, **sound)
    assert stands(MAY + timedelta(days=4))["inspection_due"] == "2026-05-18"  # the second, a week after its first pour
    with clock.fixed(MAY + timedelta(days=5)):
        do(inspection.record, bo, second, **sound)
    assert stands(MAY + timedelta(days=6))["inspection_due"] == "2026-05-20"


def test_waste_that_no_list_calls_hazardous_is_not_counted_and_the_answer_names_what_is(us, bo, stands):
    with clock.fixed(MAY - timedelta(days=1)):
        acid, fixer = can(bo, "stop-bath"), can(bo)
    pour(bo, acid, "1000")
    pour(bo, fixer, "2000")
    found = stands()
    assert found["month_kg"] == "2.20"
    assert [each["code"] for each in found["counted"]] == ["fixer"]


def test_europe_has_no_line_by_quantity_and_the_uk_a_return_to_wait_for(room, bo, held, stands):
    pour(bo, held, "1000")
    room.country_rules = "EU"
    room.save()
    found = stands()
    assert "first kilogram" in found["why"]
    # Directive 1999/31/EC, Article 2 (g), from memory: less than a year before disposal
    assert found["next_deadline"]["by"] == "2027-05-09"
    assert found["consignee_return_due"] is None
    room.country_rules = "UK"
    room.save()
    # SI 2005/894, regulation 53, read: April to June by 31 July
    assert stands()["consignee_return_due"] == "2026-07-31"
    assert {each["months"] for each in stands()["retention"]} == {36, 12, 24}


def test_the_queries_do_not_grow_with_the_containers(us, bo, held, client_for):
    speaks = client_for(bo)

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert speaks.get("accumulation").status_code == 200
        return len(seen)

    pour(bo, held, "1000")
    few = queries()
    for number in range(4):
        with clock.fixed(MAY):
            other = can(bo, ("stop-bath", "bw-developer", "bleach-fix", "fixer")[number], name=f"can {number}")
        pour(bo, other, "1000")
    assert queries() == few


def test_a_member_does_not_read_it(ada, client_for):
    assert client_for(ada).get("accumulation").status_code == 403


def test_a_query_nobody_knows_is_refused(bo, client_for):
    assert client_for(bo).get("accumulation?near=yes").status_code == 400
