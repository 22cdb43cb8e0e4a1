from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.acts import Act, Role
from accounts.commands.chain import broken
from accounts.models import Darkroom, Entry, Membership, RoleChange, SecondPerson, Topic
from darkroom_service import clock
from tests import make

NEW = {"slug": "elm-street", "name": "Elm Street", "zone": "Europe/Berlin", "currency": "EUR"}
DARKROOMS = "/api/v1/darkrooms"


@pytest.fixture
def founder(db):
    return make.account("Fay Falk")


@pytest.fixture
def fay(client_for, founder):
    return client_for(founder)


def test_whoever_opens_a_darkroom_is_its_first_admin_and_member(fay, founder):
    answer = fay.post(DARKROOMS, NEW)
    assert answer.status_code == 201
    assert answer["Location"] == "/api/v1/darkrooms/elm-street"
    assert Membership.objects.get(person=founder).roles == {Role.ADMIN, Role.MEMBER}
    assert set(RoleChange.objects.values_list("role", "held")) == {("admin", True), ("member", True)}


def test_a_new_darkroom_has_its_three_topics_and_an_unbroken_record_of_one_entry(fay):
    fay.post(DARKROOMS, NEW)
    room = Darkroom.objects.get(slug="elm-street")
    assert set(Topic.objects.filter(darkroom=room).values_list("code", flat=True)) == set(make.TOPICS)
    assert list(Entry.objects.filter(darkroom=room).values_list("seq", "act")) == [(1, Act.DARKROOM_CREATE)]
    assert broken(room) is None


def test_opening_again_under_the_same_key_tells_the_first_answer_again(fay):
    key = uuid4()
    first, again = fay.post(DARKROOMS, NEW, key), fay.post(DARKROOMS, NEW, key)
    assert (again.status_code, again.content, again["Location"]) == (201, first.content, first["Location"])
    assert again["Idempotency-Replayed"] == "true"
    assert Darkroom.objects.count() == 1


def test_opening_another_darkroom_under_a_used_key_is_refused(fay):
    key = uuid4()
    fay.post(DARKROOMS, NEW, key)
    answer = fay.post(DARKROOMS, {**NEW, "slug": "oak-street"}, key)
    assert (answer.status_code, answer.json()["code"]) == (422, "key.reused")
    assert Darkroom.objects.count() == 1


def test_the_key_of_somebody_else_says_nothing(fay, client_for):
    key = uuid4()
    fay.post(DARKROOMS, NEW, key)
    answer = client_for(make.account()).post(DARKROOMS, {**NEW, "slug": "oak-street"}, key)
    assert answer.status_code == 201
    assert "Idempotency-Replayed" not in answer


def test_who_has_left_is_not_told_the_old_answer(fay, founder, client_for):
    key = uuid4()
    fay.post(DARKROOMS, NEW, key)
    Membership.objects.filter(person=founder).update(left_at=clock.now())
    assert fay.post(DARKROOMS, NEW, key).status_code == 404


def test_an_address_that_is_taken_is_refused(fay, client_for):
    fay.post(DARKROOMS, NEW)
    answer = client_for(make.account()).post(DARKROOMS, NEW)
    assert (answer.status_code, answer.json()["code"]) == (409, "darkroom.address_taken")


def test_a_fourth_darkroom_in_one_day_is_refused_and_the_next_day_it_opens(fay, founder):
    for number in range(3):
        assert fay.post(DARKROOMS, {**NEW, "slug": f"elm-{number}"}).status_code == 201
    assert fay.post(DARKROOMS, {**NEW, "slug": "elm-3"}).json()["code"] == "darkroom.too_many"
    with clock.fixed(clock.now() + timedelta(days=1, minutes=1)):
        assert fay.post(DARKROOMS, {**NEW, "slug": "elm-3"}).status_code == 201


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("zone", "Mars/Base", "zone.unknown"),
        ("zone", "../etc/passwd", "zone.unknown"),
        ("currency", "eur", "currency.malformed"),
        ("currency", "E1R", "currency.malformed"),
        ("slug", "Elm", "code.malformed"),
        ("slug", "elm_street", "slug.malformed"),
        ("hold_minutes", 4, "count.malformed"),
        ("country_rules", "FR", "field.invalid_choice"),
        ("carry_out_film", {"value": "-5", "unit": "mL"}, "number.negative"),
        ("tank_sizes", [{"value": "0.04", "unit": "mL"}], "quantity.zero"),
        ("colour", "red", "field.unknown"),
    ],
)
def test_a_bad_setting_is_refused_with_its_place_and_nothing_is_made(fay, field, value, code):
    answer = fay.post(DARKROOMS, {**NEW, field: value})
    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert (error["pointer"].split("/")[1], error["code"]) == (field, code)
    assert Darkroom.objects.count() == 0


def test_the_list_holds_ones_own_darkrooms_only_with_a_constant_number_of_queries(
    client_for, di, outsider, django_assert_num_queries
):
    client = client_for(di)
    with django_assert_num_queries(2):
        assert [item["slug"] for item in client.get(DARKROOMS).json()["items"]] == [di.darkroom.slug]
    make.room(di.person)
    with django_assert_num_queries(2):
        assert len(client.get(DARKROOMS).json()["items"]) == 2


def test_a_darkroom_proposes_a_second_person_by_how_many_could_be_one(client_for, di, bo):
    client = client_for(di)
    before = client.get(client.room[:-1])
    assert before.json()["proposed"] == {"qualified": 1, "second_person": "off"}
    make.member(di, Role.INSTRUCTOR)
    after = client.get(client.room[:-1])
    assert after.json()["proposed"] == {"qualified": 2, "second_person": "noted"}
    assert after["ETag"] != before["ETag"]


def test_the_proposal_is_off_alone_noted_for_two_and_required_from_three_on():
    proposals = [SecondPerson.proposed(people) for people in range(5)]
    assert proposals == ["off", "off", "noted", "required", "required"]


def test_an_admin_changes_settings_and_the_record_keeps_what_they_were(client_for, di):
    client = client_for(di)
    changes = {
        "zone": "America/New_York",
        "emergency_text": "Ring the porter.",
        "carry_out_film": {"value": "7.5", "unit": "mL"},
        "tank_sizes": [{"value": "1", "unit": "L"}, {"value": "473", "unit": "mL"}, {"value": "1000", "unit": "mL"}],
    }
    answer = client.patch(client.room[:-1], changes)
    assert answer.status_code == 200, answer.json()
    assert answer.json()["carry_out_film"] == {"value": "7.5", "unit": "mL"}
    assert make.refreshed(di.darkroom).tank_sizes == [4730, 10000]
    entry = Entry.objects.latest("seq")
    assert '"zone":{"from":"Europe/Berlin","to":"America/New_York"}' in entry.answer
    assert "porter" not in entry.answer


def test_a_change_on_an_old_version_is_refused_and_one_without_a_version_too(client_for, di):
    client = client_for(di)
    read = client.get(client.room[:-1])["ETag"]
    assert client.patch(client.room[:-1], {"name": "One"}, etag=read).status_code == 200
    assert client.patch(client.room[:-1], {"name": "Two"}, etag=read).status_code == 412
    without = client.generic("PATCH", client.room[:-1], '{"name": "Three"}', content_type="application/json")
    assert without.status_code == 428
    assert make.refreshed(di.darkroom).name == "One"


def test_a_technician_may_not_change_settings(client_for, bo):
    client = client_for(bo)
    assert client.patch(client.room[:-1], {"name": "Mine"}).status_code == 403


def test_the_currency_stays(client_for, di):
    client = client_for(di)
    assert client.patch(client.room[:-1], {"currency": "USD"}).json()["errors"][0]["pointer"] == "/currency"
