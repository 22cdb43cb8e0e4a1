from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from darkroom_service.localday import day_of, end_of, months_after, start_of

ZONES = [
    "Europe/Berlin",
    "America/New_York",
    "Asia/Kathmandu",  # +05:45
    "Pacific/Kiritimati",  # +14
    "Australia/Lord_Howe",  # half an hour of summer time
    "America/Santiago",  # the clocks go forward at midnight
]


@pytest.mark.parametrize("zone", ZONES)
def test_every_day_of_a_year_begins_where_the_one_before_ends_and_the_instant_before_is_still_yesterday(zone):
    for number in range(366):
        day = date(2026, 1, 1) + timedelta(days=number)
        begins = start_of(day, zone)
        assert begins == end_of(day - timedelta(days=1), zone)
        assert day_of(begins, zone) == day
        assert day_of(begins - timedelta(microseconds=1), zone) == day - timedelta(days=1)


def test_the_day_the_clocks_go_forward_has_23_hours_and_the_day_they_go_back_25():
    # IANA time zone database: Central European Summer Time begins 2026-03-29, ends 2026-10-25
    hours = [
        (end_of(day, "Europe/Berlin") - start_of(day, "Europe/Berlin")) / timedelta(hours=1)
        for day in (date(2026, 3, 28), date(2026, 3, 29), date(2026, 10, 25))
    ]
    assert hours == [24, 23, 25]


def test_a_day_without_midnight_begins_with_the_change():
    # IANA time zone database: in Santiago 2026-09-06 begins at 01:00, which is 04:00 UTC
    assert start_of(date(2026, 9, 6), "America/Santiago") == datetime(2026, 9, 6, 4, tzinfo=UTC)
    assert datetime(2026, 9, 6, 4, tzinfo=UTC).astimezone(ZoneInfo("America/Santiago")).hour == 1


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 11, 25), 12, date(2027, 11, 25)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 11, 30), 1, date(2026, 12, 30)),
    ],
)
def test_months_later_is_the_same_day_or_the_last_of_a_shorter_month(day, months, then):
    assert months_after(day, months) == then
