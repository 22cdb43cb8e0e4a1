"""Vessels: labelled, listed as they stand now, renamed; whose they are and what they can still do."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from chemistry.models import Vessel, VesselState
from darkroom_service import clock
from tests.chemistry import bench, brew


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def bottle(**changes):
    """The body of a new vessel."""
    return {"name": "Brown bottle", "nominal": bench.quantity("946"), "material": "glass", **changes}


def test_a_technician_labels_a_vessel_which_is_empty_and_has_a_code(staffed, bo, client_for):
    answer = client_for(bo).post("vessels", bottle())
    assert answer.status_code == 201
    shown = client_for(bo).get(answer.headers["Location"]).json()
    assert (shown["state"], shown["contents"]["value"], shown["nominal"]["value"]) == ("emptied", "0.0", "946.0")
    assert shown["code"] == answer.json()["code"]
    assert shown["batch"] is None
    assert shown["use_by"] is None
    assert shown["reasons"] == ["It is empty."]


def test_a_member_labels_only_a_bottle_of_their_own(staffed, ada, bo, client_for):
    ours, theirs = bottle(), bottle(owner=str(bo.public_id))
    mine = bottle(owner=str(ada.public_id), leave_by="2100-01-01")
    assert client_for(ada).post("vessels", ours).status_code == 403
    assert client_for(ada).post("vessels", theirs).status_code == 403
    assert client_for(ada).post("vessels", mine).status_code == 201
    assert list(Vessel.objects.values_list("owner", flat=True)) == [ada.pk]


def test_a_technician_labels_a_bottle_for_somebody_else(staffed, ada, bo, client_for):
    answer = client_for(bo).post("vessels", bottle(owner=str(ada.public_id), leave_by="2100-01-01"))
    assert client_for(ada).get(answer.headers["Location"]).json()["owner"] == str(ada.public_id)


@pytest.mark.parametrize("whose", ["foreign", "absent"])
def test_an_owner_of_another_darkroom_and_one_who_is_not_there_are_refused_alike(
    staffed, bo, outsider, client_for, whose
):
    owner = outsider.public_id if whose == "foreign" else uuid4()
    answer = client_for(bo).post("vessels", bottle(owner=str(owner)))
    (fault,) = answer.json()["errors"]
    assert (answer.status_code, fault["pointer"], fault["code"]) == (400, "/owner", "member.unknown")
    assert not Vessel.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "pointer"),
    [
        ("nominal", bench.quantity("5"), "/nominal"),
        ("nominal", bench.quantity("0"), "/nominal/value"),
        ("nominal", bench.quantity("-500"), "/nominal/value"),
        ("nominal", bench.quantity("NaN"), "/nominal/value"),
        ("nominal", bench.quantity("1_000"), "/nominal/value"),
        ("nominal", bench.quantity("５００"), "/nominal/value"),
        ("nominal", bench.quantity("1", "ML"), "/nominal/unit"),
        ("nominal", bench.quantity("1", "gallon"), "/nominal/unit"),
        ("nominal", bench.quantity("1000001", "L"), "/nominal/value"),
        ("nominal", "500 mL", "/nominal"),
        ("material", "aluminium", "/material"),
        ("name", "", "/name"),
        ("leave_by", "2100-01-01", "/owner"),
        ("state", "ready", "/state"),
    ],
)
def test_an_absurd_vessel_is_refused_with_a_pointer_and_nothing_is_made(staffed, bo, client_for, field, value, pointer):
    answer = client_for(bo).post("vessels", bottle(**{field: value}))
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}
    assert not Vessel.objects.exists()


def test_a_bottle_is_never_to_be_taken_away_in_the_past(staffed, ada, client_for):
    answer = client_for(ada).post("vessels", bottle(owner=str(ada.public_id), leave_by="2020-01-01"))
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/leave_by")


def test_one_key_makes_one_vessel_and_another_body_under_it_is_refused(staffed, bo, client_for):
    key, client = uuid4(), client_for(bo)
    first, again = client.post("vessels", bottle(), key), client.post("vessels", bottle(), key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    other = client.post("vessels", bottle(name="Another"), key)
    assert (other.status_code, other.json()["code"]) == (422, "key.reused")
    assert Vessel.objects.count() == 1


def test_a_vessel_of_another_darkroom_is_not_there(staffed, bo, outsider, client_for):
    vessel = brew.bottle(staffed)
    path = f"/api/v1/darkrooms/{staffed.slug}/vessels/{vessel.public_id}"
    assert client_for(outsider).get(path).status_code == 404
    assert client_for(outsider).get(f"vessels/{vessel.public_id}").status_code == 404
    assert client_for(bo).get(f"vessels/{uuid4()}").content == client_for(outsider).get(path).content


def test_a_full_bottle_says_what_it_holds_until_when_and_by_which_rule(staffed, ada, client_for):
    filled_at = clock.now() - timedelta(days=1)
    vessel = brew.filled(staffed, at=filled_at)
    shown = client_for(ada).get(f"vessels/{vessel.public_id}").json()
    assert (shown["state"], shown["reasons"], shown["contents"]["value"]) == ("ready", [], "946.0")
    assert (shown["formula"]["code"], shown["kind"], shown["process"]) == ("mq-borax", "developer", "bw")
    # Full and tight: 6 months from the day it was mixed (common practice, no source).
    assert "6 months full and tight" in shown["use_by"]["rule"]
    # Nothing is left to count before the first use says how it is counted.
    assert shown["load"] == {
        "done": "0.0000", "done_units": 0, "left": None, "left_units": None, "left_compensated": None,
        "left_compensated_units": None, "total": None, "total_units": None,
    }  # fmt: skip
    assert shown["oxygen"]["basis"] == "computed, worst case"


def test_reused_stock_shows_the_roll_units_left_and_in_all(staffed, ada, client_for):
    line = bench.line(staffed, bench.developer(staffed))
    bench.inducted(staffed, ada)
    assert client_for(ada).post("check-ins", bench.reuse(line, rolls=1)).status_code == 201
    vessel = line.steps.get(role="developer").vessel
    load = client_for(ada).get(f"vessels/{vessel.public_id}").json()["load"]
    # A litre of reused stock does 10 rolls with longer times (common practice, no source).
    # 4 rolls to a litre for the plain time, 10 with times lengthened (common practice): one is done.
    assert (load["done"], load["left"], load["total"]) == ("1.0000", "3.0000", "4.0000")
    assert (load["left_compensated"], load["left_compensated_units"]) == ("9.0000", 9 * 3600)
    assert (load["done_units"], load["left_units"]) == (3600, 3 * 3600)


def test_the_list_is_filtered_by_the_state_as_of_now(staffed, bo, client_for):
    old = brew.filled(staffed, at=clock.now() - timedelta(days=250))
    brew.filled(staffed)
    assert bench.fresh(old).state == VesselState.READY  # as it was when anybody last wrote
    found = client_for(bo).get("vessels?state=test_first").json()["items"]
    assert str(old.public_id) in {each["id"] for each in found}
    assert all(each["reasons"] for each in found)
    ready = client_for(bo).get("vessels?state=ready").json()["items"]
    assert ready
    assert str(old.public_id) not in {each["id"] for each in ready}


def test_the_list_is_filtered_by_batch_owner_process_and_material(staffed, ada, bo, client_for):
    developer, own = brew.filled(staffed), brew.bottle(staffed, owner=ada)
    vessel = brew.working(staffed)
    Vessel.objects.filter(pk=vessel.pk).update(film_or_paper="paper")

    def found(query):
        return {each["id"] for each in client_for(bo).get(f"vessels?{query}").json()["items"]}

    assert str(developer.public_id) in found(f"batch={developer.batch.public_id}")
    assert found(f"owner={ada.public_id}") == {str(own.public_id)}
    assert found("film_or_paper=paper") == {str(vessel.public_id)}
    assert str(own.public_id) not in found("process=bw")
    assert found("process=colour_negative") == set()
    assert client_for(bo).get("vessels?process=sepia").status_code == 400


def test_the_list_takes_the_same_number_of_queries_however_many_vessels_there_are(staffed, bo, client_for):
    client = client_for(bo)

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert client.get("vessels").status_code == 200
        return len(seen)

    brew.filled(staffed)
    client.get("vessels")
    few = queries()
    for _ in range(5):
        brew.working(staffed)
    assert queries() == few


def test_a_vessel_is_renamed_on_the_version_that_was_read(staffed, bo, ada, client_for):
    vessel = brew.bottle(staffed)
    path, client = f"vessels/{vessel.public_id}", client_for(bo)
    tag = client.get(path).headers["ETag"]
    answer = client.patch(path, {"name": "Green bottle"}, etag=tag)
    assert (answer.status_code, answer.json()["name"]) == (200, "Green bottle")
    assert client.patch(path, {"name": "Blue bottle"}, etag=tag).status_code == 412
    assert client.generic("PATCH", path, "{}", content_type="application/json").status_code == 428
    assert client_for(ada).patch(path, {"name": "Mine"}).status_code == 403
    assert client.patch(path, {"leave_by": "2100-01-01"}).status_code == 400
    assert bench.fresh(vessel).name == "Green bottle"


def test_an_owner_moves_the_day_their_bottle_leaves(staffed, ada, client_for):
    vessel = brew.bottle(staffed, owner=ada)
    answer = client_for(ada).patch(f"vessels/{vessel.public_id}", {"leave_by": "2100-02-03"})
    assert (answer.status_code, answer.json()["leave_by"]) == (200, "2100-02-03")
