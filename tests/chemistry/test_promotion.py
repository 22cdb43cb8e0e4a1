"""Promotion: the second fixer becomes the first with its own load and date, in one act."""

from uuid import uuid4

import pytest

from accounts.models import Notice
from chemistry.models import LineStep
from tests.chemistry import bench, brew


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


@pytest.fixture
def line(staffed):
    """A line with two fixers."""
    return brew.line(
        staffed, developer=bench.developer(staffed), fixer=brew.working(staffed), fixer_2=brew.working(staffed)
    )


def vessels(line):
    return {step.role: step.vessel for step in LineStep.objects.filter(line=line).select_related("vessel")}


def promoted(client, vessel, line, **more):
    return client.post(f"vessels/{vessel.public_id}/promotion", {"line": str(line.public_id), **more})


def test_the_second_fixer_becomes_the_first_and_the_spent_one_is_to_be_emptied(staffed, line, bo, eli, client_for):
    was = vessels(line)
    new = brew.working(staffed)
    answer = promoted(client_for(bo), was["fixer_2"], line, second=str(new.public_id))
    assert answer.status_code == 200
    now = vessels(line)
    assert (now["fixer_1"], now["fixer_2"], now["developer"]) == (was["fixer_2"], new, was["developer"])
    assert answer.json() == {
        "line": str(line.public_id),
        "fixer_1": str(was["fixer_2"].public_id),
        "fixer_2": str(new.public_id),
        "to_be_emptied": str(was["fixer_1"].public_id),
    }
    assert Notice.objects.filter(kind="fixer-to-empty", to=eli).exists()


def test_it_keeps_its_own_load_and_date(staffed, line, bo, client_for):
    client = client_for(bo)
    assert client.post("check-ins", bench.reuse(line)).status_code == 201
    before = bench.fresh(vessels(line)["fixer_2"])
    assert before.load > 0
    promoted(client, before, line)
    after = bench.fresh(vessels(line)["fixer_1"])
    assert (after.pk, after.load, after.area, after.use_by, after.contents) == (
        before.pk, before.load, before.area, before.use_by, before.contents,
    )  # fmt: skip


def test_without_a_new_second_fixer_the_line_has_one(staffed, line, bo, client_for):
    version = line.version
    assert promoted(client_for(bo), vessels(line)["fixer_2"], line).json()["fixer_2"] is None
    assert set(vessels(line)) == {"developer", "fixer_1"}
    line.refresh_from_db()
    assert line.version == version + 1


def test_what_is_not_the_second_fixer_of_that_line_is_not_promoted(staffed, line, bo, client_for):
    was = vessels(line)
    for vessel in (was["fixer_1"], was["developer"], brew.working(staffed)):
        answer = promoted(client_for(bo), vessel, line)
        assert (answer.status_code, answer.json()["code"]) == (409, "line.not_second_fixer")
    assert vessels(line) == was


@pytest.mark.parametrize("which", ["developer", "in the line", "own", "absent"])
def test_an_unfit_new_second_fixer_is_refused_and_nothing_changes(staffed, line, ada, bo, client_for, which):
    was = vessels(line)
    second = {
        "developer": lambda: brew.filled(staffed).public_id,
        "in the line": lambda: was["fixer_1"].public_id,
        "own": lambda: brew.bottle(staffed, owner=ada).public_id,
        "absent": uuid4,
    }[which]()
    answer = promoted(client_for(bo), was["fixer_2"], line, second=str(second))
    assert answer.status_code == {"developer": 422, "own": 422}.get(which, 400)
    assert vessels(line) == was


def test_members_and_strangers_promote_nothing(staffed, line, ada, bo, outsider, client_for):
    vessel = vessels(line)["fixer_2"]
    assert promoted(client_for(ada), vessel, line).status_code == 403
    path = f"/api/v1/darkrooms/{staffed.slug}/vessels/{vessel.public_id}/promotion"
    assert client_for(outsider).post(path, {"line": str(line.public_id)}).status_code == 404
    absent = client_for(bo).post(f"vessels/{vessel.public_id}/promotion", {"line": str(uuid4())})
    assert (absent.status_code, absent.json()["errors"][0]["pointer"]) == (400, "/line")


def test_one_key_promotes_once(staffed, line, bo, client_for):
    vessel, key, client = vessels(line)["fixer_2"], uuid4(), client_for(bo)
    path, said = f"vessels/{vessel.public_id}/promotion", {"line": str(line.public_id)}
    first = client.post(path, said, key)
    assert client.post(path, said, key).json() == first.json()
    assert client.post(path, said).status_code == 409
