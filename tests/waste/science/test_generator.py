"""Generator rules, standing and retention. The sources stand in the name of each case."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.waste import cases
from tests.waste.cases import near, number
from waste.science import generator, retention, standing
from waste.science.generator import Category
from waste.science.retention import Record
from waste.science.stream import is_hazardous, title

NEW_YEAR = date(2026, 1, 1)


@cases.of("list_of_waste")
def test_a_list_of_waste_entry_has_its_title_and_its_asterisk(case):
    code = case["input"]["code"]
    assert (title(code), is_hazardous(code)) == (case["expected"]["title"], case["expected"]["hazardous"])


@cases.of("us_generator")
def test_a_category_and_its_limits(case):
    given, expected = case["input"], case["expected"]
    if "category" in given:
        found = generator.LIMITS[Category(given["category"])]
        assert (found.onsite_kg, found.days) == (expected["onsite_kg_max"], expected["days_max"])
    else:
        assert generator.category(number(given["month_kg"]), number(given["acute_kg"])) == expected


# 40 CFR 260.10, read in the EPA's summary: up to 100 kg, more than 100 and less than 1000 kg, 1000 kg and more.
@pytest.mark.parametrize(
    ("kilograms", "expected"),
    [("100.0", "VSQG"), ("100.01", "SQG"), ("999.99", "SQG"), ("1000.0", "LQG")],
)
def test_the_boundaries_on_both_sides(kilograms, expected):
    assert generator.category(Decimal(kilograms)) == expected


# The same summary for acute waste, read in a state's copy: 1 kg is in, more is LQG; residue 100 kg likewise.
@pytest.mark.parametrize(
    ("acute", "residue", "expected"),
    [("1", "0", "VSQG"), ("1.01", "0", "LQG"), ("0", "100", "VSQG"), ("0", "100.01", "LQG")],
)
def test_acute_waste_and_its_residue_make_a_large_generator(acute, residue, expected):
    assert generator.category(Decimal(10), Decimal(acute), Decimal(residue)) == expected


# 262.14(a)(4), read in a state's verbatim adoption: 1000 kg or more on site brings the SQG's conditions.
def test_a_very_small_generator_with_a_ton_on_site_keeps_the_limits_of_the_next():
    assert generator.holds(Category.VERY_SMALL, Decimal("999.99")) is Category.VERY_SMALL
    assert generator.holds(Category.VERY_SMALL, Decimal("1000.0")) is Category.SMALL
    assert generator.holds(Category.LARGE, Decimal("5000")) is Category.LARGE


@cases.of("us_sqg")
def test_dates_of_a_small_generator(case):
    if "today" in case["input"]:
        assert generator.renotify(date.fromisoformat(case["input"]["today"])).isoformat() == case["expected"]["next"]
    else:
        began = date.fromisoformat(case["input"]["accumulation_start"])
        assert generator.ship_by(began, Category.SMALL).isoformat() == case["expected"]["ship_by"]


def test_a_year_to_notify_in_counts_until_its_first_of_september():
    assert generator.renotify(date(2029, 9, 1)) == date(2029, 9, 1)
    assert generator.renotify(date(2029, 9, 2)) == date(2033, 9, 1)


# 262.16(b), 262.17(a), read; the 270 days for a site 200 miles away in a published summary, read.
def test_days_a_category_may_keep_waste():
    assert generator.ship_by(NEW_YEAR, Category.LARGE) == NEW_YEAR + timedelta(90)
    assert generator.ship_by(NEW_YEAR, Category.SMALL, far=True) == NEW_YEAR + timedelta(270)
    assert generator.ship_by(NEW_YEAR, Category.VERY_SMALL) is None


@cases.of("us_saa")
def test_the_place_where_waste_is_made(case):
    if "gal" in case["input"]:
        assert float(generator.SATELLITE_L) == near(case["expected"]["litres"], case["tolerance"])
        assert case["expected"]["move_days_after_excess"] == generator.MOVE_DAYS
    else:
        exceeded = date.fromisoformat(case["input"]["exceeded_on"])
        assert generator.move_by(exceeded).isoformat() == case["expected"]["move_by"]


@cases.of("us_episodic")
def test_a_planned_clear_out(case):
    planned = date.fromisoformat(case["input"]["planned_start"])
    assert generator.notify_by(planned).isoformat() == case["expected"]["notify_by"]
    assert case["expected"]["max_days"] == generator.EPISODE_DAYS


@cases.of("us_tclp", "us_corrosive")
def test_a_characteristic_code(case):
    if "ag_mg_L" in case["input"]:
        assert generator.is_toxic_by_silver(number(case["input"]["ag_mg_L"])) is case["expected"]["D011"]
    else:
        assert generator.is_corrosive(number(case["input"]["aqueous_ph"])) is case["expected"]["D002"]


@cases.of("us_potw")
def test_the_notice_of_hazardous_waste_in_a_sewer(case):
    found = generator.sewer_notice(number(case["input"]["month_kg_nonacute"]))
    assert {"notify": found.needed, "detailed": found.detailed} == case["expected"]


@cases.of("us_enu")
def test_what_an_elementary_neutralisation_unit_takes(case):
    assert generator.may_neutralise(case["input"]["codes"]) is case["expected"]["enu_eligible"]


@cases.of("uk_returns")
def test_a_consignee_returns_by_the_end_of_the_month_after_the_quarter(case):
    end = date.fromisoformat(case["input"]["quarter_end"])
    assert retention.return_due(end).isoformat() == case["expected"]["due"]
    assert retention.return_due(end + timedelta(1)) > retention.return_due(end)


@cases.of("retention")
def test_how_long_records_are_kept(case):
    given, expected = case["input"], case["expected"]
    if given["role"] == "transporter":
        assert retention.rule(Record.TRANSPORT, given["jurisdiction"]).months == expected["months"]
    else:
        found = retention.keep_until(Record.WASTE_LOG, "UK", date.fromisoformat(given["removed_on"]))
        assert (found.until.isoformat(), found.rule.months) == (expected["keep_until"], 12 * expected["years"])


def test_every_retention_rule_names_its_source_and_status():
    for each in retention.RULES:
        assert each.source
        assert each.status in {retention.READ, retention.FROM_MEMORY}


def test_where_no_rule_is_kept_the_longest_holds():
    found = retention.rule(Record.INSPECTION, "none")
    assert (found.months, found.source) == (retention.LONGEST_MONTHS, retention.NOTHING_SAYS)


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [("2024-02-29", 36, "2027-03-01"), ("2026-12-31", 12, "2027-12-31"), ("2026-01-31", 1, "2026-03-01")],
)
def test_nothing_is_dropped_early_at_the_end_of_a_month(day, months, expected):
    assert retention.months_after(date.fromisoformat(day), months).isoformat() == expected


@cases.of("storage_eu")
def test_storage_is_for_less_than_so_many_years(case):
    assert standing.storage_ends_before_years(case["input"]["purpose"]) == case["expected"]["lt_years"]


def facts(**given):
    told = {"country": "US", "today": NEW_YEAR, "month_l": Decimal(0), "onsite_l": Decimal(0), "began": None, **given}
    return standing.Facts(**told)


def litres(kilograms):
    """Return the litres that weigh so much by the density assumed: computed."""
    return Decimal(kilograms) / standing.DENSITY


@pytest.mark.parametrize(("kilograms", "expected"), [("100.00", "VSQG"), ("100.01", "SQG"), ("1000.00", "LQG")])
def test_standing_takes_its_category_from_the_kilograms_of_the_month(kilograms, expected):
    found = standing.standing(facts(month_l=litres(kilograms)))
    assert (found.category, found.month_kg) == (expected, Decimal(kilograms))


def test_on_day_180_waste_is_in_time_and_on_day_181_it_is_late():
    held = {"month_l": litres("200"), "onsite_l": litres("200"), "began": NEW_YEAR}
    in_time = standing.standing(facts(today=NEW_YEAR + timedelta(180), **held))
    late = standing.standing(facts(today=NEW_YEAR + timedelta(181), **held))
    assert (in_time.days, in_time.over) == (180, ())
    assert (late.days, len(late.over)) == (181, 1)
    assert late.next_deadline.by == NEW_YEAR + timedelta(180)


# The EPA's summary: an SQG holds up to 6000 kg.
def test_what_an_sqg_holds_on_site_is_bounded_on_both_sides():
    held = {"month_l": litres("200"), "began": NEW_YEAR}
    assert not standing.standing(facts(onsite_l=litres("6000.00"), **held)).over
    assert "6000 kg" in standing.standing(facts(onsite_l=litres("6000.01"), **held)).over[0]


def test_in_europe_a_year_before_disposal_ends_the_day_before_it_is_full():
    # Directive 1999/31/EC, Article 2 (g), from memory: storage for less than one year before disposal
    held = {"country": "EU", "onsite_l": Decimal(20), "began": NEW_YEAR}
    found = standing.standing(facts(today=date(2026, 12, 31), **held))
    assert (found.next_deadline.by, found.over) == (date(2026, 12, 31), ())
    assert standing.standing(facts(today=date(2027, 1, 1), **held)).over
    assert "first kilogram" in found.why


def test_containers_are_looked_at_weekly_and_not_at_all_while_nothing_stands():
    held = {"onsite_l": Decimal(20), "began": NEW_YEAR}
    assert standing.standing(facts(**held)).inspection_due == NEW_YEAR + timedelta(7)
    looked = standing.standing(facts(**held, inspected=NEW_YEAR + timedelta(5)))
    assert looked.inspection_due == NEW_YEAR + timedelta(12)
    assert standing.standing(facts(inspected=NEW_YEAR)).inspection_due is None


def test_a_darkroom_without_country_rules_is_told_so():
    found = standing.standing(facts(country="none", onsite_l=Decimal(1), began=NEW_YEAR))
    assert "No country's rules" in found.why
    assert found.deadlines


def test_the_uk_names_the_boundary_of_wales_with_where_it_is_from():
    found = standing.standing(facts(country="UK"))
    assert found.boundaries[0].at_kg == 500
    assert "memory" in found.boundaries[0].source
