from datetime import date
from uuid import uuid4

import pytest
from django.contrib.auth import authenticate

from accounts.acts import Role
from accounts.models import Entry, Membership, Person, RoleChange
from darkroom_service.api import keys
from tests import make

PUPIL = {"username": "pia", "name": "Pia Platt"}


def change(client, member, **changes):
    return client.patch(f"members/{member.public_id}", changes)


def test_an_instructor_enrols_a_pupil_who_can_sign_in_under_the_darkrooms_name(client_for, cy, room):
    answer = client_for(cy).post("members", {**PUPIL, "password": make.PASSWORD, "minor_until": "2031-05-04"})
    assert answer.status_code == 201, answer.json()
    pupil = Membership.objects.get(public_id=answer.json()["id"])
    assert (pupil.roles, pupil.minor_until) == ({Role.MEMBER}, date(2031, 5, 4))
    assert authenticate(username=f"pia@{room.slug}", password=make.PASSWORD) == pupil.person


def test_a_pupil_without_a_password_cannot_sign_in(client_for, cy):
    client_for(cy).post("members", PUPIL)
    assert not Person.objects.get(name="Pia Platt").has_usable_password()


def test_the_record_of_an_enrolment_holds_no_name_and_no_digest_that_gives_the_password_away(client_for, cy):
    body = {**PUPIL, "password": make.PASSWORD}
    client = client_for(cy)
    client.post("members", body)
    entry = Entry.objects.latest("seq")
    assert "Pia" not in entry.answer
    assert entry.digest != keys.digest("POST", f"{client.room}members", body)


def test_a_repeated_enrolment_tells_the_same_answer_and_another_password_is_another_request(client_for, cy):
    client, key = client_for(cy), uuid4()
    body = {**PUPIL, "password": make.PASSWORD}
    first, again = client.post("members", body, key), client.post("members", body, key)
    assert (again.status_code, again.content, again["Location"]) == (201, first.content, first["Location"])
    other = client.post("members", {**body, "password": make.PASSWORD + "!"}, key)
    assert (other.status_code, other.json()["code"]) == (422, "key.reused")


def test_a_login_name_used_elsewhere_can_be_used_here_so_that_nobody_learns_who_exists(client_for, cy, outsider):
    assert client_for(outsider).post("members", PUPIL).status_code == 201
    assert client_for(cy).post("members", PUPIL).status_code == 201
    assert client_for(cy).post("members", PUPIL).json()["code"] == "login.taken"


def test_a_login_name_with_an_at_sign_belongs_to_darkrooms_alone(db):
    with pytest.raises(Exception, match="small letters"):
        make.account(username="pia@elm-street")


def test_somebody_who_has_an_account_joins_by_the_id_they_hand_over(client_for, di, outsider):
    mine = client_for(outsider).get("/api/v1/me").json()["id"]
    answer = client_for(di).post("members", {"person": mine, "roles": ["technician"]})
    assert answer.status_code == 201
    assert Membership.objects.get(public_id=answer.json()["id"]).person == outsider.person


def test_an_id_that_nobody_has_is_refused_with_its_place(client_for, di):
    answer = client_for(di).post("members", {"person": str(uuid4())})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/person")


def test_a_member_cannot_be_enrolled_twice_and_who_left_comes_back_as_the_same_member(client_for, di, ada):
    client, body = client_for(di), {"person": str(ada.person.public_id)}
    assert client.post("members", body).json()["code"] == "member.already"
    client.post(f"members/{ada.public_id}/departure")
    assert client.post("members", body).json()["id"] == str(ada.public_id)
    assert make.refreshed(ada).roles == {Role.MEMBER}


@pytest.mark.parametrize("role", ["technician", "instructor"])
def test_an_instructor_enrols_plain_members_only(client_for, cy, role):
    answer = client_for(cy).post("members", {**PUPIL, "roles": ["member", role]})
    assert (answer.status_code, answer.json()["code"]) == (403, "role.beyond")


def test_nobody_becomes_an_admin_at_once(client_for, di):
    answer = client_for(di).post("members", {**PUPIL, "roles": ["member", "admin"]})
    assert (answer.status_code, answer.json()["code"]) == (403, "role.not_at_once")


@pytest.mark.parametrize("who", ["ada", "bo"])
def test_members_and_technicians_enrol_nobody(client_for, request, who):
    assert client_for(request.getfixturevalue(who)).post("members", PUPIL).status_code == 403


@pytest.mark.parametrize("password", ["short", "1234567890", "password123", "pia platt"])
def test_a_weak_password_is_refused_and_nobody_is_made(client_for, cy, password):
    answer = client_for(cy).post("members", {**PUPIL, "password": password})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/password")
    assert not Person.objects.filter(name="Pia Platt").exists()


@pytest.mark.parametrize(
    "body",
    [
        {"username": "pia"},
        {"name": "Pia"},
        {"person": str(uuid4()), "password": make.PASSWORD},
        {**PUPIL, "person": str(uuid4())},
        {**PUPIL, "is_admin": True},
        {**PUPIL, "username": "Pia"},
        {**PUPIL, "username": "pia@elm"},
        {**PUPIL, "roles": []},
        {**PUPIL, "roles": ["owner"]},
        {**PUPIL, "minor_until": "2031-02-30"},
        [],
    ],
)
def test_an_unclear_enrolment_is_refused_and_nobody_is_made(client_for, di, body):
    people = Person.objects.count()
    assert client_for(di).post("members", body).status_code == 400
    assert Person.objects.count() == people


def test_an_admin_gives_and_takes_roles_and_each_change_is_recorded(client_for, di, ada):
    client = client_for(di)
    assert change(client, ada, roles=["member", "technician"]).json()["roles"] == ["member", "technician"]
    assert change(client, ada, roles=["instructor"]).status_code == 200
    changes = RoleChange.objects.filter(membership=ada).order_by("id").values_list("role", "held")
    assert list(changes) == [
        ("member", True),
        ("technician", True),
        ("instructor", True),
        ("member", False),
        ("technician", False),
    ]


def test_nobody_raises_their_own_role(client_for, di):
    answer = change(client_for(di), di, roles=["member", "admin", "instructor"])
    assert (answer.status_code, answer.json()["code"]) == (403, "role.own")
    assert make.refreshed(di).roles == {Role.MEMBER, Role.ADMIN}


def test_nobody_ends_their_own_minority(client_for, di, ada):
    change(client_for(di), ada, roles=["member", "admin"], minor_until="2100-01-01")
    assert change(client_for(ada), ada, minor_until=None).json()["code"] == "role.own"
    assert change(client_for(di), ada, minor_until=None).json()["minor_until"] is None


def test_one_may_lower_ones_own_role_while_another_admin_stays(client_for, di, ada):
    client = client_for(di)
    assert change(client, di, roles=["member"]).json()["code"] == "admin.last"
    change(client, ada, roles=["member", "admin"])
    assert change(client, di, roles=["member"]).status_code == 200
    assert change(client, ada, roles=["member"]).status_code == 403


def test_the_last_admin_cannot_leave_and_an_admin_who_left_does_not_count(client_for, di, ada):
    client = client_for(di)
    change(client, ada, roles=["member", "admin"])
    client.post(f"members/{ada.public_id}/departure")
    answer = client.post(f"members/{di.public_id}/departure")
    assert (answer.status_code, answer.json()["code"]) == (409, "admin.last")


def test_an_admin_whose_account_is_closed_does_not_count(client_for, di, ada):
    change(client_for(di), ada, roles=["member", "admin"])
    Person.objects.filter(pk=ada.person_id).update(is_active=False)
    assert change(client_for(di), di, roles=["member"]).json()["code"] == "admin.last"


@pytest.mark.parametrize("who", ["ada", "bo", "cy"])
def test_only_admins_change_roles(client_for, request, who, max):
    answer = change(client_for(request.getfixturevalue(who)), max, roles=["admin"])
    assert answer.status_code == 403


def test_a_change_on_an_old_version_is_refused(client_for, di, ada):
    client, address = client_for(di), f"members/{ada.public_id}"
    etag = client.get(address)["ETag"]
    assert client.patch(address, {"roles": ["member", "technician"]}, etag=etag).status_code == 200
    assert client.patch(address, {"roles": ["member"]}, etag=etag).status_code == 412
