"""JSON that two readers could read two ways never reaches a rule."""

from decimal import Decimal

import pytest
from rest_framework.test import APIClient

from darkroom_service.api import parser
from darkroom_service.refusal import Malformed


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "json.malformed"),
        (b"{", "json.malformed"),
        (b"{'a': 1}", "json.malformed"),
        (b'{"a": 1,}', "json.malformed"),
        (b'{"a": 01}', "json.malformed"),
        (b'{"a": +1}', "json.malformed"),
        (b'{"a": .5}', "json.malformed"),
        (b'{"a": "\n"}', "json.malformed"),
        (b'\xef\xbb\xbf{"a": 1}', "json.malformed"),
        (b'{"a": 1}{"a": 2}', "json.malformed"),
        (b'{"a": 1, "a": 2}', "json.duplicate_name"),
        (b'{"a": {"b": 1, "\\u0062": 2}}', "json.duplicate_name"),
        (b'{"a": NaN}', "json.not_a_number"),
        (b'{"a": -Infinity}', "json.not_a_number"),
        (b'{"a": 1e5}', "json.exponent"),
        (b'{"a": 1.5E999999999}', "json.exponent"),
        (b'{"a": ' + b"9" * 5000 + b"}", "json.number_too_long"),
        (b'{"a": 0.' + b"1" * 30 + b"}", "json.number_too_long"),
        (b'{"a": "\\ud800"}', "json.lone_surrogate"),
        (b'{"\\udc00": 1}', "json.lone_surrogate"),
        (b'{"a": "b\\u0000"}', "json.nul"),
        (b'{"a\\u0000": 1}', "json.nul"),
        (b'{"a": "\xff"}', "json.not_utf8"),
        (b'{"a": 1}'.decode().encode("utf-16"), "json.not_utf8"),
        (b"[" * 21 + b"]" * 21, "json.too_deep"),
        (b"[" * 100_000 + b"]" * 100_000, "json.too_deep"),
        (b'{"a":' * 21 + b"1" + b"}" * 21, "json.too_deep"),
        (b"{" + b",".join(b'"%d":1' % n for n in range(5001)) + b"}", "json.too_many_names"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_hostile_json_is_refused_with_its_own_code(body, code):
    with pytest.raises(Malformed) as found:
        parser.read(body)
    assert found.value.code == code


def test_twenty_levels_are_enough_for_anybody():
    assert parser.read(b"[" * 19 + b'"x"' + b"]" * 19)


def test_bare_numbers_stay_exact():
    assert parser.read(b'{"a": 0.1, "b": 3}') == {"a": Decimal("0.1"), "b": 3}


def test_words_of_any_script_pass():
    assert parser.read('{"a": "現像液 – ½ 😀"}'.encode()) == {"a": "現像液 – ½ 😀"}
    assert parser.read(b'{"a": "\\ud83d\\ude00"}') == {"a": "😀"}


@pytest.mark.urls("tests.service.toy_urls")
def test_a_body_of_more_than_256_kib_is_413():
    body = b'{"a": "' + b"x" * (256 * 1024) + b'"}'
    response = APIClient().post("/api/digest", body, content_type="application/json")
    assert response.status_code == 413
    assert response.json()["code"] == "body.too_large"


@pytest.mark.urls("tests.service.toy_urls")
def test_a_broken_body_is_400_in_our_shape():
    response = APIClient().post("/api/digest", b'{"a": 1, "a": 1}', content_type="application/json")
    assert response.status_code == 400
    assert response.json()["errors"][0]["code"] == "json.duplicate_name"
