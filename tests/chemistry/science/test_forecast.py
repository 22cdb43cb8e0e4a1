"""Looking ahead: textbook inventory examples, and a simulation with a fixed seed."""

from datetime import date, timedelta
from math import sqrt
from random import Random
from statistics import mean

import pytest

from chemistry.science import forecast
from chemistry.science.forecast import Demand, Lot, Size, Week

MONDAY = date(2026, 9, 7)


def weeks(*used, why=None):
    why = why or {}
    return [Week(MONDAY + timedelta(weeks=at), ml, why.get(at, "")) for at, ml in enumerate(used)]


def test_the_mean_and_spread_leave_breaks_out():
    """Mean 300 and sample deviation 100 of 200, 300, 400: by hand."""
    found = forecast.demand(weeks(200, 0, 300, 0, 400, why={1: "half-term", 3: "quiet"}))
    assert (found.mean_ml, found.spread_ml, found.weeks) == (300, 100, 3)
    assert forecast.demand(weeks(200, 0, why={1: "break"})) is None
    assert forecast.demand([]) is None


def test_a_week_is_a_break_when_most_of_it_is_declared_or_two_in_a_row_are_quiet():
    first = [MONDAY + timedelta(weeks=at) for at in range(6)]
    busy = [first[0], first[2] + timedelta(days=6), first[5]]
    assert forecast.closed_by(first, [], busy) == ["", "", "", *["nothing was used in the room"] * 2, ""]
    four = ("autumn", first[0] + timedelta(days=3), first[0] + timedelta(days=6))
    three = ("bridge", first[2] + timedelta(days=4), first[2] + timedelta(days=6))
    assert forecast.closed_by(first, [four, three], busy)[:3] == ["autumn", "", ""]


def test_a_reorder_point_as_in_the_textbook():
    """Heizer and Render, Operations Management, chapter on inventory, from memory.

    A hospital kit: 350 in the lead time, deviation 10, 5 % risk: 366.5 (with z = 1.65). Laptops: 15 a day, deviation
    5, two days, 90 %: safety stock 1.28 x 5 x sqrt 2 = 9.02, reorder at 39.
    """
    assert abs(forecast.reorder_point(Demand(350, 10), 1, 0.95) - 366.5) < 0.1
    assert abs(forecast.reorder_point(Demand(15, 5), 2, 0.90) - 39.05) < 0.05
    assert forecast.needed(Demand(15, 5), 2, 0.90) == forecast.reorder_point(Demand(15, 5), 2, 0.90)


def test_what_is_left_over_as_in_the_newsvendor_of_the_textbook():
    """Cachon and Terwiesch, Matching Supply with Demand, the wetsuit example, from memory.

    Normal demand 3192, deviation 1181, order 4196 (z = 0.85, L(z) = 0.1100): 130 lost sales, 3062 sold, 1134 left.
    """
    assert abs(forecast.lost(Demand(3192, 1181), 1, 4196) - 1134) < 1


@pytest.mark.parametrize(("z", "loss"), [(0, "0.3989"), (0.5, "0.1978"), (1, "0.0833"), (1.5, "0.0293")])
def test_the_loss_function_of_the_table(z, loss):
    """Standard normal loss table, Cachon and Terwiesch, appendix, from memory: L(z) = left over - z."""
    assert f"{forecast.lost(Demand(10, 1), 1, 10 + z) - z:.4f}" == loss


def test_without_spread_the_plain_sums_hold():
    even = Demand(500, 0, 8)
    assert forecast.lost(even, 4, 3800) == 1800
    assert forecast.lost(even, 8, 3800) == 0
    assert forecast.cover(even, 1500) == forecast.Cover(3, 3, 3)
    assert forecast.reorder_point(even, 2) == 1000
    assert forecast.cover(Demand(0, 0, 8), 1500) is None


def test_a_run_out_is_where_the_likely_use_meets_the_stock():
    """The quadratic put back into what it was made from; z = 1.2816 for 80 %, standard normal table."""
    seen = Demand(300, 120, 10)
    found = forecast.cover(seen, 3000)
    for weeks_ahead, sign in ((found.early, 1), (found.late, -1)):
        reached = 300 * weeks_ahead + sign * 1.2816 * 120 * sqrt(weeks_ahead + weeks_ahead**2 / 10)
        assert abs(reached - 3000) < 0.1
    assert found.early < found.middle == 10 < found.late
    assert forecast.cover(Demand(100, 300, 4), 1000).late is None, "too uneven to have a late end"


def test_the_likely_range_holds_four_in_five_of_what_is_simulated():
    """2000 rooms whose use is drawn anew: 10 weeks are seen, then a stock is used up. Normal weeks, seed 5."""
    chance, inside, rooms = Random(5), 0, 2000
    for _ in range(rooms):
        seen = forecast.demand(weeks(*(chance.gauss(300, 80) for _ in range(10))))
        found = forecast.cover(seen, 3000)
        left, lasted = 3000.0, 0.0
        while left > 0:
            used = chance.gauss(300, 80)
            lasted += min(left / used, 1) if used > 0 else 1
            left -= used
        inside += found.early <= lasted <= (found.late or lasted)
    assert 0.74 < inside / rooms < 0.84, "the normal factor is a little narrow for ten weeks: 80 % is 77 %"


def test_the_reorder_point_leaves_one_wait_in_twenty_short_as_simulated():
    """20,000 waits of two weeks on normal use, seed 6: 95 % have enough."""
    chance, known = Random(6), Demand(300, 80)
    point = forecast.reorder_point(known, 2)
    enough = mean(chance.gauss(300, 80) + chance.gauss(300, 80) <= point for _ in range(20_000))
    assert abs(enough - 0.95) < 0.005


def test_what_is_lost_is_what_is_simulated():
    """20,000 packets of 3800 mL with eight weeks to live, seed 7."""
    chance, known = Random(7), Demand(400, 200)
    gone = mean(max(3800 - sum(chance.gauss(400, 200) for _ in range(8)), 0) for _ in range(20_000))
    assert abs(forecast.lost(known, 8, 3800) - gone) < 10


def test_a_litre_or_a_gallon():
    """Little use and a short life: the dear litre is cheaper than the gallon poured away; with much use it is not."""
    litre, gallon = Size(1000, 700), Size(3800, 1200)
    few, many = Demand(60, 30, 10), Demand(500, 100, 10)
    assert forecast.choices(few, 8, [litre, gallon])[0].size == litre
    assert forecast.choices(many, 8, [litre, gallon])[0].size == gallon
    best = forecast.choices(few, 8, [litre, gallon])[0]
    assert abs(best.used_ml + best.lost_ml - 1000) < 1e-9
    assert abs(best.minor_per_litre - 700_000 / best.used_ml) < 1e-9
    unpriced = [Size(1000, None), gallon]
    assert forecast.choices(few, 8, unpriced)[0].size.makes_ml == 1000
    assert forecast.choices(Demand(900, 50, 10), 8, unpriced)[0].size == gallon, "nothing of either is lost: the larger"


def test_stock_falls_on_open_days_only_and_dies_on_its_date():
    """70 mL a week is 10 mL a day: 100 mL last ten open days; by hand."""
    course = forecast.fall([Lot(100, None)], 70, MONDAY, [])
    assert course.at_most(0) == MONDAY + timedelta(days=9)
    shut = (MONDAY + timedelta(days=2), MONDAY + timedelta(days=8))
    assert forecast.fall([Lot(100, None)], 70, MONDAY, [shut]).at_most(0) == MONDAY + timedelta(days=16)
    dying = forecast.fall([Lot(100, MONDAY + timedelta(days=3)), Lot(50, None)], 70, MONDAY, [])
    assert abs(dying.lost_ml - 60) < 1e-9
    assert dying.at_most(0) == MONDAY + timedelta(days=8)
    assert dying.at_most(20) == MONDAY + timedelta(days=6)
    assert forecast.fall([Lot(100, None)], 0, MONDAY, []).at_most(0) is None
    assert forecast.fall([], 70, MONDAY, []).at_most(0) == MONDAY
    assert abs(forecast.open_weeks(MONDAY, 21, [shut]) - 2) < 1e-9


def test_the_first_to_die_is_used_first():
    early, later = Lot(50, MONDAY + timedelta(days=4)), Lot(50, MONDAY + timedelta(days=30))
    assert forecast.fall([later, early], 70, MONDAY, []).lost_ml == 0
