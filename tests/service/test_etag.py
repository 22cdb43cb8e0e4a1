"""Nobody's change is overwritten unseen."""

import pytest
from rest_framework.test import APIClient

pytestmark = pytest.mark.urls("tests.service.toy_urls")


def test_a_read_carries_its_version():
    response = APIClient().get("/api/tagged")
    assert response.status_code == 200
    assert response["ETag"] == '"42.3"'


@pytest.mark.parametrize("header", ['"42.3"', 'W/"42.3"', '"x", "42.3"', "*"])
def test_a_reader_who_has_it_gets_304_and_no_body(header):
    response = APIClient().get("/api/tagged", HTTP_IF_NONE_MATCH=header)
    assert response.status_code == 304
    assert response["ETag"] == '"42.3"'
    assert response.content == b""


@pytest.mark.parametrize("header", ['"42.2"', "42.3", "", '"142.3"'])
def test_a_reader_who_has_another_version_gets_this_one(header):
    assert APIClient().get("/api/tagged", HTTP_IF_NONE_MATCH=header).status_code == 200


@pytest.mark.parametrize("header", ['"42.3"', '"1.1", "42.3"', "*"])
def test_an_edit_of_the_version_read_passes(header):
    assert APIClient().patch("/api/tagged", {}, HTTP_IF_MATCH=header).status_code == 200


def test_an_edit_that_names_no_version_is_428():
    response = APIClient().patch("/api/tagged", {})
    assert response.status_code == 428
    assert response.json()["code"] == "precondition.missing"


@pytest.mark.parametrize("header", ['"42.2"', 'W/"42.3"', '"43.3"'])
def test_an_edit_of_an_old_version_is_412_and_tells_the_new_one(header):
    response = APIClient().patch("/api/tagged", {}, HTTP_IF_MATCH=header)
    assert response.status_code == 412
    assert response.json()["facts"] == {"etag": '"42.3"'}


@pytest.mark.parametrize("header", ["", "42.3", '"42.3', '"a" "b"'])
def test_a_broken_if_match_is_400(header):
    response = APIClient().patch("/api/tagged", {}, HTTP_IF_MATCH=header)
    assert response.status_code == 400
    assert response.json()["code"] == "precondition.malformed"
