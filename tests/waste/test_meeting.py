"""What must not meet: refused before the act with the reaction named, an incident after it; a can remembers."""

import pytest

from tests import make
from tests.waste.pail import can, do, kept_apart, ml, poured
from waste.commands import container, fill
from waste.models import Collection, Container, Fill, Incident
from waste.science.compatibility import judge


@pytest.fixture
def bo_speaks(bo, client_for):
    return client_for(bo)


def body(held, stream, **given):
    return {
        "container": str(held.public_id), "stream": str(stream.public_id) if stream else None,
        "volume": {"value": "250.0", "unit": "mL"}, "description": "a tray", **given,
    }  # fmt: skip


def test_a_planned_pour_that_must_not_be_is_refused_with_the_reaction(bo, bo_speaks):
    held, acid = can(bo, "sulfide-toner"), kept_apart(bo, "stop-bath")
    poured(bo, held)
    refused = bo_speaks.post("fills", body(held, acid, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (422, "container.incompatible")
    facts = refused.json()["facts"]
    assert (facts["liquid"], facts["held"], facts["verdict"]) == ("stop-bath", "sulfide-toner", "never")
    assert facts["reaction"] == judge("stop-bath", "sulfide-toner").reaction
    assert "hydrogen sulfide" in refused.json()["detail"]
    spoken = bo_speaks.post("fills", body(held, acid, happened=False, acknowledged="Because I say so"))
    assert spoken.status_code == 422
    assert not Fill.objects.filter(origin__stream="stop-bath").exists()


def test_a_reported_one_is_an_incident_that_quarantines(bo, bo_speaks):
    held, acid = can(bo, "sulfide-toner"), kept_apart(bo, "stop-bath")
    made = bo_speaks.post("fills", body(held, acid)).json()
    assert (made["state"], made["flags"][0]) == ("quarantined", "container.incompatible")
    found = bo_speaks.get(f"waste-incidents/{made['incident']}").json()
    assert (found["kind"], found["fill"], found["container"]) == ("incompatible", made["id"], str(held.public_id))
    assert "hydrogen sulfide" in found["what"]
    assert found["resolution"] is None


def test_an_unwashed_container_remembers_and_a_washed_one_does_not(bo, bo_speaks):
    held = can(bo, "fixer")
    row = poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id)
    do(container.clear, bo, make.refreshed(held), reason="Emptied by the contractor")
    refused = bo_speaks.post(f"containers/{held.public_id}/washings", {"how": "Three rinses"})
    assert (refused.status_code, refused.json()["code"]) == (409, "container.not_empty")
    Container.objects.filter(pk=held.pk).update(contents=0)  # as a collection leaves it
    plan = body(held, held.stream, happened=False)
    assert bo_speaks.post("fills", plan).json()["code"] == "container.incompatible"
    assert bo_speaks.post(f"containers/{held.public_id}/washings", {"how": "Three rinses"}).status_code == 201
    assert bo_speaks.get(f"containers/{held.public_id}").json()["held"] == []
    assert bo_speaks.post("fills", plan).status_code == 201
    assert row.flags
    assert not Collection.objects.exists()


def test_a_pour_taken_back_is_forgotten(bo):
    held = can(bo, "fixer")
    row = poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id)
    assert make.refreshed(held).held == ["stop-bath"]
    do(fill.reverse, bo, row, reason="The other can")
    assert make.refreshed(held).held == []


def test_a_caution_asks_for_a_word_which_is_kept(bo, bo_speaks):
    held, other = can(bo, "bw-developer"), kept_apart(bo, "colour-developer")
    refused = bo_speaks.post("fills", body(held, other, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (422, "container.wrong_stream")
    assert "acknowledged" in refused.json()["detail"]
    word = "The contractor takes both as 09 01 01*"
    made = bo_speaks.post("fills", body(held, other, happened=False, acknowledged=word))
    assert (made.status_code, made.json()["flags"], made.json()["state"]) == (201, ["container.acknowledged"], "open")
    found = bo_speaks.get(made["Location"]).json()
    assert (found["acknowledged"], found["by"], found["incident"]) == (word, str(bo.public_id), None)


def test_hypochlorite_into_anything_else_is_an_incident(bo, bo_speaks):
    held = can(bo, "fixer")
    poured(bo, held)
    made = bo_speaks.post("fills", body(held, None, liquid="hypochlorite")).json()
    assert bo_speaks.get(f"waste-incidents/{made['incident']}").json()["kind"] == "hypochlorite"


def test_an_overfull_and_a_closed_one_are_incidents_too(bo, bo_speaks):
    full, shut = can(bo), can(bo)
    poured(bo, full, "9000.1")
    do(container.close, bo, shut)
    poured(bo, shut)
    kinds = set(Incident.objects.values_list("kind", flat=True))
    assert kinds == {"overfull", "closed"}
    assert {make.refreshed(each).state for each in (full, shut)} == {"quarantined"}


def test_what_nobody_knows_waits_in_quarantine(bo, bo_speaks):
    held = can(bo, "unidentified")
    made = bo_speaks.post("fills", body(held, None, source="found")).json()
    assert (made["flags"], made["state"], made["incident"]) == ([], "quarantined", None)


def test_what_soaked_up_a_spill_goes_with_the_solids(bo, bo_speaks):
    bag = can(bo, "contaminated-solids")
    fixer, acid, sulfide = (kept_apart(bo, each) for each in ("fixer", "stop-bath", "sulfide-toner"))
    mass = {"value": "1200", "unit": "g"}
    made = bo_speaks.post("fills", body(bag, fixer, source="mop-up", absorbent="cloths", mass=mass))
    assert made.json()["flags"] == []
    found = bo_speaks.get(made["Location"]).json()
    assert (found["origin"]["stream"], found["origin"]["liquid"]) == ("contaminated-solids", "fixer")
    assert (found["mass"], found["origin"]["absorbent"]) == ({"value": "1200", "unit": "g"}, "cloths")
    assert bo_speaks.post("fills", body(bag, acid, source="mop-up", happened=False)).status_code == 201
    # sulfide with acid gives hydrogen sulfide, in a cloth as well
    assert bo_speaks.post("fills", body(bag, sulfide, source="mop-up", happened=False)).status_code == 422
    assert bo_speaks.post("fills", body(can(bo), fixer, source="mop-up", happened=False)).status_code == 422


def test_an_incident_is_written_by_anybody_and_ended_by_staff(ada, bo, client_for, bo_speaks):
    held = can(bo)
    said = {"kind": "leak", "what": "A puddle under the can", "container": str(held.public_id)}
    made = client_for(ada).post("waste-incidents", said)
    assert made.status_code == 201
    assert make.refreshed(held).state == "quarantined"
    end = f"{made['Location']}/resolution"
    assert client_for(ada).post(end, {"words": "Wiped up"}).status_code == 403
    assert bo_speaks.post(end, {"words": "New can, old one washed", "clear": True}).status_code == 201
    assert make.refreshed(held).state == "open"
    assert bo_speaks.post(end, {"words": "Again"}).json()["code"] == "incident.resolved"
    assert bo_speaks.get(made["Location"]).json()["resolution"]["by"] == str(bo.public_id)


def test_clearing_a_container_ends_its_incidents(bo):
    held = can(bo)
    poured(bo, held, "9000.1")
    do(container.clear, bo, make.refreshed(held), reason="Drawn down to the mark")
    assert Incident.objects.get().resolution.words == "Drawn down to the mark"


def test_a_list_of_incidents_takes_the_same_queries_whatever_it_holds(bo, bo_speaks, django_assert_num_queries):
    for _ in range(3):
        poured(bo, can(bo), str(ml("900") + 1))
    with django_assert_num_queries(3):  # token, membership, page
        assert len(bo_speaks.get("waste-incidents").json()["items"]) == 3


class TestInspection:
    SOUND = {"lid": True, "leak": True, "label": True, "bund": True}

    def test_it_is_kept_with_who_and_when(self, bo, bo_speaks):
        address = f"containers/{can(bo).public_id}/inspections"
        assert bo_speaks.post(address, self.SOUND).status_code == 201
        found = bo_speaks.get(address).json()["items"][0]
        assert (found["by"], found["faults"], found["lid"]) == (str(bo.public_id), [], True)

    def test_a_leak_is_told_to_the_technicians(self, bo, di, client_for):
        from accounts.models import Notice

        held = can(bo)
        said = {**self.SOUND, "leak": False, "note": "A drop at the tap"}
        assert client_for(di).post(f"containers/{held.public_id}/inspections", said).status_code == 201
        told = Notice.objects.get(to=bo)
        assert (told.kind, told.safety) == ("container-unsound", True)
        assert "it leaks. A drop at the tap" in told.text

    def test_every_finding_is_asked_for_and_a_member_does_not_inspect(self, bo, ada, client_for, bo_speaks):
        address = f"containers/{can(bo).public_id}/inspections"
        refused = bo_speaks.post(address, {"lid": True})
        assert {each["pointer"] for each in refused.json()["errors"]} == {"/leak", "/label", "/bund"}
        assert client_for(ada).post(address, self.SOUND).status_code == 403

    def test_it_is_not_before_the_container(self, bo, bo_speaks):
        said = {**self.SOUND, "occurred_at": "2020-01-01T12:00:00Z"}
        refused = bo_speaks.post(f"containers/{can(bo).public_id}/inspections", said)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/occurred_at")
