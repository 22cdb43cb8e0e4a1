"""The idempotency key, and what makes two requests the same request."""

from decimal import Decimal
from uuid import UUID

import pytest
from rest_framework.test import APIClient

from darkroom_service.api.keys import digest

pytestmark = pytest.mark.urls("tests.service.toy_urls")
KEY = "6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11"


@pytest.mark.parametrize("header", [KEY, f'"{KEY}"', KEY.upper(), f"  {KEY} "])
def test_a_key_is_a_uuid_bare_or_quoted(header):
    response = APIClient().post("/api/key", {}, HTTP_IDEMPOTENCY_KEY=header)
    assert UUID(response.json()["key"]) == UUID(KEY)


def test_a_missing_key_is_400_and_says_what_to_send():
    response = APIClient().post("/api/key", {})
    assert response.status_code == 400
    assert response.json()["code"] == "key.missing"
    assert "Idempotency-Key" in response.json()["detail"]


@pytest.mark.parametrize(
    "header",
    [
        "1",
        "abc",
        f'"{KEY}',
        f'{KEY}"',
        f"{{{KEY}}}",
        f"urn:uuid:{KEY}",
        KEY.replace("-", ""),
        f"{KEY},{KEY}",
        "６f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11",
    ],
)
def test_anything_else_is_no_key(header):
    response = APIClient().post("/api/key", {}, HTTP_IDEMPOTENCY_KEY=header)
    assert response.status_code == 400
    assert response.json()["code"] == "key.malformed"


def test_order_and_spacing_do_not_matter():
    client = APIClient()
    one = client.post("/api/digest", b'{"a": "1", "b": [1, 2]}', content_type="application/json").json()
    two = client.post("/api/digest", b'{"b":[1,2],"a":"1"}', content_type="application/json").json()
    assert one == two


@pytest.mark.parametrize(
    ("method", "route", "body"),
    [
        ("PATCH", "/a", {"x": "1"}),
        ("POST", "/b", {"x": "1"}),
        ("POST", "/a", {"x": 1}),
        ("POST", "/a", {"x": Decimal("1")}),
        ("POST", "/a", {"x": "1.0"}),
        ("POST", "/a", {"x": "1", "y": None}),
        ("POST", "/a", {"x": ["1"]}),
    ],
)
def test_any_difference_in_what_is_asked_shows(method, route, body):
    assert digest(method, route, body) != digest("POST", "/a", {"x": "1"})


def test_order_in_a_list_matters():
    assert digest("POST", "/a", ["x", "y"]) != digest("POST", "/a", ["y", "x"])
