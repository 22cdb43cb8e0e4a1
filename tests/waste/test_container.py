"""Containers: set up, closed, reopened, cleared. A 10 L can is filled to 9 L unless somebody says otherwise."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from accounts.commands import coding
from accounts.models import Entry
from darkroom_service import clock
from tests import make
from tests.waste.pail import can, do, kept_apart, ml, poured
from waste.commands import container
from waste.models import Container, ContainerStep

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def litres(value):
    return {"value": value, "unit": "L"}


def body(stream, **given):
    return {"stream": str(stream.public_id), "name": "Can", "material": "hdpe", "rated": litres("10"), **given}


@pytest.fixture
def bo_speaks(bo, client_for):
    return client_for(bo)


def test_a_new_container_is_empty_open_and_filled_to_nine_tenths(bo, bo_speaks):
    made = bo_speaks.post("containers", body(kept_apart(bo), location="Under the sink"))
    assert made.status_code == 201
    found = bo_speaks.get(made["Location"]).json()
    assert {name: found[name]["value"] for name in ("rated", "working_fill", "contents", "room")} == {
        "rated": "10000.0",
        "working_fill": "9000.0",
        "contents": "0.0",
        "room": "9000.0",
    }
    assert (found["state"], found["closed_at"], found["location"]) == ("open", None, "Under the sink")
    assert (found["stream"]["code"], found["stream"]["list_code"]) == ("fixer", "09 01 04*")
    assert bo_speaks.get(found["fills"]).json() == {"items": [], "next": None}
    assert len(found["code"]) == 6


def test_a_working_fill_of_ones_own_is_kept_up_to_brimful(bo, bo_speaks):
    made = bo_speaks.post("containers", body(kept_apart(bo), working_fill=litres("10")))
    assert bo_speaks.get(made["Location"]).json()["room"]["value"] == "10000.0"


def test_a_working_fill_beyond_what_it_holds_is_refused_at_its_place(bo, bo_speaks):
    refused = bo_speaks.post("containers", body(kept_apart(bo), working_fill={"value": "10000.1", "unit": "mL"}))
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "/working_fill"
    assert "10000.0 mL" in refused.json()["detail"]


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"rated": {"value": "0", "unit": "L"}}, "/rated/value"),
        ({"rated": {"value": "-1", "unit": "L"}}, "/rated/value"),
        ({"rated": {"value": "10", "unit": "gal"}}, "/rated/unit"),
        ({"rated": 10}, "/rated"),
        ({"material": "steel"}, "/material"),
        ({"name": ""}, "/name"),
        ({"code": "ABC"}, "/code"),
        ({"stream": "fixer"}, "/stream"),
    ],
)
def test_a_wrong_shape_is_refused_at_its_place(bo, bo_speaks, wrong, pointer):
    refused = bo_speaks.post("containers", body(kept_apart(bo)) | wrong)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, pointer)
    assert Container.objects.count() == 0


def test_metal_is_refused_with_what_would_do(bo, bo_speaks):
    refused = bo_speaks.post("containers", body(kept_apart(bo), material="steel"))
    assert "hdpe" in refused.json()["errors"][0]["detail"]


def test_a_stream_elsewhere_and_one_that_never_was_are_refused_alike(bo_speaks, outsider):
    foreign, absent = kept_apart(outsider).public_id, uuid4()
    answers = [bo_speaks.post("containers", body(kept_apart(outsider)) | {"stream": str(e)}) for e in (foreign, absent)]
    assert {each.status_code for each in answers} == {400}
    assert answers[0].content == answers[1].content
    assert answers[0].json()["errors"][0]["pointer"] == "/stream"


def test_a_code_that_is_taken_is_passed_over(bo, monkeypatch):
    drawn = iter(["AAAAAA", "AAAAAA", "BBBBBB"])
    monkeypatch.setattr(coding.shortcode, "make", lambda _: next(drawn))
    assert [can(bo).code, can(bo).code] == ["AAAAAA", "BBBBBB"]


def test_another_darkroom_may_use_the_same_code(bo, outsider, monkeypatch):
    monkeypatch.setattr(coding.shortcode, "make", lambda _: "AAAAAA")
    assert can(bo).code == can(outsider_technician(outsider)).code


def outsider_technician(outsider):
    from accounts.acts import Role

    return make.member(outsider, Role.TECHNICIAN, name="Tess Thorn")


def test_an_edit_needs_the_version_that_was_read_and_a_pour_moves_it(bo, bo_speaks):
    address = f"containers/{can(bo).public_id}"
    read = bo_speaks.get(address)
    assert bo_speaks.patch(address, {"name": "Left can"}, etag=read["ETag"]).json()["name"] == "Left can"
    assert bo_speaks.patch(address, {"location": "Shelf"}, etag=read["ETag"]).status_code == 412
    read = bo_speaks.get(address)
    poured(bo, Container.objects.get())
    assert bo_speaks.patch(address, {"location": "Shelf"}, etag=read["ETag"]).status_code == 412
    assert bo_speaks.get(address).json()["location"] == ""


@pytest.mark.parametrize("field", ["rated", "working_fill", "contents", "state", "stream", "code"])
def test_what_a_container_is_never_changes(bo, bo_speaks, field):
    refused = bo_speaks.patch(f"containers/{can(bo).public_id}", {field: "open"})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, f"/{field}")


def test_a_container_is_closed_and_reopened(bo, bo_speaks):
    address = f"containers/{can(bo).public_id}"
    assert bo_speaks.post(f"{address}/closing", {"reason": "Full"}).json()["state"] == "closed"
    assert bo_speaks.get(address).json()["closed_at"] is not None
    assert bo_speaks.post(f"{address}/reopening").json()["state"] == "open"
    assert bo_speaks.get(address).json()["closed_at"] is None
    assert list(ContainerStep.objects.values_list("was", "became", "reason").order_by("id")) == [
        ("", "open", ""),
        ("open", "closed", "Full"),
        ("closed", "open", ""),
    ]


def test_a_repeated_key_closes_once(bo, bo_speaks):
    address, key = f"containers/{can(bo).public_id}/closing", uuid4()
    first, second = (bo_speaks.post(address, key=key) for _ in range(2))
    assert (first.status_code, first.content) == (second.status_code, second.content)
    assert ContainerStep.objects.filter(became="closed").count() == 1


@pytest.mark.parametrize(
    ("before", "step", "code"),
    [
        (["closing"], "closing", "container.closed"),
        ([], "reopening", "container.open"),
        ([], "clearing", "container.open"),
        (["closing"], "clearing", "container.closed"),
    ],
)
def test_a_step_from_the_wrong_state_is_refused_and_says_which_it_is(bo, bo_speaks, before, step, code):
    address = f"containers/{can(bo).public_id}"
    for each in before:
        bo_speaks.post(f"{address}/{each}")
    refused = bo_speaks.post(f"{address}/{step}", {"reason": "Because"})
    assert (refused.status_code, refused.json()["code"]) == (409, code)


@pytest.mark.parametrize("step", ["closing", "reopening"])
def test_a_quarantined_container_is_cleared_first(bo, bo_speaks, step):
    held = can(bo)
    poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id)
    refused = bo_speaks.post(f"containers/{held.public_id}/{step}")
    assert (refused.status_code, refused.json()["code"]) == (409, "container.quarantined")
    assert "lear this one" in refused.json()["detail"]


def test_clearing_needs_a_reason_and_gives_back_an_open_container(bo, cy, client_for):
    held = can(bo)
    poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id)
    address, speaker = f"containers/{held.public_id}", client_for(cy)
    assert speaker.post(f"{address}/clearing").json()["errors"][0]["pointer"] == "/reason"
    assert speaker.post(f"{address}/clearing", {"reason": "10 mL, no smell"}).json()["state"] == "open"
    assert ContainerStep.objects.latest("id").reason == "10 mL, no smell"


def test_clearing_a_container_that_was_closed_gives_back_a_closed_one(bo):
    held = do(container.close, bo, can(bo))
    poured(bo, held)
    assert do(container.clear, bo, held, reason="Same fixer").state == "closed"


def test_a_change_of_state_is_not_dated_before_the_one_before(bo, bo_speaks):
    with clock.fixed(NOON):
        held = can(bo)
        refused = bo_speaks.post(f"containers/{held.public_id}/closing", {"occurred_at": "2026-11-25T11:59:59Z"})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
    assert make.refreshed(held).state == "open"
    with clock.fixed(NOON + timedelta(hours=2)):
        closed = bo_speaks.post(f"containers/{held.public_id}/closing", {"occurred_at": "2026-11-25T14:00:00+01:00"})
    assert closed.status_code == 200
    assert make.refreshed(held).closed_at == NOON + timedelta(hours=1)


def test_a_container_may_have_been_in_use_before_it_was_written_down(bo, bo_speaks):
    with clock.fixed(NOON):
        made = bo_speaks.post("containers", body(kept_apart(bo), occurred_at="2026-11-01T09:00:00Z"))
    assert bo_speaks.get(made["Location"]).json()["opened_at"] == "2026-11-01T09:00:00Z"


@pytest.mark.parametrize("path", ["containers", "containers/{}/closing"])
@pytest.mark.parametrize(("who", "allowed"), [("ada", 403), ("bo", 2), ("cy", 2), ("di", 403), ("outsider", 404)])
def test_technicians_and_instructors_look_after_containers(who, allowed, path, bo, room, client_for, request):
    held = can(bo)
    given = body(held.stream) if path == "containers" else {}
    speaker = client_for(request.getfixturevalue(who))
    before = Entry.objects.count()
    answer = speaker.post(f"/api/v1/darkrooms/{room.slug}/{path.format(held.public_id)}", given)
    assert allowed in {answer.status_code, answer.status_code // 100}
    assert (Entry.objects.count() > before) is (allowed == 2)


@pytest.mark.parametrize(
    ("path", "given"),
    [("closing", {}), ("reopening", {}), ("clearing", {"reason": "Mine"}), ("fills", None), ("", None)],
)
def test_a_container_elsewhere_and_one_that_never_was_answer_alike(bo, outsider, client_for, path, given):
    technician = outsider_technician(outsider)
    speaker = client_for(technician)
    tails = [f"containers/{each}/{path}".rstrip("/") for each in (can(bo).public_id, uuid4())]
    answers = [speaker.get(tail) if given is None else speaker.post(tail, given) for tail in tails]
    assert {(each.status_code, each.content) for each in answers} == {(404, answers[0].content)}


def test_every_member_sees_what_goes_where_but_not_who_poured(ada, bo, client_for):
    held = can(bo)
    speaker = client_for(ada)
    assert speaker.get(f"containers/{held.public_id}").status_code == 200
    assert speaker.get(f"containers/{held.public_id}/fills").status_code == 403
    assert speaker.patch(f"containers/{held.public_id}", {"name": "Mine"}).status_code == 403


def test_a_list_is_paged_and_its_queries_do_not_grow(bo, bo_speaks, django_assert_num_queries):
    made = [can(bo, code).name for code in ("fixer", "stop-bath", "bw-developer")]
    with django_assert_num_queries(3):  # token, membership, page
        first = bo_speaks.get("containers?limit=2").json()
    with django_assert_num_queries(3):
        rest = bo_speaks.get(first["next"]).json()
    assert [row["name"] for row in first["items"] + rest["items"]] == made[::-1]


def test_the_next_container_offered_is_the_fullest_open_one_that_takes_it(bo, outsider):
    half, empty, closed, other = can(bo), can(bo), can(bo), can(bo, "stop-bath")
    poured(bo, half, "4500")
    do(container.close, bo, closed)
    can(outsider_technician(outsider))
    assert container.next_open(bo.darkroom, half.stream) == half
    assert container.next_open(bo.darkroom, half.stream, volume=ml("4500")) == half
    assert container.next_open(bo.darkroom, half.stream, volume=ml("4500.1")) == empty
    assert container.next_open(bo.darkroom, half.stream, volume=ml("9000.1")) is None
    assert container.next_open(bo.darkroom, other.stream) == other
