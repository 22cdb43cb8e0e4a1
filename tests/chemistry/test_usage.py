"""Usage: sums by member, month, vessel and formula, of what stands."""

from datetime import UTC, datetime

import pytest

from chemistry.models import CheckIn
from darkroom_service import clock
from tests.chemistry import bench


@pytest.fixture
def line(room, bo, eli, cy, ada):
    """A line with the developer alone, and Ada inducted."""
    bench.inducted(room, ada)
    return bench.line(room, bench.developer(room))


@pytest.fixture
def used(line, ada, cy, client_for):
    """Ada has put one roll through at 1+1, the instructor two."""
    bench.row(client_for(ada).post("check-ins", bench.tank(line)))
    bench.row(client_for(cy).post("check-ins", bench.tank(line, rolls=2, size="946")))
    return line


def usage(client, query=""):
    answer = client.get(f"usage{query}")
    assert answer.status_code == 200, answer.json()
    return answer.json()["items"]


def test_a_member_sees_what_they_used_and_what_it_cost(used, ada, client_for):
    (total,) = usage(client_for(ada))
    assert (total["entries"], total["load"], total["load_units"]) == (1, "1.0000", 3600)
    assert total["area"] == {"value": "567.000", "unit": "cm2"}  # 35 x 1620 mm, from memory of ISO 1007
    assert total["volume"] == {"value": "500.0", "unit": "mL"}
    assert total["cost"] == {"minor": 79, "currency": "EUR"}


def test_the_staff_see_everybody_and_each_one(used, ada, bo, cy, client_for):
    rows = usage(client_for(bo), "?by=member")
    assert {row["key"]: row["load"] for row in rows} == {str(ada.public_id): "1.0000", str(cy.public_id): "2.0000"}
    (hers,) = usage(client_for(bo), f"?member={ada.public_id}")
    assert hers["load"] == "1.0000"


def test_an_admin_sees_totals_and_no_persons(used, di, ada, client_for):
    (total,) = usage(client_for(di))
    assert (total["entries"], total["load"]) == (2, "3.0000")
    for query in ("?by=member", f"?member={ada.public_id}"):
        answer = client_for(di).get(f"usage{query}")
        assert (answer.status_code, answer.json()["code"]) == (403, "usage.totals_only")


def test_a_member_asks_in_vain_for_another(used, ada, cy, client_for):
    answer = client_for(ada).get(f"usage?member={cy.public_id}")
    assert (answer.status_code, answer.json()["code"]) == (403, "usage.not_own")
    assert [row["key"] for row in usage(client_for(ada), "?by=member")] == [str(ada.public_id)]


def test_sums_by_vessel_and_formula_name_them(used, bo, client_for):
    vessel = used.steps.get().vessel
    assert [(row["key"], row["load"]) for row in usage(client_for(bo), "?by=vessel")] == [
        (str(vessel.public_id), "3.0000")
    ]
    assert [(row["key"], row["entries"]) for row in usage(client_for(bo), "?by=formula")] == [("mq-borax", 2)]


def test_a_month_begins_at_local_midnight(line, bo, ada, client_for):
    # 23:30 UTC on the last of November is already December in Berlin.
    with clock.fixed(datetime(2026, 11, 30, 23, 30, tzinfo=UTC)):
        bench.row(client_for(ada).post("check-ins", bench.tank(line)))
        assert [row["key"] for row in usage(client_for(bo), "?by=month")] == ["2026-12"]
        assert usage(client_for(bo), "?to=2026-11-30") == []
        assert len(usage(client_for(bo), "?from=2026-12-01&to=2026-12-01")) == 1


def test_what_was_taken_back_does_not_count(used, ada, client_for):
    made = CheckIn.objects.get(member=ada)
    client_for(ada).post(f"check-ins/{made.public_id}/reversal", {"reason": "typed twice"})
    assert usage(client_for(ada)) == []


@pytest.mark.parametrize("query", ["?by=week", "?from=yesterday", "?from=2026-02-30", "?member=1", "?cost=1"])
def test_what_cannot_be_read_is_refused(line, ada, client_for, query):
    assert client_for(ada).get(f"usage{query}").status_code == 400


def test_another_darkroom_has_its_own_sums(used, outsider, client_for):
    assert usage(client_for(outsider)) == []
    assert client_for(outsider).get(f"/api/v1/darkrooms/{used.darkroom.slug}/usage").status_code == 404


def test_sums_take_the_same_queries_however_much_was_used(used, bo, ada, client_for, django_assert_num_queries):
    client = client_for(bo)
    for by in ("total", "member", "month", "vessel", "formula"):
        with django_assert_num_queries(4):
            client.get(f"usage?by={by}")
    bench.row(client_for(ada).post("check-ins", bench.tank(used)))
    with django_assert_num_queries(4):
        client.get("usage?by=formula")
