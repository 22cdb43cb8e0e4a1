"""Tokens cost one query, run out without ado, and nobody guesses a password for long."""

from datetime import timedelta

import pytest
from rest_framework.test import APIClient

from accounts.models import Person, Token
from darkroom_service.api.token import login_name

pytestmark = pytest.mark.django_db
WORDS = "correct horse battery"


@pytest.fixture
def person():
    return Person.objects.create_user("ada", WORDS, name="Ada")


def issue(person, expiry):
    _, secret = Token.objects.create(user=person, expiry=expiry, name="test")
    return secret


@pytest.mark.urls("tests.service.toy_urls")
def test_a_good_token_costs_one_query_however_many_others_there_are(person, django_assert_num_queries):
    for _ in range(3):
        issue(person, timedelta(seconds=-1))
    secret = issue(person, timedelta(days=1))
    with django_assert_num_queries(1):
        response = APIClient().get("/api/closed", HTTP_AUTHORIZATION=f"Token {secret}")
    assert response.status_code == 200


@pytest.mark.urls("tests.service.toy_urls")
def test_a_token_that_has_run_out_is_401_and_reading_deletes_nothing(person):
    secret = issue(person, timedelta(seconds=-1))
    response = APIClient().get("/api/closed", HTTP_AUTHORIZATION=f"Token {secret}")
    assert response.status_code == 401
    assert response["WWW-Authenticate"] == "Token"
    assert Token.objects.count() == 1


@pytest.mark.urls("tests.service.toy_urls")
def test_a_token_of_somebody_who_left_is_401(person):
    secret = issue(person, None)
    Person.objects.update(is_active=False)
    assert APIClient().get("/api/closed", HTTP_AUTHORIZATION=f"Token {secret}").status_code == 401


@pytest.mark.urls("tests.service.toy_urls")
def test_a_token_is_stored_as_a_digest_only(person):
    secret = issue(person, None)
    row = Token.objects.values().get()
    assert secret not in str(row)
    assert secret.startswith("dkr_")


@pytest.mark.urls("tests.service.toy_urls")
def test_a_session_cannot_write_without_its_csrf_token(person):
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get("/api/closed").status_code == 200
    assert client.post("/api/closed", {}).status_code == 403


def sign_in(name, password):
    return APIClient().post("/api/v1/tokens", {"username": name, "password": password, "name": "test"})


def test_guessing_is_locked_out_under_every_spelling_of_the_name(person, settings):
    settings.AXES_ENABLED = True
    statuses = [sign_in(name, "wrong").status_code for name in ("ada", "Ada", "ADA", "aDa", "adA")]
    assert statuses[0] == 401
    assert statuses[-1] == 429
    response = sign_in("ada", WORDS)
    assert response.status_code == 429
    assert response["Content-Type"] == "application/problem+json"
    assert response.json()["code"] == "login.locked"
    assert int(response["Retry-After"]) == 900


def test_wrong_passwords_are_counted_under_one_spelling():
    assert {login_name(None, {"username": name}) for name in ("ada", " ADA", "Ada ")} == {"ada"}
    assert login_name(None, None) == ""


def test_one_locked_name_locks_no_other(person, settings):
    settings.AXES_ENABLED = True
    Person.objects.create_user("bo", WORDS, name="Bo")
    for _ in range(6):
        sign_in("ada", "wrong")
    assert sign_in("bo", WORDS).status_code == 201


def test_a_good_login_wipes_the_slate(person, settings):
    settings.AXES_ENABLED = True
    for _ in range(3):
        for _ in range(3):
            sign_in("ada", "wrong")
        assert sign_in("ada", WORDS).status_code == 201


def test_an_unknown_name_and_a_wrong_password_are_answered_alike(person):
    assert sign_in("ada", "wrong").content == sign_in("nobody", "wrong").content
