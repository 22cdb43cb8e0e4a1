"""One's own wishes about mail, and the hours they speak of on days when the clocks change."""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from accounts.science.quiet import Wish, out_of_quiet, ready_at
from darkroom_service.localday import next_at

NIGHT = {"quiet_from": time(22), "quiet_until": time(7)}


@pytest.mark.django_db
def test_wishes_are_read_changed_and_guarded_by_their_version(reachable, client_for):
    speaker = client_for(reachable)
    first = speaker.get("preferences")
    assert first.json() == {
        "mail": "each", "digest_hour": 7, "quiet_from": None, "quiet_until": None, "reachable": True,
    }  # fmt: skip
    wished = {"mail": "daily", "digest_hour": 18, "quiet_from": "22:00", "quiet_until": "07:30"}
    changed = speaker.patch("preferences", wished, etag=first["ETag"])
    assert changed.status_code == 200, changed.json()
    assert changed.json() == {**wished, "reachable": True}
    assert speaker.patch("preferences", wished, etag=first["ETag"]).status_code == 412
    assert speaker.patch("preferences", {"quiet_from": None, "quiet_until": None}).json()["quiet_from"] is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    "body",
    [
        {"mail": "never"}, {"digest_hour": 24}, {"quiet_from": "22:00"}, {"quiet_from": "25:00", "quiet_until": "7:00"},
        {"quiet_from": "7:00", "quiet_until": "08:00"}, {"quiet_from": 22, "quiet_until": 7}, {"other": 1},
        {"quiet_from": "22:00\n", "quiet_until": "07:00"}, {"quiet_from": "٢٢:00", "quiet_until": "07:00"},
    ],
)  # fmt: skip
def test_a_wish_that_is_none_is_refused(reachable, client_for, body):
    assert client_for(reachable).patch("preferences", body).status_code == 400


@pytest.mark.django_db
def test_who_has_no_address_is_told_so(max, bo, client_for):
    assert client_for(max).get("preferences").json()["reachable"] is False


def utc(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


# Berlin's clocks go from 2:00 to 3:00 on 29 March 2026 and from 3:00 back to 2:00 on 25 October 2026, at 01:00 UTC
# (European Union, Directive 2000/84/EC: the last Sundays of March and October).
@pytest.mark.parametrize(
    ("at", "until", "ready"),
    [
        ("2026-01-10T22:30", "07:00", "2026-01-11T06:00"),
        ("2026-07-10T22:30", "07:00", "2026-07-11T05:00"),
        ("2026-03-28T22:30", "07:00", "2026-03-29T05:00"),
        ("2026-10-24T22:30", "07:00", "2026-10-25T06:00"),
        ("2026-03-29T00:15", "02:30", "2026-03-29T01:30"),  # 2:30 is skipped: 3:30 summer time
        ("2026-10-25T00:10", "02:30", "2026-10-25T00:30"),  # the first 2:10 waits for the first 2:30
        ("2026-10-25T01:10", "02:30", "2026-10-25T01:30"),  # the second 2:10 for the second, not for tomorrow's
    ],
)
def test_quiet_hours_end_by_the_local_clock(at, until, ready):
    wish = Wish("Europe/Berlin", None, time(22), time.fromisoformat(until))
    assert out_of_quiet(wish, utc(at)) == utc(ready)


@pytest.mark.parametrize(("wall", "quiet"), [("21:59", False), ("22:00", True), ("06:59", True), ("07:00", False)])
def test_quiet_hours_begin_and_end_on_the_minute(wall, quiet):
    at = datetime.fromisoformat(f"2026-02-03T{wall}").replace(tzinfo=ZoneInfo("Asia/Kathmandu"))
    assert (out_of_quiet(Wish("Asia/Kathmandu", None, **NIGHT), at) != at) is quiet


def test_daytime_quiet_hours_and_none_at_all():
    noon = utc("2026-02-03T12:00")
    assert out_of_quiet(Wish("UTC", None, time(9), time(17)), noon) == utc("2026-02-03T17:00")
    assert out_of_quiet(Wish("UTC", None, time(9), time(9)), noon) == noon
    assert out_of_quiet(Wish("UTC"), noon) == noon


def test_a_digest_hour_inside_quiet_hours_waits_for_their_end_and_safety_for_neither():
    wish = Wish("Europe/Berlin", 6, **NIGHT)
    posted = utc("2026-01-10T12:00")
    assert ready_at(wish, posted_at=posted, now=posted, safety=False) == utc("2026-01-11T06:00")
    assert ready_at(wish, posted_at=posted, now=posted, safety=True) == posted


def test_the_next_time_is_met_every_day_of_a_year():
    zone = ZoneInfo("Australia/Lord_Howe")  # its clocks change by half an hour
    at = utc("2026-01-01T00:00")
    for _ in range(365):
        found = next_at(at, time(7), "Australia/Lord_Howe")
        assert found.astimezone(zone).time() == time(7)
        assert 0 <= (found - at).total_seconds() <= 24.5 * 3600
        at = found.replace(minute=found.minute) + (utc("2026-01-01T00:01") - utc("2026-01-01T00:00"))
