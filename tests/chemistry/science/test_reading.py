"""Formulas in from plain JSON and out again."""

import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import formula
from chemistry.science.reading import MOST_CHARACTERS, MOST_ITEMS, RuleFault, as_data, read_rules, source_of
from chemistry.science.soundness import LIMITS

SOUND = {
    "kind": "developer",
    "process": "bw",
    "form": "powder",
    "composition": [{"name": "metol", "cas": "55-55-0", "g_per_l": "2"}],
    "dilutions": ["stock", "1+1"],
    "capacity": [
        {"material": "film", "use": "reuse", "dilution": "stock", "rolls_per_litre": "4", "compensated": "10"},
        {"material": "film", "use": "replenished", "dilution": "stock", "rolls_per_litre": "4"},
    ],
    "keeping": {"full_months": 6, "part_full_months": 2, "tested_days": 14, "diluted": {"1+1": 24}, "tray_hours": 8},
    "minimum_stock_ml": "235",
    "time": {
        "reuse": {"shape": "table", "table": [["0", "1"], ["4", "1.25"]]},
        "crowding": {"1+1": {"2": "1.10"}},
        "temperature": {
            "per_degrees": "10",
            "coefficient": "2.44",
            "reference_c": "20",
            "lowest_c": "16",
            "highest_c": "27",
        },
        "agitation": {"continuous": "0.85"},
        "push": {"+1": "1.4"},
    },
    "mixing": {
        "start_low_c": "50",
        "start_high_c": "55",
        "start_fraction": "0.75",
        "order": ["the whole packet"],
        "rest_hours": 24,
        "mark_c": "20",
        "whole_packet": True,
    },
    "replenishing": {"replenisher": "mq-borax-replenisher", "ml_per_roll": "70", "strip_days": 7},
    "testing": {"check": "clip"},
    "required_topics": ["powder-handling"],
}
LEAST = {
    "kind": "stop_bath",
    "process": "bw",
    "form": "liquid",
    "composition": [],
    "dilutions": ["1+20"],
    "capacity": [],
    "keeping": {"full_months": None, "part_full_months": None, "tested_days": None},
}
ABSENT = object()


def changed(pointer, value, base=SOUND):
    """Return a sound formula with the member at a pointer set, added, or taken away."""
    data = deepcopy(base)
    *way, last = pointer.lstrip("/").split("/")
    place = data
    for step in way:
        place = place[int(step)] if isinstance(place, list) else place[step]
    if value is ABSENT:
        del place[last]
    elif isinstance(place, list):
        place[int(last) : int(last) + 1] = [value]
    else:
        place[last] = value
    return data


def leaves(data, pointer=""):
    members = data.items() if isinstance(data, Mapping) else enumerate(data)
    for name, value in members:
        if isinstance(value, dict | list):
            yield from leaves(value, f"{pointer}/{name}")
        else:
            yield f"{pointer}/{name}"


@pytest.mark.parametrize("data", [SOUND, LEAST], ids=["full", "least"])
def test_a_sound_formula_survives_the_round_trip_exactly(data):
    rules = read_rules(data)
    written = json.loads(json.dumps(as_data(rules)))
    assert read_rules(written) == rules
    assert as_data(read_rules(written)) == written


def test_digits_are_kept_as_they_were_typed():
    rules = read_rules(changed("/testing/density_tolerance", "0.100"))
    assert as_data(rules)["testing"]["density_tolerance"] == "0.100"
    assert rules.testing.density_tolerance == Decimal("0.1")


def test_figures_are_decimals_and_counts_are_whole():
    rules = read_rules(SOUND)
    assert rules.minimum_stock_ml == 235
    assert isinstance(rules.minimum_stock_ml, Decimal)
    assert rules.time.crowding == {"1+1": {2: Decimal("1.10")}}
    assert rules.time.reuse.table == ((Decimal(0), Decimal(1)), (Decimal(4), Decimal("1.25")))


def test_what_may_be_left_out_has_its_default():
    assert read_rules(LEAST).minimum_stock_ml is None
    assert read_rules(LEAST).time.shortest_min == 5


@pytest.mark.parametrize("pointer", [*(f"/{name}" for name in LEAST), "/keeping/full_months", "/mixing/rest_hours"])
def test_a_missing_member_is_named(pointer):
    fault = refused(changed(pointer, ABSENT))
    assert (fault.pointer, fault.message) == (pointer, "missing")


@pytest.mark.parametrize("pointer", ["/colour", "/keeping/forever", "/time/reuse/slope", "/composition/0/grams"])
def test_an_unknown_member_is_named(pointer):
    assert refused(changed(pointer, "1")).pointer == pointer


def test_a_strange_name_is_escaped_in_the_pointer():
    assert refused({**SOUND, "a/b~c": 1}).pointer == "/a~1b~0c"


def test_an_unknown_member_is_told_what_is_known():
    assert "rolls_per_litre" in refused(changed("/capacity/0/rolls", "4")).message


@pytest.mark.parametrize(
    "bad",
    [
        4,
        4.0,
        True,
        None,
        [],
        {},
        "",
        "4 ",
        "+4",
        "-4",
        "4e1",
        "1_0",
        ".5",
        "5.",
        "05",
        "4,5",
        "NaN",
        "Infinity",
        "\uff14",
        "4.00001",
        "9" * 5000,
    ],
)
def test_a_figure_is_a_plain_decimal_written_as_text(bad):
    assert refused(changed("/capacity/0/rolls_per_litre", bad)).pointer == "/capacity/0/rolls_per_litre"


@pytest.mark.parametrize("bad", ["6", 6.0, True, -1, 0, 10**30])
def test_a_count_is_a_whole_number_within_reason(bad):
    assert refused(changed("/keeping/full_months", bad)).pointer == "/keeping/full_months"


@pytest.mark.parametrize(
    ("pointer", "bad"),
    [
        ("/composition/0/g_per_l", "0"),
        ("/composition/0/g_per_l", "1500.1"),
        ("/capacity/0/rolls_per_litre", "0"),
        ("/time/crowding/1+1/2", "11"),
        ("/time/reuse/table/0/0", "501"),
        ("/time/push/+1", "50"),
        ("/time/temperature/coefficient", "0.9"),
        ("/mixing/start_fraction", "1.1"),
        ("/mixing/start_low_c", "99"),
        ("/keeping/diluted/1+1", 100_000),
        ("/replenishing/ml_per_roll", "0"),
        ("/minimum_stock_ml", "235000"),
    ],
)
def test_an_absurd_figure_is_refused_and_the_limits_are_told(pointer, bad):
    fault = refused(changed(pointer, bad))
    assert fault.pointer == pointer
    assert " to " in fault.message


@pytest.mark.parametrize(
    ("pointer", "bad", "where"),
    [
        ("/keeping/part_full_months", 7, "/keeping/part_full_months"),
        ("/mixing/start_low_c", "56", "/mixing/start_high_c"),
        ("/time/temperature/lowest_c", "30", "/time/temperature/highest_c"),
        ("/time/temperature/lowest_c", "21", "/time/temperature/reference_c"),
        ("/time/temperature/highest_c", "19", "/time/temperature/reference_c"),
        ("/capacity/0/compensated", "3", "/capacity/0/compensated"),
        ("/time/reuse/table", [["4", "1.25"], ["0", "1"]], "/time/reuse/table/1"),
        ("/time/reuse/table", [["4", "1"], ["4", "1.25"]], "/time/reuse/table/1"),
        ("/time/reuse/table", [["0", "1.25"], ["4", "1"]], "/time/reuse/table/1"),
        ("/time/reuse/table/0", ["0", "0.5"], "/time/reuse/table/0/1"),
    ],
)
def test_reversed_figures_are_refused(pointer, bad, where):
    assert refused(changed(pointer, bad)).pointer == where


@pytest.mark.parametrize(
    ("pointer", "bad", "where"),
    [
        ("/dilutions", [], "/dilutions"),
        ("/dilutions/1", "1:1", "/dilutions/1"),
        ("/dilutions/1", "1+1.0", "/dilutions/1"),
        ("/dilutions/1", "stock", "/dilutions/1"),
        ("/capacity/0/dilution", "1+9", "/capacity/0/dilution"),
        ("/capacity/0/use", "fresh", "/capacity/0/use"),
        ("/capacity/0/use", "replenished", "/capacity/1"),
        ("/keeping/diluted", {"1+9": 24}, "/keeping/diluted/1+9"),
        ("/time/crowding", {"1+9": {"2": "1"}}, "/time/crowding/1+9"),
        ("/time/crowding", {"1+1": {"02": "1"}}, "/time/crowding/1+1/02"),
        ("/time/push", {"one": "1.4"}, "/time/push/one"),
        ("/time/reuse/shape", "cubic", "/time/reuse/shape"),
        ("/time/reuse/table", [], "/time/reuse/table"),
        ("/time/reuse/table/0", ["0", "1", "2"], "/time/reuse/table/0"),
        ("/time/reuse/per_roll_per_litre", "0.1", "/time/reuse/per_roll_per_litre"),
        ("/composition/0/cas", "55-55-1", "/composition/0/cas"),
        ("/composition/0/cas", "metol", "/composition/0/cas"),
        ("/composition/1", SOUND["composition"][0], "/composition/1"),
        ("/mixing", None, "/mixing"),
        ("/replenishing", None, "/capacity/1/use"),
        ("/replenishing/replenisher", "The Other", "/replenishing/replenisher"),
        ("/testing/check", "clearing", "/testing/check"),
        ("/testing/highest_ph", "6", "/testing/highest_ph"),
        ("/required_topics/0", "Powder Handling", "/required_topics/0"),
        ("/required_topics/1", "powder-handling", "/required_topics/1"),
        ("/required_topics", [], "/required_topics"),  # a powder always asks for powder handling
    ],
)
def test_figures_that_contradict_each_other_are_refused(pointer, bad, where):
    assert refused(changed(pointer, bad)).pointer == where


@pytest.mark.parametrize(
    ("pointer", "bad"),
    [
        ("/kind", "potion"),
        ("/kind", 3),
        ("/process", ["bw"]),
        ("/never_poured_back", 1),
        ("/never_poured_back", "true"),
        ("/composition", {"0": {}}),
        ("/composition", "metol"),
        ("/keeping", []),
        ("/keeping", None),
        ("/time", None),
        ("/composition/0/name", " metol"),
        ("/composition/0/name", "met\x00ol"),
        ("/composition/0/name", ""),
        ("/composition/0/name", "m" * (MOST_CHARACTERS + 1)),
        ("/mixing/order", ["step"] * (MOST_ITEMS + 1)),
        ("/time/agitation", {f"way {number}": "1" for number in range(MOST_ITEMS + 1)}),
    ],
)
def test_a_wrong_shape_or_size_is_refused(pointer, bad):
    assert refused(changed(pointer, bad)).pointer == pointer


@pytest.mark.parametrize("data", [None, [], "rules", 1, {}])
def test_what_is_no_formula_at_all_is_refused(data):
    refused(data)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    ),
    st.sampled_from(sorted(leaves(SOUND))),
)
def test_nothing_put_anywhere_does_more_than_be_read_or_be_refused(junk, pointer):
    try:
        rules = read_rules(changed(pointer, junk))
    except RuleFault:
        return
    assert read_rules(as_data(rules)) == rules


def test_every_figure_of_a_formula_has_limits():
    """A figure added later without limits can only be nought: it is noticed here."""

    def numeric(shape):
        return shape in {Decimal, int} or any(numeric(each) for each in get_args(shape))

    records = [each for each in vars(formula).values() if isinstance(each, type) and is_dataclass(each)]
    figures = {
        (record.__name__, each.name)
        for record in records
        for each in fields(record)
        if numeric(get_type_hints(record)[each.name])
    }
    assert figures == set(LIMITS)


def test_the_nearest_source_counts_and_names_are_not_cut():
    sources = {"/keeping": "near", "/keeping/diluted/1+4": "nearer"}
    assert source_of(sources, "/keeping/diluted/1+4") == "nearer"
    assert source_of(sources, "/keeping/diluted/1+40") == "near"
    assert source_of(sources, "/keeping_not") is None


def refused(data):
    with pytest.raises(RuleFault) as refusal:
        read_rules(data)
    return refusal.value
