"""Every failure is a problem document, and no document says more than it should."""

import pytest
from django.core.exceptions import SuspiciousOperation
from django.test import RequestFactory
from rest_framework.test import APIClient

from darkroom_service.api import errors

pytestmark = pytest.mark.urls("tests.service.toy_urls")


@pytest.fixture
def client():
    return APIClient(raise_request_exception=False)


@pytest.mark.parametrize(
    ("kind", "status", "code"),
    [
        ("malformed", 400, "vessel.unknown"),
        ("not-allowed", 403, "sign_off.missing"),
        ("not-found", 404, "resource.absent"),
        ("clash", 409, "batch.exhausted"),
        ("stale", 412, "precondition.stale"),
        ("unworkable", 422, "dilution.ambiguous"),
        ("busy", 503, "server.busy"),
        ("too-long", 400, "value.out_of_range"),
        ("bug", 500, "server.failed"),
    ],
)
def test_each_kind_of_refusal_has_its_status_and_the_one_shape(client, kind, status, code):
    response = client.get(f"/api/refuse/{kind}")
    assert response.status_code == status
    assert response["Content-Type"] == "application/problem+json"
    document = response.json()
    assert {"type", "title", "status", "detail", "code", "facts"} <= document.keys()
    assert document["status"] == status
    assert document["code"] == code
    assert document["type"] == f"/problems/{code}"


def test_facts_are_exact_and_written_out(client):
    document = client.get("/api/refuse/clash").json()
    assert document["facts"] == {"remaining_ml": "300", "rolls": "2/3"}
    assert document["detail"] == "300.0 mL remain"


def test_a_malformed_refusal_points_into_the_body(client):
    [fault] = client.get("/api/refuse/malformed").json()["errors"]
    assert fault == {"pointer": "/vessel", "code": "vessel.unknown", "detail": "no vessel by that id here"}


def test_not_yours_and_not_there_are_the_same_bytes(client):
    foreign = client.get("/api/refuse/not-found")
    absent = client.get("/api/no/such/address")
    assert absent.status_code == 404
    assert foreign.content == absent.content
    assert b"secret" not in foreign.content


def test_a_bug_shows_nothing_of_its_inside(client):
    response = client.get("/api/refuse/bug")
    assert b"inside of the program" not in response.content
    assert response["X-Request-Id"]
    assert response["X-Request-Id"].encode() not in response.content


def test_a_busy_database_says_when_to_come_back(client):
    assert int(client.get("/api/refuse/busy")["Retry-After"]) > 0


def test_no_credentials_is_401_and_names_the_scheme(client):
    response = client.get("/api/closed")
    assert response.status_code == 401
    assert response["WWW-Authenticate"] == "Token"
    assert response.json()["code"] == "credentials.missing"


@pytest.mark.parametrize(
    "header", ["Token", "Token a b", "Token \xff\xfe", "Token a\x00b", "Token " + "a" * 5000, "Token '; drop table"]
)
def test_a_broken_token_is_401_without_any_query(client, header):
    response = client.get("/api/closed", HTTP_AUTHORIZATION=header)
    assert response.status_code == 401
    assert response.json()["code"] == "credentials.invalid"


def test_a_wrong_method_says_which_are_allowed(client):
    response = client.delete("/api/closed", HTTP_AUTHORIZATION="")
    assert response.status_code in {401, 405}
    response = client.delete("/api/plans")
    assert response.status_code == 405
    assert "POST" in response["Allow"]
    assert response.json()["code"] == "method.unsupported"


def test_options_tells_nothing(client):
    assert client.options("/api/plans").status_code == 405


def test_every_answer_is_private_and_told_apart_by_who_asks(client):
    for address in ("/api/tagged", "/api/refuse/clash", "/api/no/such/address", "/api/closed"):
        response = client.get(address)
        assert response["Cache-Control"] == "private, no-cache"
        assert {"Authorization", "Cookie"} <= set(response["Vary"].split(", "))


def test_a_form_is_not_json(client):
    response = client.post("/api/plans", {"name": "x"}, format=None, content_type="application/x-www-form-urlencoded")
    assert response.status_code == 415
    assert response.json()["code"] == "media_type.unsupported"


def test_an_unknown_format_is_406(client):
    response = client.get("/api/tagged", HTTP_ACCEPT="text/csv")
    assert response.status_code == 406
    assert response["Content-Type"] == "application/problem+json"


def test_too_many_calls_are_429_with_the_time_to_wait(client, settings, monkeypatch):
    from django.core.cache import cache
    from rest_framework.throttling import ScopedRateThrottle

    cache.clear()
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"login": "2/min"})
    statuses = [client.post("/api/login").status_code for _ in range(3)]
    assert statuses == [200, 200, 429]
    response = client.post("/api/login")
    assert 0 < int(response["Retry-After"]) <= 61
    assert response.json()["code"] == "rate.exceeded"


def test_a_page_outside_the_api_gets_a_page(client):
    response = client.get("/nowhere")
    assert response.status_code == 404
    assert response["Content-Type"].startswith("text/html")


def test_what_the_framework_cannot_read_is_400_in_our_shape():
    response = errors.bad_request(RequestFactory().get("/api/x"), SuspiciousOperation())
    assert response.status_code == 400
    assert response["Content-Type"] == "application/problem+json"


def test_a_locked_login_is_429_with_the_time_to_wait():
    response = errors.locked_out(RequestFactory().post("/api/v1/tokens"), None, {})
    assert response.status_code == 429
    assert response["Retry-After"] == "900"
    assert b"15 minutes" in response.content


def test_names_with_slashes_and_tildes_are_escaped_in_pointers(client):
    response = client.post("/api/plans", {"a/b~c": 1})
    pointers = {fault["pointer"] for fault in response.json()["errors"]}
    assert "/a~1b~0c" in pointers


def test_a_storm_of_errors_is_cut(client):
    response = client.post("/api/plans", {f"field{number}": 1 for number in range(500)})
    assert len(response.json()["errors"]) == errors.MOST_ERRORS
