"""Reading dilutions and splitting volumes."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from chemistry.science.dilution import Dilution, NotADilution, parse, split, working_from_stock
from tests.chemistry.science.trade_values import of_topic

PARTS = st.integers(0, 50_000).map(lambda hundredths: Decimal(hundredths) / 100)
VOLUMES = st.integers(0, 10**8).map(lambda tenths: Decimal(tenths) / 10)


@pytest.mark.parametrize("case", of_topic("dilution"), ids=lambda case: case.id)
def test_a_volume_is_split_as_the_trade_does(case):
    stock, water = split(Decimal(case.input["final_ml"]), parse(f"1+{case.input['n']}"))
    assert (stock, water) == (case.expected["stock_ml"], case.expected["water_ml"])


@pytest.mark.parametrize(
    ("text", "canonical"),
    [("stock", "stock"), ("1+3", "1+3"), ("1+1.50", "1+1.5"), ("1+0.5", "1+0.5"), ("1+100", "1+100")],
)
def test_a_dilution_is_read_and_written_one_way(text, canonical):
    assert str(parse(text)) == canonical
    assert parse(canonical) == parse(text)


@given(PARTS)
def test_what_is_written_is_read_back(parts):
    assert parse(str(Dilution(parts))) == Dilution(parts)


# 1:n is read both ways: common practice, no source.
@pytest.mark.parametrize(
    ("text", "offers"),
    [
        ("1:3", ("1+3", "1+2")),
        ("1:2", ("1+2", "1+1")),
        ("1:1.5", ("1+1.5", "1+0.5")),
        ("1:1", ("1+1",)),
        ("1:501", ("1+500",)),
    ],
)
def test_a_ratio_is_refused_and_both_readings_are_offered(text, offers):
    with pytest.raises(NotADilution, match="read both ways") as refusal:
        parse(text)
    assert refusal.value.offers == offers
    assert all(offer in str(refusal.value) for offer in offers)


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "1+", "+3", "1", "3", "1+3 ", " 1+3", "1 + 3", "1+ 3", "1+3\n", "\u200b1+3", "1\u00a0+3"),
        *(
            "1+-3",
            "1++3",
            "1+03",
            "1+.5",
            "1+3.",
            "1+1.234",
            "1+1_000",
            "1+3e2",
            "1+1E1",
            "1+NaN",
            "1+Infinity",
            "1+inf",
        ),
        *(
            "\uff11+\uff13",
            "1\uff0b3",
            "1+\u0663",
            "1+\u00b3",
            "1+1.\u0663",
            "1+3,5",
            "1/3",
            "1-3",
            "1+0x3",
            "2+3",
            "1+1+1",
            "Stock",
            "STOCK",
            "stock ",
        ),
        *("1+501", "1+1000", "1+99999999999", "1:0", "1:-3", "1: 3", "1:1_000", "1+" + "3" * 100_000),
    ],
)
def test_anything_else_is_refused_with_the_way_to_write_it(text):
    with pytest.raises(NotADilution) as refusal:
        parse(text)
    assert "1+" in str(refusal.value) or "500 parts" in str(refusal.value)
    assert len(str(refusal.value)) < 300


def test_no_water_at_all_is_called_stock():
    with pytest.raises(NotADilution) as refusal:
        parse("1+0")
    assert refusal.value.offers == ("stock",)


@given(st.text())
def test_no_text_does_anything_but_parse_or_be_refused(text):
    try:
        read = parse(text)
    except NotADilution:
        return
    assert parse(str(read)) == read


@pytest.mark.parametrize("parts", ["-1", "500.01", "0.001", "NaN", "sNaN", "Infinity"])
def test_no_impossible_dilution_can_be_made(parts):
    with pytest.raises(NotADilution):
        Dilution(Decimal(parts))


@given(VOLUMES, PARTS)
def test_stock_and_water_are_the_whole_on_the_grid(total, parts):
    stock, water = split(total, Dilution(parts))
    assert stock + water == total
    assert stock >= 0
    assert water >= 0
    assert stock == round(stock, 1)
    assert water == round(water, 1)
    assert abs(stock * (1 + parts) - total) <= Decimal("0.05") * (1 + parts)


@given(VOLUMES, PARTS, PARTS)
def test_a_weaker_dilution_never_takes_more_stock(total, some, more):
    assume(some <= more)
    assert split(total, Dilution(more))[0] <= split(total, Dilution(some))[0]


@pytest.mark.parametrize(("total", "stock"), [("0.5", "0.2"), ("0.3", "0.2"), ("0.1", "0.0"), ("300.1", "150.0")])
def test_a_half_step_of_stock_rounds_to_even(total, stock):
    assert split(Decimal(total), parse("1+1")) == (Decimal(stock), Decimal(total) - Decimal(stock))


@given(VOLUMES, PARTS)
def test_working_from_stock_undoes_an_exact_split(stock, parts):
    assume(stock * (1 + parts) <= 10**9)
    assert split(working_from_stock(stock, Dilution(parts)), Dilution(parts))[0] == stock


@pytest.mark.parametrize("volume", ["-0.1", "NaN", "Infinity", "1e10"])
def test_an_impossible_volume_is_refused(volume):
    with pytest.raises(ValueError, match="millilitres"):
        split(Decimal(volume), parse("1+1"))
    with pytest.raises(ValueError, match="millilitres"):
        working_from_stock(Decimal(volume), parse("1+1"))
