"""The formulas that ship: sound, sourced, and what the trade says they are."""

from decimal import Decimal

import pytest

from chemistry.science.capacity import find
from chemistry.science.formula import Check, Form, Kind, Material, Use
from chemistry.science.reading import as_data, read_rules, source_of
from tests.chemistry.science.test_reading import leaves

POWDER_TOPICS = ("room-induction", "ppe", "powder-handling")
# Words that open a source; anything else must give an address.
PLAIN_SOURCES = ("common practice, no source", "from memory", "derived", "exact")


def figures(rules_data):
    """Yield the pointer of every leaf that is a number, written as text or not."""
    for pointer in leaves(rules_data):
        value = rules_data
        for step in pointer.lstrip("/").split("/"):
            value = value[int(step)] if isinstance(value, list) else value[step]
        if isinstance(value, int | str) and not isinstance(value, bool) and str(value).replace(".", "").isdigit():
            yield pointer


def test_the_starter_set_is_complete(starter):
    assert set(starter) == {
        *("mq-borax", "mq-borax-replenisher", "mq-carbonate", "phenidone-ascorbate"),
        *("stop-acetic", "stop-citric", "plain-fixer", "rapid-fixer", "washing-aid"),
    }


def test_the_file_is_written_out_in_full_so_that_no_default_can_change_it(starter_data):
    for each in starter_data:
        assert set(each) == {"code", "name", "version", "rules", "sources"}
        assert as_data(read_rules(each["rules"])) == each["rules"], each["code"]
        assert each["version"] >= 1


def test_every_figure_has_a_source_that_says_what_it_is(starter_data):
    unsourced = [
        f"{each['code']} {pointer}"
        for each in starter_data
        for pointer in figures(each["rules"])
        if source_of(each["sources"], pointer) is None
    ]
    assert not unsourced
    for source in (source for each in starter_data for source in each["sources"].values()):
        assert source.startswith(PLAIN_SOURCES) or "http" in source, source


def test_every_source_points_at_something(starter_data):
    for each in starter_data:
        for pointer in each["sources"]:
            value = each["rules"]
            for step in pointer.lstrip("/").split("/"):
                value = value[int(step)] if isinstance(value, list) else value[step]


def test_the_sourceless_figure_would_be_found(starter_data):
    each = starter_data[0]
    assert "/minimum_stock_ml" in figures(each["rules"])
    assert source_of({"/keeping": "x"}, "/minimum_stock_ml") is None


# The figures below: common practice, no source.
def test_mq_borax_is_what_the_trade_says(starter):
    mq = starter["mq-borax"]
    assert {each.name.split(",")[0]: each.g_per_l for each in mq.composition} == {
        "metol": 2,
        "sodium sulfite": 100,
        "hydroquinone": 5,
        "borax": 2,
    }  # from memory
    assert mq.minimum_stock_ml == 235
    stock = find(mq, Material.FILM, Use.REUSE, "stock")
    assert (stock.rolls_per_litre, stock.compensated) == (4, 10)
    assert (mq.keeping.full_months, mq.keeping.part_full_months, mq.keeping.tested_days) == (6, 2, 14)
    assert not mq.keeping.diluted
    assert mq.time.crowding == {"1+1": {2: Decimal("1.10")}}
    assert (mq.time.temperature.lowest_c, mq.time.temperature.highest_c) == (16, 27)
    assert (mq.mixing.start_low_c, mq.mixing.start_high_c, mq.mixing.rest_hours) == (50, 55, 24)
    assert mq.mixing.start_fraction > Decimal("0.5")
    assert mq.testing.needed_for_release


def test_four_degrees_warmer_takes_seven_tenths_of_the_time(starter):
    rule = starter["mq-borax"].time.temperature
    assert abs(float(rule.coefficient) ** (-4 / float(rule.per_degrees)) - 0.7) < 0.001


def test_the_replenisher_it_names_is_in_the_set(starter):
    named = starter["mq-borax"].replenishing
    assert 45 <= named.ml_per_roll <= 100
    assert starter[named.replenisher].kind is Kind.REPLENISHER


def test_an_ascorbate_developer_needs_a_strip_before_each_critical_film(starter):
    ascorbate = starter["phenidone-ascorbate"]
    assert ascorbate.keeping.strip_before_critical
    assert ascorbate.colourless_failure


def test_powders_are_mixed_whole_by_people_signed_off_for_powder(starter):
    for code, rules in starter.items():
        if rules.form is Form.POWDER:
            assert rules.required_topics == POWDER_TOPICS, code
            assert rules.mixing.whole_packet is (len(rules.composition) > 1), code
        else:
            assert "powder-handling" not in rules.required_topics, code


def test_fixers_fail_at_twice_the_fresh_clearing_time_and_stop_baths_by_ph(starter):
    for rules in starter.values():
        if rules.kind is Kind.FIXER:
            assert (rules.testing.check, rules.testing.fail_ratio) == (Check.CLEARING, 2)
        if rules.kind is Kind.STOP_BATH:
            assert (rules.testing.check, rules.testing.highest_ph) == (Check.STOP, 6)


def test_a_packet_of_sulfite_alone_starts_no_hotter_than_sulfite_likes(starter):
    """From memory: sulfite dissolves best at 33 °C, and less above."""
    assert starter["washing-aid"].mixing.start_high_c <= 33


@pytest.mark.parametrize("code", ["stop-citric", "stop-acetic"])
def test_a_working_stop_bath_has_the_customary_strength(starter, code):
    """From memory: 15-20 g of citric acid, or 48 mL of 28 % acetic acid (13.4-14 g), a litre."""
    rules = starter[code]
    parts = Decimal(rules.dilutions[0].removeprefix("1+"))
    assert 13 <= rules.composition[0].g_per_l / (1 + parts) <= 20
