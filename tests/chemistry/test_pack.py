"""Packs: received one row each, discarded with a reason."""

from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.models import Notice
from chemistry.models import Pack
from darkroom_service import clock, shortcode
from tests import make
from tests.chemistry import brew

LITRES = {"value": "3.8", "unit": "L"}
PRICE = {"minor": 1200, "currency": "EUR"}


@pytest.fixture
def body(room, cy):
    """Three packets of the powder developer that makes 3.8 L."""
    formula = str(brew.published(room).formula.public_id)
    return {"formula": formula, "count": 3, "makes": LITRES, "price": PRICE, "lot": "A 17", "supplier": "The shop"}


def test_three_packets_in_one_request_make_three_rows_with_codes_of_their_own(client_for, bo, ada, body):
    made = client_for(bo).post("packs", {**body, "best_before": "2100-01-01", "sheet_revision": "2020-02-29"})
    assert made.status_code == 201
    codes = {each["code"] for each in made.json()["items"]}
    assert len(codes) == 3
    assert all(shortcode.check(code) == code for code in codes)
    read = client_for(ada).get("packs").json()["items"]
    assert {each["code"] for each in read} == codes
    first = read[0]
    assert first["makes"] == {"value": "3800.0", "unit": "mL"}
    assert (first["price"], first["lot"], first["state"], first["batch"]) == (PRICE, "A 17", "sealed", None)
    assert (first["best_before"], first["past_date"], first["sheet_revision"]) == ("2100-01-01", False, "2020-02-29")
    assert client_for(ada).get(f"packs/{first['id']}").json() == first


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 201), ("cy", 201), ("di", 201), ("outsider", 404)])
def test_staff_and_admins_receive_packs(request, client_for, room, body, who, status):
    client = client_for(request.getfixturevalue(who))
    assert client.post(f"/api/v1/darkrooms/{room.slug}/packs", body).status_code == status
    assert Pack.objects.count() == (3 if status == 201 else 0)


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"makes": {"value": "0", "unit": "mL"}}, "/makes/value", "quantity.zero"),
        ({"makes": {"value": "-5", "unit": "L"}}, "/makes/value", "number.negative"),
        ({"makes": {"value": "NaN", "unit": "L"}}, "/makes/value", "number.malformed"),
        ({"makes": {"value": "３.８", "unit": "L"}}, "/makes/value", "number.malformed"),
        ({"makes": {"value": "1_000", "unit": "mL"}}, "/makes/value", "number.malformed"),
        ({"makes": {"value": "1", "unit": "gal"}}, "/makes/unit", "unit.unknown"),
        ({"makes": {"value": "3800", "unit": "ML"}}, "/makes/unit", "unit.unknown"),
        ({"makes": {"value": "2000", "unit": "L"}}, "/makes/value", "quantity.out_of_range"),
        ({"price": {"minor": -1, "currency": "EUR"}}, "/price/minor", "count.malformed"),
        ({"price": {"minor": 1200, "currency": "USD"}}, "/price/currency", "currency.other"),
        ({"count": 0}, "/count", "count.malformed"),
        ({"count": 101}, "/count", "count.malformed"),
        ({"sheet_revision": "2190-01-01"}, "/sheet_revision", "sheet.future"),
        ({"best_before": "2023-02-29"}, "/best_before", "day.impossible"),
        ({"formula": str(uuid4())}, "/formula", "formula.unknown"),
        ({"occurred_at": "2190-01-01T10:00:00Z"}, "/occurred_at", "time.future"),
    ],
)
def test_absurd_packs_are_refused_at_their_place_and_nothing_is_written(client_for, bo, body, changes, pointer, code):
    answer = client_for(bo).post("packs", {**body, **changes})
    fault = answer.json()["errors"][0]
    assert (answer.status_code, fault["pointer"], fault["code"]) == (400, pointer, code)
    assert not Pack.objects.exists()


def test_another_darkrooms_formula_is_unknown_here(client_for, bo, body, elsewhere):
    theirs = brew.published(elsewhere).formula
    absent, foreign = (
        client_for(bo).post("packs", {**body, "formula": str(each)}) for each in (uuid4(), theirs.public_id)
    )
    assert absent.content == foreign.content
    assert foreign.status_code == 400


def test_a_formula_still_in_draft_receives_no_packs(client_for, bo, body):
    rules = {"kind": "toner", "process": "bw", "form": "liquid", "composition": [], "dilutions": ["stock"]}
    rules |= {"capacity": [], "keeping": {"full_months": None, "part_full_months": None, "tested_days": None}}
    made = client_for(bo).post("formulas", {"code": "our-toner", "name": "Our toner", "rules": rules}).json()
    answer = client_for(bo).post("packs", {**body, "formula": made["formula"]})
    assert (answer.status_code, answer.json()["code"]) == (409, "formula.unpublished")


def test_the_same_key_receives_once(client_for, bo, body):
    client, key = client_for(bo), uuid4()
    assert client.post("packs", body, key).content == client.post("packs", body, key).content
    assert client.post("packs", {**body, "count": 4}, key).status_code == 422
    assert Pack.objects.count() == 3


def test_a_pack_is_discarded_with_a_reason_once(client_for, bo, room):
    packed, client = brew.pack(room), client_for(bo)
    address = f"packs/{packed.public_id}/discarding"
    assert client.post(address, {}).status_code == 400
    assert client.post(address, {"reason": "the bag is torn"}).json()["state"] == "discarded"
    read = client.get(f"packs/{packed.public_id}").json()
    assert (read["state"], read["discard_reason"]) == ("discarded", "the bag is torn")
    again = client.post(address, {"reason": "again"})
    assert (again.status_code, again.json()["code"]) == (409, "pack.not_sealed")


@pytest.mark.parametrize(("who", "status"), [("ada", 403), ("bo", 200), ("cy", 200), ("di", 200), ("outsider", 404)])
def test_staff_and_admins_discard(request, client_for, room, cy, who, status):
    packed = brew.pack(room)
    client = client_for(request.getfixturevalue(who))
    address = f"/api/v1/darkrooms/{room.slug}/packs/{packed.public_id}/discarding"
    assert client.post(address, {"reason": "torn"}).status_code == status
    assert make.refreshed(packed).state == ("discarded" if status == 200 else "sealed")


def test_a_batch_that_counted_on_a_discarded_pack_loses_it_and_its_requester_is_told(client_for, room, bo, cy):
    wanted = brew.requested_batch(room)
    packed = wanted.packs.get()
    client_for(cy).post(f"packs/{packed.public_id}/discarding", {"reason": "torn"})
    wanted = make.refreshed(wanted)
    assert (wanted.wanted, wanted.cost_minor, wanted.packs.count()) == (0, 0, 0)
    assert Notice.objects.filter(to=bo, kind="pack-gone").count() == 1


def test_packs_are_listed_by_formula_state_and_batch(client_for, room, bo, cy):
    wanted = brew.requested_batch(room)
    other = brew.pack(room, "rapid-fixer", "1000")
    client = client_for(bo)

    def codes(query):
        return [each["code"] for each in client.get(f"packs?{query}").json()["items"]]

    assert codes(f"formula={other.formula_version.formula.public_id}") == [other.code]
    assert codes(f"batch={wanted.public_id}") == [wanted.packs.get().code]
    assert codes("state=discarded") == []
    assert codes(f"batch={uuid4()}") == []
    assert client.get("packs?state=lost").status_code == 400


def test_a_pack_past_its_best_before_day_says_so(client_for, bo, body):
    yesterday = (clock.now() - timedelta(days=2)).date().isoformat()
    client_for(bo).post("packs", {**body, "best_before": yesterday})
    assert client_for(bo).get("packs").json()["items"][0]["past_date"] is True


def test_another_darkrooms_pack_does_not_exist(client_for, bo, elsewhere):
    theirs = brew.pack(elsewhere)
    client = client_for(bo)
    assert client.get(f"packs/{theirs.public_id}").content == client.get(f"packs/{uuid4()}").content
    assert client.post(f"packs/{theirs.public_id}/discarding", {"reason": "mine"}).status_code == 404
    assert client.get("packs").json()["items"] == []


def test_the_list_asks_a_constant_number_of_queries(client_for, bo, body, django_assert_max_num_queries):
    client = client_for(bo)
    client.post("packs", {**body, "count": 40})
    with django_assert_max_num_queries(4):
        assert len(client.get("packs").json()["items"]) == 40
