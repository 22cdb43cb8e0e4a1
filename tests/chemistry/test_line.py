"""Lines: set up, changed and retired by the technician; what could never work is refused."""

from uuid import uuid4

import pytest

from chemistry.models import Line
from tests.chemistry import bench, brew
from tests.waste import pail


@pytest.fixture
def bath(room, bo, eli, cy):
    """A vessel of released developer."""
    return bench.developer(room)


def body(bath, **more):
    steps = [{"role": "developer", "vessel": str(bath.public_id)}]
    return {"name": "film", "process": "bw", "film_or_paper": "film", "steps": steps, **more}


def test_a_line_is_set_up_read_and_listed(bath, bo, ada, client_for):
    can = pail.can(bo, "bw-developer")
    step = {"role": "developer", "vessel": str(bath.public_id), "container": str(can.public_id)}
    made = client_for(bo).post("lines", body(bath, steps=[step]))
    assert made.status_code == 201
    told = client_for(ada).get(made.headers["Location"]).json()
    assert told["steps"] == [
        {
            "role": "developer",
            "vessel": {"id": str(bath.public_id), "code": bath.code},
            "container": {"id": str(can.public_id), "code": can.code},
        }
    ]
    assert client_for(ada).get("lines").json()["items"] == [told]


def test_steps_stand_in_the_order_liquids_follow_however_they_are_told(room, bath, bo, client_for):
    stop = brew.working(room, "stop-acetic", "1+20", "1000")
    steps = [
        {"role": "stop", "vessel": str(stop.public_id)},
        {"role": "developer", "vessel": str(bath.public_id)},
    ]
    made = client_for(bo).post("lines", body(bath, steps=steps)).json()
    told = client_for(bo).get(f"lines/{made['id']}").json()
    assert [step["role"] for step in told["steps"]] == ["developer", "stop"]


def test_a_member_sets_up_no_line(bath, ada, client_for):
    assert client_for(ada).post("lines", body(bath)).status_code == 403
    assert not Line.objects.exists()


def test_a_line_is_changed_only_on_the_version_that_was_read(room, bath, bo, client_for):
    client = client_for(bo)
    made = client.post("lines", body(bath)).json()
    read = client.get(f"lines/{made['id']}")
    other = bench.developer(room, "600")
    steps = [{"role": "developer", "vessel": str(other.public_id)}]
    edited = client.patch(f"lines/{made['id']}", {"steps": steps}, etag=read.headers["ETag"])
    assert edited.status_code == 200
    assert edited.json()["steps"][0]["vessel"]["code"] == other.code
    assert edited.json()["name"] == "film"
    assert client.patch(f"lines/{made['id']}", {"name": "late"}, etag=read.headers["ETag"]).status_code == 412


def test_a_retired_line_is_planned_with_no_more_and_stays_as_it_is(bath, bo, cy, client_for):
    client = client_for(bo)
    made = client.post("lines", body(bath)).json()
    assert client.post(f"lines/{made['id']}/retirement").status_code == 200
    line = Line.objects.get(public_id=made["id"])
    assert client.post(f"lines/{made['id']}/retirement").json()["code"] == "line.retired"
    assert client.patch(f"lines/{made['id']}", {"name": "new"}).json()["code"] == "line.retired"
    answer = client_for(cy).post("tank-plans", bench.tank(line))
    assert (answer.status_code, answer.json()["code"]) == (409, "line.retired")


def test_a_name_is_used_once(bath, bo, client_for):
    client_for(bo).post("lines", body(bath))
    assert client_for(bo).post("lines", body(bath)).json()["code"] == "line.name_taken"


@pytest.mark.parametrize(
    ("role", "process", "material", "code"),
    [
        ("fixer_1", "bw", "film", "step.other_kind"),
        ("developer", "colour_negative", "film", "line.other_process"),
    ],
)
def test_a_vessel_that_cannot_do_the_step_is_refused(room, bath, bo, client_for, role, process, material, code):
    other = bench.developer(room, "300")
    steps = [
        {"role": "developer", "vessel": str(bath.public_id)},
        *([] if role == "developer" else [{"role": role, "vessel": str(other.public_id)}]),
    ]
    answer = client_for(bo).post("lines", body(bath, steps=steps, process=process, film_or_paper=material))
    assert (answer.status_code, answer.json()["code"]) == (422, code)
    assert not Line.objects.exists()


def test_a_container_for_other_waste_is_refused(bath, bo, client_for):
    can = pail.can(bo, "fixer")
    step = {"role": "developer", "vessel": str(bath.public_id), "container": str(can.public_id)}
    answer = client_for(bo).post("lines", body(bath, steps=[step]))
    assert (answer.status_code, answer.json()["code"]) == (422, "container.wrong_stream")
    assert answer.json()["facts"]["wants"] == "bw-developer"


def test_a_members_own_bottle_stands_in_no_line(room, bath, bo, ada, client_for):
    mine = brew.bottle(room, owner=ada)
    answer = client_for(bo).post("lines", body(mine))
    assert (answer.status_code, answer.json()["code"]) == (422, "vessel.private")


@pytest.mark.parametrize(
    ("steps", "pointer"),
    [
        ([{"role": "developer", "vessel": "{absent}"}], "/steps/0/vessel"),
        ([{"role": "developer", "vessel": "{bath}", "container": "{absent}"}], "/steps/0/container"),
        ([{"role": "developer", "vessel": "{bath}"}, {"role": "stop", "vessel": "{bath}"}], "/steps/1/vessel"),
        ([{"role": "developer", "vessel": "{bath}"}, {"role": "developer", "vessel": "{bath}"}], "/steps/1/role"),
        ([{"role": "stop", "vessel": "{bath}"}], "/steps"),
        ([], "/steps"),
        ([{"role": "rinse", "vessel": "{bath}"}], "/steps/0/role"),
    ],
)
def test_what_cannot_be_read_is_refused_where_it_stands(bath, bo, client_for, steps, pointer):
    named = {"{absent}": str(uuid4()), "{bath}": str(bath.public_id)}
    steps = [{part: named.get(value, value) for part, value in step.items()} for step in steps]
    answer = client_for(bo).post("lines", body(bath, steps=steps))
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_another_darkroom_sees_no_line(bath, bo, outsider, client_for):
    made = client_for(bo).post("lines", body(bath)).json()
    assert client_for(outsider).get(f"lines/{made['id']}").status_code == 404


def test_a_list_takes_the_same_queries_however_long(room, bath, bo, client_for, django_assert_num_queries):
    client = client_for(bo)
    client.post("lines", body(bath))
    with django_assert_num_queries(4):
        client.get("lines")
    client.post("lines", body(bath, name="second"))
    with django_assert_num_queries(4):
        client.get("lines")
