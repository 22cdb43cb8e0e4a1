"""The customary date, from the history of the vessel. All figures: common practice, no source."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import keeping
from chemistry.science.formula import Keeping
from chemistry.science.keeping import History, use_by

MQ = Keeping(full_months=6, part_full_months=2, tested_days=14, diluted={"1+3": 12, "1+4": 24 * 60}, tray_hours=8)
MADE = date(2026, 1, 10)


def test_full_and_tight_lasts_six_months():
    assert use_by(MQ, made_on=MADE).day == date(2026, 7, 10)


def test_part_full_lasts_two_months_from_then():
    found = use_by(MQ, made_on=MADE, part_full_since=date(2026, 2, 1))
    assert (found.day, found.rule) == (date(2026, 4, 1), "part_full")


def test_a_late_first_draw_cannot_outlive_the_full_date():
    found = use_by(MQ, made_on=MADE, part_full_since=date(2026, 7, 1))
    assert (found.day, found.rule) == (date(2026, 7, 10), "full")


def test_where_two_rules_give_one_day_the_plainer_one_is_named():
    assert use_by(MQ, made_on=MADE, part_full_since=date(2026, 5, 10)).rule == "full"
    assert use_by(MQ, made_on=MADE, last_pass_on=date(2026, 6, 26)).rule == "full"


@pytest.mark.parametrize(
    ("made", "day"),
    [(date(2026, 8, 31), date(2027, 2, 28)), (date(2027, 8, 31), date(2028, 2, 29)), (MADE, date(2026, 7, 10))],
)
def test_months_are_clipped_to_the_months_end(made, day):
    assert use_by(MQ, made_on=made).day == day


def test_december_is_not_skipped():
    assert keeping.months_later(date(2026, 10, 31), 2) == date(2026, 12, 31)


def test_nothing_is_promised_for_one_plus_one():
    found = use_by(MQ, made_on=MADE, dilution="1+1", diluted_at=datetime(2026, 1, 11, 9, tzinfo=UTC))
    assert (found.day, found.rule) == (None, "not_promised")
    assert "1+1" in found.why


def test_a_test_promises_nothing_for_a_dilution_that_is_promised_nothing():
    assert use_by(MQ, made_on=MADE, dilution="1+1", last_pass_on=date(2026, 1, 11)).day is None


def test_a_dilution_with_hours_ends_on_the_hour():
    mixed = datetime(2026, 1, 10, 18, tzinfo=UTC)
    found = use_by(MQ, made_on=MADE, dilution="1+3", diluted_at=mixed)
    assert found.until == datetime(2026, 1, 11, 6, tzinfo=UTC)
    assert found.day == date(2026, 1, 11)


def test_a_dilution_nobody_dated_is_promised_nothing():
    assert use_by(MQ, made_on=MADE, dilution="1+3").rule == "not_promised"


def test_a_working_bath_that_passes_gets_the_tested_days():
    mixed = datetime(2026, 1, 10, 18, tzinfo=UTC)
    found = use_by(MQ, made_on=MADE, dilution="1+4", diluted_at=mixed, last_pass_on=date(2026, 4, 1))
    assert (found.day, found.rule) == (date(2026, 4, 15), "tested")


def test_a_test_of_a_dilution_promises_no_longer_than_a_fresh_one_is_promised():
    mixed = datetime(2026, 1, 10, 18, tzinfo=UTC)
    found = use_by(MQ, made_on=MADE, dilution="1+3", diluted_at=mixed, last_pass_on=date(2026, 1, 20))
    assert found.day == date(2026, 1, 20)


def test_a_stock_ten_months_old_that_passed_may_be_used_for_fourteen_days():
    found = use_by(MQ, made_on=MADE, part_full_since=date(2026, 2, 1), last_pass_on=date(2026, 11, 10))
    assert (found.day, found.rule) == (date(2026, 11, 24), "tested")


def test_a_pass_never_takes_days_away():
    assert use_by(MQ, made_on=MADE, last_pass_on=date(2026, 1, 12)).day == date(2026, 7, 10)


def test_a_draw_after_a_pass_does_not_shorten_its_date():
    tested = {"made_on": MADE, "last_pass_on": date(2026, 11, 10)}
    assert use_by(MQ, **tested, part_full_since=date(2026, 11, 11)).day == use_by(MQ, **tested).day


def test_a_failed_test_is_final():
    found = use_by(MQ, made_on=MADE, last_pass_on=date(2026, 2, 2), failed_on=date(2026, 2, 1))
    assert (found.day, found.rule) == (None, "failed")


def test_a_formula_that_promises_nothing_gives_no_day_until_tested():
    silent = Keeping(None, None, 14)
    assert use_by(silent, made_on=MADE).rule == "not_promised"
    assert use_by(silent, made_on=MADE, last_pass_on=MADE).day == date(2026, 1, 24)
    assert use_by(replace(silent, tested_days=None), made_on=MADE, last_pass_on=MADE).day is None


def test_combining_takes_the_oldest_and_the_worst():
    """Scenario s09: the mix date is the oldest parent's."""
    old = History(MADE, part_full_since=date(2026, 3, 1), last_pass_on=date(2026, 6, 1))
    fresh = History(date(2026, 5, 1))
    both = keeping.combine(fresh, old)
    assert both == History(MADE, part_full_since=date(2026, 3, 1))
    assert keeping.combine(replace(fresh, failed_on=MADE), old).failed_on == MADE
    assert keeping.combine(replace(fresh, last_pass_on=date(2026, 6, 9)), old).last_pass_on == date(2026, 6, 1)


@pytest.mark.parametrize(("contents", "part_full"), [(1000, False), (900, False), (899, True), (0, True)])
def test_over_a_tenth_of_headspace_is_part_full(contents, part_full):
    assert keeping.is_part_full(Decimal(contents), Decimal(1000)) is part_full


def test_a_tray_ends_with_its_hours():
    filled = datetime(2026, 1, 10, 18, tzinfo=UTC)
    assert keeping.tray_until(MQ, filled) == filled + timedelta(hours=8)
    assert keeping.tray_until(Keeping(6, 2, 14), filled) is None


days = st.dates(date(2020, 1, 1), date(2030, 12, 31))
maybe = st.none() | days
histories = st.builds(
    History, made_on=days, part_full_since=maybe, diluted_at=st.none(), last_pass_on=maybe, failed_on=maybe
)


@given(histories, histories)
def test_topping_up_never_extends_a_date(there, added):
    before, after = use_by(MQ, **vars(there)).day, use_by(MQ, **vars(keeping.combine(there, added))).day
    assert after is None or (before is not None and after <= before)


@given(days, days, days)
def test_opening_earlier_never_lasts_longer(made, one, other):
    earlier, later = sorted((one, other))
    dates = [use_by(MQ, made_on=made, part_full_since=since).day for since in (earlier, later, None)]
    assert dates == sorted(dates)
