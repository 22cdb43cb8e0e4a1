"""Closed grammars: what a field accepts, and where it points when it does not."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

import pytest
from rest_framework.exceptions import ValidationError
from rest_framework.test import APIClient

from darkroom_service.api import fields
from darkroom_service.quantity import Dimension
from tests.service.toy_urls import Plan

FILM = {"format": "120", "count": 1}
KEY = "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"
GOOD = {
    "name": "Tank 2",
    "volume": {"value": "1", "unit": "us_qt"},
    "films": [{"format": "135-36", "count": 2}],
    "at": "2026-03-29T03:30:00+02:00",
}


def codes(body):
    response = APIClient().post("/api/plans", body)
    assert response.status_code == 400
    return {(fault["pointer"], fault["code"]) for fault in response.json()["errors"]}


@pytest.mark.urls("tests.service.toy_urls")
def test_a_good_request_comes_back_in_base_units_and_utc():
    response = APIClient().post("/api/plans", GOOD)
    assert response.status_code == 201
    assert response.json() == {
        **GOOD,
        "volume": {"value": "946.352946", "unit": "mL"},
        "at": "2026-03-29T01:30:00Z",
    }


@pytest.mark.urls("tests.service.toy_urls")
@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"nmae": "x"}, "/nmae", "field.unknown"),
        ({"films": [FILM, {**FILM, "x": 1}]}, "/films/1/x", "field.unknown"),
        ({"films": [FILM, {"format": "120"}]}, "/films/1/count", "field.required"),
        ({"films": {}}, "/films", "field.not_a_list"),
        ({"films": ["x"]}, "/films/0", "field.invalid"),
        ({"volume": "250 mL"}, "/volume", "quantity.malformed"),
        ({"volume": {"value": "250"}}, "/volume", "quantity.malformed"),
        ({"volume": {"value": "250", "unit": "mL", "per": "roll"}}, "/volume", "quantity.malformed"),
        ({"volume": {"value": 250, "unit": "mL"}}, "/volume/value", "number.not_text"),
        ({"volume": {"value": "1_000", "unit": "mL"}}, "/volume/value", "number.malformed"),
        ({"volume": {"value": "0", "unit": "mL"}}, "/volume/value", "quantity.zero"),
        ({"volume": {"value": "-5", "unit": "mL"}}, "/volume/value", "number.negative"),
        ({"volume": {"value": "1", "unit": "gal"}}, "/volume/unit", "unit.unknown"),
        ({"volume": {"value": "1", "unit": "ML"}}, "/volume/unit", "unit.unknown"),
        ({"volume": {"value": "1", "unit": "g"}}, "/volume/unit", "unit.mismatched"),
        ({"volume": None}, "/volume", "field.null"),
        ({"name": 5}, "/name", "text.not_text"),
        ({"name": "   "}, "/name", "field.blank"),
        ({"name": "x" * 21}, "/name", "field.max_length"),
        ({"name": "a\u202eb"}, "/name", "text.unprintable"),
        ({"name": "a\nb"}, "/name", "text.unprintable"),
        ({"at": "2026-03-29T03:30:00"}, "/at", "instant.malformed"),
    ],
)  # fmt: skip
def test_a_fault_is_pointed_at(change, pointer, code):
    assert (pointer, code) in codes({**GOOD, **change})


@pytest.mark.urls("tests.service.toy_urls")
def test_every_fault_is_told_at_once():
    found = codes({"name": "", "volume": 1, "films": [], "extra": True})
    assert {pointer for pointer, _ in found} >= {"/name", "/volume", "/extra"}


@pytest.mark.urls("tests.service.toy_urls")
@pytest.mark.parametrize("body", ["[]", '"x"', "1", "null", "true"])
def test_what_is_no_object_is_refused(body):
    response = APIClient().post("/api/plans", body, content_type="application/json")
    assert response.status_code == 400
    assert response["Content-Type"] == "application/problem+json"


def test_text_is_composed_and_trimmed():
    assert fields.Text(max_length=9).run_validation(" e\u0301te\u0301 ") == "été"


def test_a_note_may_have_lines():
    assert fields.Text(max_length=9, multiline=True).run_validation("a\nb") == "a\nb"
    with pytest.raises(ValidationError):
        fields.Text(max_length=9, multiline=True).run_validation("a\x07b")


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("2026-11-25T18:30:00Z", datetime(2026, 11, 25, 18, 30, tzinfo=UTC)),
        ("2026-11-25T18:30:00.250+05:45", datetime(2026, 11, 25, 12, 45, 0, 250_000, tzinfo=UTC)),
        ("2026-11-25T18:30-03:30", datetime(2026, 11, 25, 22, 0, tzinfo=UTC)),
    ],
)
def test_a_moment_with_an_offset_is_read(text, utc):
    moment = fields.InstantField().run_validation(text)
    assert moment == utc
    assert moment.tzinfo is UTC


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25", "2026-11-25 18:30:00Z", "2026-11-25T18:30:00", "2026-11-25T25:00:00Z", "2026-02-30T10:00:00Z",
        "20261125T183000Z", "2026-11-25T18:30:60Z", "2026-11-25T18:30:00z", "2026-11-25T18:30:00+25:00", "now", None,
        "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "٢٠٢٦-11-25T18:30:00Z", 1764095400,
        "2026-11-25T18:30:00Z\n", "2026-W48-3T18:30:00Z",
    ],
)  # fmt: skip
def test_a_moment_that_could_be_read_two_ways_is_refused(text):
    with pytest.raises(ValidationError):
        fields.InstantField().run_validation(text)


def test_a_moment_is_told_in_utc():
    assert fields.InstantField().to_representation(datetime(2026, 1, 1, tzinfo=UTC)) == "2026-01-01T00:00:00Z"


@pytest.mark.parametrize(
    "text", ["2026-2-3", "20260203", "2026-02-30", "1899-01-01", "3000-01-01", 20260203, "2026-W06-2"]
)
def test_a_day_has_one_spelling(text):
    with pytest.raises(ValidationError):
        fields.DayField().run_validation(text)
    assert fields.DayField().run_validation("2026-02-03") == date(2026, 2, 3)


@pytest.mark.parametrize(
    ("field", "bad"),
    [
        (fields.Whole(low=1, high=8), ["1", 0, 9, 1.0, True, Decimal(1), None, "１"]),
        (fields.Flag(), ["true", 1, 0, "yes"]),
        (fields.Id(), [1, "x", KEY.replace("-", ""), f"urn:uuid:{KEY}", [KEY], {}]),
        (fields.Code(), ["A", "a b", "-a", "a--b", "a_", "", "ä", "a" * 61, 5]),
        (fields.DecimalText(low="0.5", high=3, places=2), ["0.4", "3.01", "1.005", 1, "1e0", "-1", "NaN"]),
    ],
)  # fmt: skip
def test_a_closed_field_refuses_its_neighbours(field, bad):
    for value in bad:
        with pytest.raises(ValidationError):
            field.run_validation(value)


def test_closed_fields_accept_what_they_are_for():
    assert fields.Whole(low=1, high=8).run_validation(8) == 8
    assert fields.Flag().run_validation(False) is False
    assert fields.Id().run_validation(KEY) == UUID(KEY)
    assert fields.Code().run_validation("fixer-1") == "fixer-1"
    assert fields.DecimalText(low="0.5", high=3, places=2).run_validation("0.50") == Decimal("0.50")
    assert fields.QuantityField(Dimension.TEMPERATURE).run_validation({"value": "-1.5", "unit": "degC"}) == Decimal(
        "-1.5"
    )


def test_amounts_are_written_out_without_exponents():
    assert fields.QuantityField(Dimension.VOLUME).to_representation(Decimal("1E+3")) == {"value": "1000", "unit": "mL"}
    assert fields.DecimalText().to_representation(Decimal("1E-7")) == "0.0000001"


def test_a_read_only_field_cannot_be_set():
    class Row(fields.Shape):
        id = fields.Id(read_only=True)
        name = fields.Text(max_length=5)

    shape = Row(data={"id": KEY, "name": "x"})
    assert not shape.is_valid()
    assert shape.errors["id"][0].code == "field.unknown"


def test_the_toy_shape_describes_what_the_tests_send():
    assert set(GOOD) == set(Plan().fields)
