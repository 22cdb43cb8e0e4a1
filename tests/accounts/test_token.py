from datetime import timedelta

import pytest
from django.core.cache import cache
from rest_framework.settings import api_settings
from rest_framework.test import APIClient

from accounts.api.token import TokensView
from accounts.models import Person, Token
from darkroom_service import clock
from tests import make

TOKENS, ME = "/api/v1/tokens", "/api/v1/me"


@pytest.fixture
def nora(db):
    return make.account("Nora North", username="nora", password=make.PASSWORD)


def sign_in(username="nora", password=make.PASSWORD, **more):
    body = {"username": username, "password": password, "name": "bench tablet", **more}
    return APIClient().post(TOKENS, body, format="json")


def speaking(secret):
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
    return client


def test_a_token_speaks_for_its_owner_and_only_its_digest_is_stored(nora):
    answer = sign_in()
    assert (answer.status_code, answer["Cache-Control"]) == (201, "no-store")
    secret = answer.json()["token"]
    assert speaking(secret).get(ME).json()["username"] == "nora"
    row = Token.objects.get()
    assert secret not in (row.digest, row.token_key, str(row), repr(row))
    assert secret.startswith(row.token_key)


def test_a_token_runs_out(nora):
    secret = sign_in(days=1).json()["token"]
    with clock.fixed(clock.now() + timedelta(hours=23)):
        assert speaking(secret).get(ME).status_code == 200
    with clock.fixed(clock.now() + timedelta(hours=25)):
        assert speaking(secret).get(ME).status_code == 401


def test_an_unknown_name_a_wrong_password_and_an_account_without_one_are_answered_alike(nora):
    make.account(username="nopass")
    Person.objects.filter(pk=make.account(username="closed", password=make.PASSWORD).pk).update(is_active=False)
    answers = [sign_in(password="wrong"), sign_in("nobody"), sign_in("nopass", "!"), sign_in("closed")]
    assert {answer.status_code for answer in answers} == {401}
    assert len({answer.content for answer in answers}) == 1


def test_the_spelling_of_a_login_name_does_not_matter(nora):
    assert sign_in("NORA").status_code == 201


def test_a_stale_token_in_the_header_does_not_hinder_signing_in(nora):
    client = speaking("dkr_" + "0" * 60)
    body = {"username": "nora", "password": make.PASSWORD, "name": "again"}
    assert client.post(TOKENS, body, format="json").status_code == 201


def test_guessing_locks_the_name_for_a_while_even_for_the_right_password_in_any_spelling(nora, settings):
    settings.AXES_ENABLED = True
    for number in range(settings.AXES_FAILURE_LIMIT):
        sign_in("NORA" if number % 2 else "nora", "wrong")
    answer = sign_in()
    assert (answer.status_code, answer.json()["code"]) == (429, "login.locked")
    assert int(answer["Retry-After"]) > 0
    make.account(username="other", password=make.PASSWORD)
    assert sign_in("other").status_code == 201


def test_signing_in_is_throttled(nora, monkeypatch):
    cache.clear()
    monkeypatch.setitem(api_settings.DEFAULT_THROTTLE_RATES, "login", "2/min")
    assert TokensView.throttle_scope == "login"
    assert [sign_in(password="wrong").status_code for _ in range(3)] == [401, 401, 429]
    cache.clear()


def test_ones_own_tokens_are_listed_without_their_secrets(nora, client_for, django_assert_num_queries):
    secret = sign_in().json()["token"]
    sign_in()
    client_for(make.account())
    client = speaking(secret)
    with django_assert_num_queries(2):
        items = client.get(TOKENS).json()["items"]
    assert [item["name"] for item in items] == ["bench tablet"] * 2
    assert items[0].keys() == {"id", "name", "prefix", "created", "expiry"}
    assert secret not in str(items)


def test_a_token_is_ended_by_its_owner_only(nora, client_for):
    secret = sign_in().json()["token"]
    address = f"{TOKENS}/{Token.objects.get().public_id}"
    assert client_for(make.account()).delete(address).status_code == 404
    assert speaking(secret).delete(address).status_code == 204
    assert speaking(secret).get(ME).status_code == 401


@pytest.mark.parametrize(("field", "value"), [("days", 0), ("days", 366), ("name", ""), ("scope", "all")])
def test_a_badly_shaped_request_is_refused_with_its_place(nora, field, value):
    answer = sign_in(**{field: value})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"/{field}")


def test_a_list_needs_credentials(db):
    answer = APIClient().get(TOKENS)
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Token")
