"""Pages lose no row and show none twice, whatever is written in between."""

from datetime import UTC, datetime

import pytest
from django.contrib.auth import get_user_model
from rest_framework.test import APIClient

pytestmark = [pytest.mark.urls("tests.service.toy_urls"), pytest.mark.django_db]
SAME_MOMENT = datetime(2026, 1, 1, tzinfo=UTC)


def people(count, start=0):
    rows = [
        get_user_model()(username=f"p{number}", name="P", joined_at=SAME_MOMENT)
        for number in range(start, start + count)
    ]
    return [row.pk for row in get_user_model().objects.bulk_create(rows)]


def walk(address, between=lambda: None):
    """Follow the next links to the end and return the ids page by page."""
    pages = []
    while address:
        response = APIClient().get(address)
        assert response.status_code == 200
        body = response.json()
        pages.append([item["id"] for item in body["items"]])
        assert (f'<{body["next"]}>; rel="next"' if body["next"] else None) == response.get("Link")
        address = body["next"]
        between()
    return pages


def test_rows_of_the_same_moment_all_come_once():
    ids = people(5)
    assert walk("/api/people?limit=2") == [[ids[4], ids[3]], [ids[2], ids[1]], [ids[0]]]


def test_the_oldest_can_come_first():
    ids = people(3)
    assert walk("/api/oldest?limit=2") == [ids[:2], ids[2:]]


def test_rows_written_meanwhile_shift_nothing():
    ids = people(6)
    fresh = iter(range(100, 200))
    pages = walk("/api/people?limit=2", between=lambda: people(3, start=next(fresh) * 10))
    assert [pk for page in pages for pk in page] == ids[::-1]


def test_a_full_last_page_has_no_next():
    people(4)
    assert len(walk("/api/people?limit=2")) == 2


def test_an_empty_list_is_one_empty_page():
    assert walk("/api/people") == [[]]


def test_fifty_come_unless_asked_otherwise():
    people(60)
    assert [len(page) for page in walk("/api/people")] == [50, 10]
    assert [len(page) for page in walk("/api/people?limit=200")] == [60]


def test_other_questions_stay_in_the_next_link():
    people(3)
    body = APIClient().get("/api/people?limit=1&state=open&state=closed").json()
    assert "state=open&state=closed" in body["next"]
    assert body["next"].startswith("/api/people?")


def test_a_forged_host_does_not_bend_the_next_link():
    people(3)
    body = APIClient().get("/api/people?limit=1", HTTP_X_FORWARDED_HOST="evil.example").json()
    assert "evil" not in body["next"]


@pytest.mark.parametrize("limit", ["0", "-1", "201", "1e9", "", "x", "１", "999999999999999999999", "1.0", " 1"])
def test_an_impossible_limit_is_400(limit):
    response = APIClient().get("/api/people", {"limit": limit})
    assert response.status_code == 400
    assert response.json()["code"] == "limit.invalid"


@pytest.mark.parametrize(
    "cursor", ["", "x", "!!!", "LTE=", "MA==", "MTIzNDU2Nzg5MDEyMzQ1Njc4OTA=", "bnVsbA==", "é", "\x00", "MQ"]
)
def test_a_made_up_cursor_is_400(cursor):
    response = APIClient().get("/api/people", {"cursor": cursor})
    assert response.status_code == 400
    assert response.json()["code"] == "cursor.invalid"
