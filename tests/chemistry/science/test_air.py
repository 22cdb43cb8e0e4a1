"""Dust and sulfur dioxide in a well-mixed room, and how long until it is clear."""

from decimal import Decimal
from math import exp

import pytest

from chemistry.science import air
from chemistry.science.hazard.table import standard

D = Decimal
ROOM = air.Room(D(20), D(6))
HYDROQUINONE, DUST, SO2, SELENITE = (standard().agent(each) for each in ("123-31-9", "", "7446-09-5", "10102-18-8"))


@pytest.mark.parametrize(("changes", "minutes"), [(5, "36"), (10, "18"), (20, "9")])
def test_95_percent_clearance(changes, minutes):
    """Derived: 36, 18 and 9 minutes at 5, 10 and 20 air changes."""
    assert abs(air.clearance(D(changes)) - D(minutes)) <= D("0.1")


def test_a_room_without_air_changes_never_clears():
    assert air.clearance(D(0)) is None
    assert air.clearance(D("0.5")) == D("359.5")
    still = air.Room(D(10), D(0))
    assert air.concentration(D(1), still, D(600)) == 100
    assert air.mean(D(1), still, 480) == 100


@pytest.mark.parametrize("share", ["0", "1", "-1", "2"])
def test_a_share_left_is_between_nothing_and_all(share):
    with pytest.raises(ValueError, match="between 0 and 1"):
        air.clearance(D(5), D(share))


def test_concentration_falls_by_the_air_changes():
    """1 g in 20 m3 is 50 mg/m3; six changes an hour leave 1/e after ten minutes."""
    assert air.concentration(D(1), ROOM, D(0)) == 50
    assert abs(air.concentration(D(1), ROOM, D(10)) - D(50 * exp(-1))) <= D("0.0001")


def test_the_mean_is_the_integral_of_the_curve():
    steps = [air.concentration(D(1), ROOM, D(each) / 10) for each in range(150)]
    assert abs(air.mean(D(1), ROOM, 15) - sum(steps) / len(steps)) < D("0.3")
    assert air.mean(D(1), ROOM, 0) == 50
    slow = air.Room(D(20), D(1))
    assert abs(air.mean(D(1), slow, 15) - D(50 * (1 - exp(-0.25)) / 0.25)) <= D("0.0001")


def row(cloud, body, kind):
    return next(each for each in cloud.against if (each.limit.body, each.limit.kind) == (body, kind))


def test_dust_is_set_against_every_limit_with_the_grams_that_would_reach_it():
    cloud = air.dust(D("0.5"), ROOM, [(HYDROQUINONE, D("0.046")), (DUST, D(1))])
    ceiling = row(cloud, "NIOSH REL", "ceiling")
    share = (1 - exp(-1.5)) / 1.5
    assert abs(ceiling.reached - D(25 * 0.046 * share)) <= D("0.0002")
    assert not ceiling.over
    again = air.dust(ceiling.reaching_g, ROOM, [(HYDROQUINONE, D("0.046"))])
    assert abs(row(again, "NIOSH REL", "ceiling").reached - 2) <= D("0.001")
    more = air.dust(ceiling.reaching_g + D("0.01"), ROOM, [(HYDROQUINONE, D("0.046"))])
    assert row(more, "NIOSH REL", "ceiling").over
    assert {each.agent for each in cloud.against} == {"hydroquinone", "dust of any kind"}
    assert cloud.peak_mg_m3 == 25
    assert cloud.curve[0] == (0, D(25))
    assert [minute for minute, _ in cloud.curve] == [0, 5, 10, 15, 30, 60, 120, 240]
    assert cloud.clear_after_min == air.clearance(D(6))
    assert cloud.assumptions


def test_a_limit_is_over_when_it_is_reached():
    still = air.Room(D(1), D(0))
    assert row(air.dust(D("0.002"), still, [(HYDROQUINONE, D(1))]), "NIOSH REL", "ceiling").over


def test_an_agent_that_is_not_in_it_has_no_row():
    assert air.dust(D(1), ROOM, [(HYDROQUINONE, D(0))]).against == ()


def test_selenite_counts_by_its_selenium():
    """78.97/172.94 of the weight."""
    cloud = air.dust(D(1), air.Room(D(1000), D(0)), [(SELENITE, D(1))])
    assert cloud.against[0].reached == D("0.4566")


def test_a_gas_is_compared_in_ppm():
    """64.06 g is one mole: 24.06 litres in 24.06 m3 are 1000 ppm."""
    cloud = air.gas(D("64.06"), air.Room(D("24.06"), D(0)), SO2)
    assert row(cloud, "EU IOELV", "short").reached == 1000
    assert air.ppm(D("64.06"), D("64.06")) == D("24.06")


def test_nothing_released_reaches_nothing():
    cloud = air.gas(D(0), ROOM, SO2)
    assert cloud.peak_mg_m3 == 0
    assert not any(each.over for each in cloud.against)
    assert cloud.assumptions == air.WELL_MIXED


def test_a_limit_in_ppm_needs_a_molar_mass():
    from dataclasses import replace

    with pytest.raises(ValueError, match="no molar mass"):
        air.gas(D(1), ROOM, replace(SO2, molar_mass=None))


@pytest.mark.parametrize(("ph", "ppm"), [(8, "0.0625"), (7, "2.8"), (5, "453")])
def test_sulfur_dioxide_above_sulfite(ph, ppm):
    """Computed from constants from memory, 0.7934 mol/l, within half."""
    found = air.headspace(D("0.7934"), D(ph))
    assert abs(found - D(ppm)) <= D(ppm) / 2
    assert abs(found - D(ppm)) <= D(ppm) / 100


@pytest.mark.parametrize(
    ("stop_l", "ph", "ppm"),
    [("0.5", "7.8", "0.1"), ("1", "7.34", "0.43"), ("2", "6.53", "3.75"), ("3", "5.3", "54"), ("8", "4.39", "208")],
)
def test_stop_bath_in_developer_stock(stop_l, ph, ppm):
    """Computed: 20 g/l acetic acid into one litre of stock with 100 g sulfite; pH within 0.1."""
    found = air.sulfite_and_acid(D(100), 20 * D(stop_l), 1 + D(stop_l))
    assert abs(found.ph - D(ph)) <= D("0.1")
    assert abs(found.headspace_ppm - D(ppm)) <= D(ppm) / 2
    assert found.assumptions


@pytest.mark.parametrize(("grams", "ph"), [("5", "2.92"), ("10", "2.77"), ("20", "2.62"), ("28", "2.55")])
def test_acetic_acid_alone_has_its_known_ph(grams, ph):
    """Computed for an ideal solution, pKa 4.756, grams per litre; within 0.01."""
    assert abs(air.mixed_ph(D(0), D(grams) / D("60.05")) - D(ph)) <= D("0.01")


def test_in_strong_acid_nearly_all_sulfite_is_free():
    """By hand at pH 1: 0.1 / (0.1 + 10^-1.85) = 87.6 % of 1 mol/l over 1.23 mol/(l atm)."""
    assert abs(air.headspace(D(1), D(1)) - D(712300)) <= D(200)


def test_the_gas_cannot_be_more_than_acid_or_sulfite_allow():
    """One mole of SO2 for each mole of acid: 60.05 g acid, 64.06 g SO2; never more than the sulfite holds."""
    assert air.sulfite_and_acid(D(1000), D("60.05"), D(10)).most_g == D("64.06")
    assert air.sulfite_and_acid(D("126.04"), D(1000), D(10)).most_g == D("64.06")
    assert air.sulfite_and_acid(D(100), D(0), D(1)).most_g == 0
    closed = air.sulfite_and_acid(D(100), D(160), D(9), D(5))
    assert closed.headspace_g == (closed.headspace_ppm / 10**6 * 5 / D("24.06") * D("64.06")).quantize(D("0.000001"))


def test_plain_sulfite_is_basic():
    """By hand: [OH] = sqrt(0.7934 x 10^-6.8) = 3.5e-4, so pH 10.55."""
    assert abs(air.mixed_ph(D("0.7934"), D(0)) - D("10.55")) <= D("0.01")


@pytest.mark.parametrize(
    "bad",
    [
        lambda: air.Room(D(0), D(1)),
        lambda: air.Room(D(1), D(-1)),
        lambda: air.Room(D("NaN"), D(1)),
        lambda: air.dust(D(-1), ROOM, []),
        lambda: air.sulfite_and_acid(D(1), D(1), D(0)),
        lambda: air.sulfite_and_acid(D(-1), D(1), D(1)),
        lambda: air.sulfite_and_acid(D(1), D(-1), D(1)),
        lambda: air.sulfite_and_acid(D(1), D(1), D(1), D(-1)),
    ],
)
def test_impossible_rooms_and_amounts_are_refused(bad):
    with pytest.raises(ValueError, match=r"volume|air changes|grams"):
        bad()
