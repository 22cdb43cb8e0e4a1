"""Pours. A 10 L can is filled to 9 L: beyond that a plan is refused, and what has happened is written and flagged."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from accounts.acts import Role
from accounts.models import Entry, Notice
from darkroom_service import clock
from darkroom_service.refusal import Clash, Malformed, Unworkable
from tests import make
from tests.waste.pail import can, do, kept_apart, ml, poured, within
from waste.commands import container, fill, incident
from waste.models import Container, ContainerStep, Fill

WRONG = ["container.incompatible", "container.wrong_stream"]
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def body(held, value="250.0", **given):
    return {
        "container": str(held.public_id),
        "stream": str(held.stream.public_id),
        "volume": {"value": value, "unit": "mL"},
        "description": "half a bottle from the top shelf",
        **given,
    }


@pytest.fixture
def bo_speaks(bo, client_for):
    return client_for(bo)


def test_a_pour_is_written_and_the_contents_move(bo, ada, client_for):
    held = can(bo)
    made = client_for(ada).post("fills", body(held))
    assert made.status_code == 201
    assert made.json() == {
        "id": made.json()["id"],
        "flags": [],
        "container": str(held.public_id),
        "state": "open",
        "contents": {"value": "250.0", "unit": "mL"},
        "room": {"value": "8750.0", "unit": "mL"},
        "next": None,
        "incident": None,
    }
    assert make.refreshed(held).contents == ml("250")


def test_a_pour_keeps_what_was_typed_and_who_wrote_it(bo, ada, bo_speaks):
    held = can(bo)
    gallon = {"value": "1", "unit": "us_gal"}
    made = bo_speaks.post("fills", body(held, volume=gallon, on_behalf_of=str(ada.public_id)))
    found = bo_speaks.get(made["Location"]).json()
    assert found["volume"] == {"value": "3785.4", "unit": "mL"}  # 3.785411784 L: NIST Handbook 44
    assert found["origin"] == {
        "kind": "manual",
        "stream": "fixer",
        "text": "half a bottle from the top shelf",
        "typed": gallon,
    }
    assert (found["by"], found["on_behalf_of"]) == (str(bo.public_id), str(ada.public_id))
    assert (found["reverses"], found["reversed_by"]) == (None, None)


def test_exactly_full_is_allowed_as_a_plan_and_a_tenth_of_a_millilitre_more_is_not(bo, bo_speaks):
    held = can(bo)
    assert bo_speaks.post("fills", body(held, "8999.9", happened=False)).status_code == 201
    refused = bo_speaks.post("fills", body(held, "0.2", happened=False))
    assert (refused.status_code, refused.json()["code"]) == (409, "container.overfull")
    assert refused.json()["facts"]["room_ml"] == "0.1"
    assert bo_speaks.post("fills", body(held, "0.1", happened=False)).json()["flags"] == []
    assert make.refreshed(held).contents == ml("9000")


def test_a_refused_plan_writes_nothing(bo, bo_speaks):
    held = can(bo)
    before = Entry.objects.count()
    assert bo_speaks.post("fills", body(held, "9000.1", happened=False)).status_code == 409
    assert (Fill.objects.count(), Entry.objects.count(), Notice.objects.count()) == (0, before, 0)
    assert make.refreshed(held).contents == 0


def test_a_refused_plan_names_the_fullest_container_that_would_take_it(bo, bo_speaks):
    full, half, empty = can(bo), can(bo, name="Left can", location="Sink"), can(bo)
    poured(bo, full, "9000")
    poured(bo, half, "4500")
    refused = bo_speaks.post("fills", body(full, happened=False)).json()
    assert [each["id"] for each in refused["facts"]["allowed"]] == [str(half.public_id), str(empty.public_id)]
    assert f"Use Left can ({half.code}) at Sink, which has 4500.0 mL of room." in refused["detail"]
    assert "report it as happened" in refused["detail"]


def test_a_refused_plan_says_what_still_goes_in_where_nothing_else_takes_it(bo, bo_speaks):
    held = can(bo)
    poured(bo, held, "8900")
    assert "100.0 mL still go in" in bo_speaks.post("fills", body(held, happened=False)).json()["detail"]


def test_a_full_container_without_another_sends_people_to_the_technician(bo, bo_speaks):
    held = can(bo)
    poured(bo, held, "9000")
    assert "ask a technician" in bo_speaks.post("fills", body(held, happened=False)).json()["detail"]


def test_an_overfull_report_is_written_flagged_and_told_once_a_day(ada, bo, eli, client_for):
    held = can(bo)
    speaker = client_for(ada)
    made = speaker.post("fills", body(held, "9000.1"))
    assert (made.status_code, made.json()["flags"]) == (201, ["container.overfull"])
    assert (made.json()["state"], made.json()["room"]["value"]) == ("quarantined", "0.0")
    assert {(each.to, each.kind, each.safety) for each in Notice.objects.all()} == {
        (bo, "container-overfull", False),
        (eli, "container-overfull", False),
    }
    again = speaker.post("fills", body(held))
    assert again.json()["flags"] == ["container.quarantined", "container.overfull"]
    assert make.refreshed(held).contents == ml("9250.1")


def test_more_than_a_container_holds_is_written_too_and_is_a_safety_matter(bo):
    row = poured(bo, can(bo), "10000.1")
    assert row.flags == ["container.overfull", "container.over_rated"]
    assert Notice.objects.get(to=bo).safety


def test_a_full_container_offers_the_next(bo, bo_speaks):
    first, second = can(bo), can(bo)
    assert bo_speaks.post("fills", body(first, "8999.9")).json()["next"] is None
    assert bo_speaks.post("fills", body(first, "0.1")).json()["next"] == str(second.public_id)


def test_a_pour_planned_into_a_closed_container_is_refused_and_a_reported_one_quarantines_it(bo, bo_speaks):
    held = do(container.close, bo, can(bo))
    refused = bo_speaks.post("fills", body(held, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (409, "container.closed")
    made = bo_speaks.post("fills", body(held))
    assert (made.status_code, made.json()["flags"], made.json()["state"]) == (201, ["container.closed"], "quarantined")
    assert Notice.objects.get(to=bo).kind == "container-closed"
    assert Notice.objects.get(to=bo).safety
    assert ContainerStep.objects.latest("id").became == "quarantined"


def test_a_wrong_stream_is_refused_as_a_plan_with_the_right_container_and_quarantines_as_a_report(bo, bo_speaks):
    fixer, stop = can(bo), can(bo, "stop-bath", name="Stop can")
    wrong = body(fixer, stream=str(stop.stream.public_id))
    refused = bo_speaks.post("fills", {**wrong, "happened": False})
    assert (refused.status_code, refused.json()["code"]) == (422, "container.incompatible")
    assert [each["id"] for each in refused.json()["facts"]["allowed"]] == [str(stop.public_id)]
    made = bo_speaks.post("fills", wrong)
    assert (made.json()["flags"], made.json()["state"]) == (WRONG, "quarantined")
    assert make.refreshed(fixer).contents == ml("250")
    told = Notice.objects.get(to=bo)
    assert (told.kind, told.safety, told.path) == ("container-incompatible", True, f"containers/{fixer.public_id}")
    assert "quarantined until you clear it" in told.text


def test_a_quarantined_container_takes_no_plan_and_every_report(bo, bo_speaks):
    held = can(bo)
    do(incident.report, bo, kind="other", what="It smells", container=held.public_id)
    refused = bo_speaks.post("fills", body(held, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (409, "container.quarantined")
    assert bo_speaks.post("fills", body(held)).json()["flags"] == ["container.quarantined"]
    assert Notice.objects.filter(to=bo).count() == 2


def test_a_stream_of_ones_own_takes_what_it_is_a_case_of(bo):
    from waste.commands import stream

    do(stream.create, bo, code="paper-fixer", name="Paper fixer", kind="fixer")
    held = can(bo, "paper-fixer")
    assert poured(bo, held, stream=kept_apart(bo, "fixer").public_id).flags == []
    assert poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id).flags == WRONG


def test_a_stream_like_no_other_takes_only_its_own(bo):
    from waste.commands import stream

    do(stream.create, bo, code="etching-acid", name="Etching acid")
    assert poured(bo, can(bo, "etching-acid")).flags == []
    acid = kept_apart(bo, "etching-acid").public_id
    assert poured(bo, can(bo), stream=acid).flags == WRONG


def test_what_nobody_knows_goes_alone_into_a_container_of_its_own(bo, bo_speaks):
    unknown, fixer = can(bo, "unidentified"), can(bo)
    assert bo_speaks.post("fills", body(unknown, stream=None)).json()["flags"] == []
    assert bo_speaks.post("fills", body(unknown, stream=None, happened=False)).status_code == 422
    assert bo_speaks.post("fills", body(fixer, stream=None)).json()["flags"] == WRONG


def test_whether_a_liquid_is_known_has_to_be_said(bo, bo_speaks):
    given = body(can(bo))
    del given["stream"]
    assert bo_speaks.post("fills", given).json()["errors"][0]["pointer"] == "/stream"


def test_a_late_report_is_judged_by_the_state_the_container_was_in(bo):
    with clock.fixed(NOON):
        held = can(bo)
    with clock.fixed(NOON + timedelta(hours=2)):
        do(container.close, bo, held)
    with clock.fixed(NOON + timedelta(hours=4)):
        do(container.reopen, bo, held)
    with clock.fixed(NOON + timedelta(hours=6)):
        flags = [poured(bo, held, at=NOON + timedelta(hours=each)).flags for each in (-1, 0, 1, 2, 3, 5)]
    shut = ["container.closed"]
    assert flags == [["container.unopened"], [], [], shut, shut, []]
    assert make.refreshed(held).contents == ml("1500")


def test_a_time_to_come_is_refused(bo, bo_speaks):
    tomorrow = (clock.now() + timedelta(days=1)).isoformat(timespec="seconds")
    refused = bo_speaks.post("fills", body(can(bo), occurred_at=tomorrow))
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "/occurred_at")


@pytest.mark.parametrize("value", ["0", "0.04", "-1", "NaN", "1e3", "1_000", "٢٥٠", "9999999999"])
def test_a_volume_that_is_none_is_refused_at_its_place(bo, bo_speaks, value):
    refused = bo_speaks.post("fills", body(can(bo), value))
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"].startswith("/volume")
    assert Fill.objects.count() == 0


@pytest.mark.parametrize("field", ["container", "stream", "on_behalf_of"])
def test_an_id_elsewhere_and_one_that_never_was_are_refused_alike(bo, bo_speaks, outsider, field):
    theirs = can(make.member(outsider, Role.TECHNICIAN, name="Tess Thorn"))
    foreign = {"container": theirs, "stream": theirs.stream, "on_behalf_of": outsider}[field].public_id
    answers = [bo_speaks.post("fills", body(can(bo)) | {field: str(each)}) for each in (foreign, uuid4())]
    assert {each.status_code for each in answers} == {400}
    assert answers[0].content == answers[1].content
    assert answers[0].json()["errors"][0]["pointer"] == f"/{field}"
    assert Fill.objects.count() == 0


def test_the_same_key_pours_once_and_tells_the_same_answer(bo, bo_speaks):
    held, key = can(bo), uuid4()
    first, second = (bo_speaks.post("fills", body(held, "9000.1"), key=key) for _ in range(2))
    assert (first.status_code, first.content, first["Location"]) == (201, second.content, second["Location"])
    assert make.refreshed(held).contents == ml("9000.1")
    assert bo_speaks.post("fills", body(held), key=key).status_code == 422
    assert Fill.objects.count() == 1


@pytest.mark.parametrize(
    ("who", "write", "read"),
    [("ada", 201, 403), ("bo", 201, 200), ("cy", 201, 200), ("di", 201, 200), ("outsider", 404, 404)],
)
def test_whoever_is_here_pours_and_those_who_answer_for_it_read(who, write, read, bo, room, client_for, request):
    held, speaker = can(bo), client_for(request.getfixturevalue(who))
    address = f"/api/v1/darkrooms/{room.slug}/fills"
    assert speaker.post(address, body(held)).status_code == write
    row = poured(bo, held)
    assert speaker.get(address).status_code == read
    assert speaker.get(f"{address}/{row.public_id}").status_code == read


def test_an_admin_who_is_no_member_does_not_pour(di, bo):
    type(di).objects.filter(pk=di.pk).update(is_member=False)
    with pytest.raises(Exception, match="one of these roles"):
        poured(di, can(bo))


def test_a_list_is_paged_and_its_queries_do_not_grow(bo, bo_speaks, django_assert_num_queries):
    held, other = can(bo), can(bo)
    rows = [poured(bo, held), poured(bo, other), poured(bo, held), poured(bo, held)]
    do(fill.reverse, bo, rows[0], reason="Twice")
    with django_assert_num_queries(3):  # token, membership, page
        first = bo_speaks.get("fills?limit=2").json()
    with django_assert_num_queries(3):
        rest = bo_speaks.get(first["next"]).json()
    assert [each["id"] for each in first["items"] + rest["items"]][1:] == [str(each.public_id) for each in rows[:0:-1]]
    with django_assert_num_queries(4):  # and the container
        inside = bo_speaks.get(f"containers/{held.public_id}/fills").json()["items"]
    assert [each["id"] for each in inside][1:] == [str(rows[each].public_id) for each in (3, 2, 0)]


def test_the_queries_of_a_pour_do_not_grow_with_history(bo, django_assert_num_queries):
    held = can(bo)
    frame, ids, inner = 7, 2, 4  # lock, rights, replay, entry, head and a savepoint; container and stream; the pour
    with django_assert_num_queries(frame + ids + inner):
        poured(bo, held, "1")
    for _ in range(5):
        poured(bo, held, "1")
    with django_assert_num_queries(frame + ids + inner):
        poured(bo, held, "1")


class TestReversal:
    def test_its_author_takes_a_pour_back_with_a_reason(self, bo, ada, client_for, bo_speaks):
        held = can(bo)
        row = poured(ada, held)
        made = client_for(ada).post(f"fills/{row.public_id}/reversal", {"reason": "It was 25 mL"})
        assert made.status_code == 201
        found = bo_speaks.get(made["Location"]).json()
        assert (found["volume"]["value"], found["reverses"]) == ("-250.0", str(row.public_id))
        assert found["origin"]["reason"] == "It was 25 mL"
        assert bo_speaks.get(f"fills/{row.public_id}").json()["reversed_by"] == found["id"]
        assert make.refreshed(held).contents == 0

    def test_it_needs_a_reason(self, bo, bo_speaks):
        refused = bo_speaks.post(f"fills/{poured(bo, can(bo)).public_id}/reversal")
        assert refused.json()["errors"][0]["pointer"] == "/reason"

    def test_another_member_may_not_and_a_technician_or_instructor_may(self, bo, cy, eli, ada, max, client_for):
        held = can(bo)
        statuses = {}
        for who in (max, eli, cy):
            row = poured(ada, held)
            answer = client_for(who).post(f"fills/{row.public_id}/reversal", {"reason": "Wrong can"})
            statuses[who] = answer.status_code
        assert statuses == {max: 403, eli: 201, cy: 201}

    def test_whom_it_was_written_down_for_takes_it_back_too(self, bo, ada, client_for):
        held = can(bo)
        ask = make.ask(bo, on_behalf_of=ada)
        given = {"container": held.public_id, "stream": held.stream.public_id, "volume": 10, "text": "hers"}
        receipt = fill.pour(ask, **given)
        address = f"fills/{receipt.answer.body['id']}/reversal"
        assert client_for(ada).post(address, {"reason": "Not mine"}).status_code == 201

    def test_a_pour_is_taken_back_once_and_a_reversal_never(self, bo, bo_speaks):
        row = poured(bo, can(bo))
        made = bo_speaks.post(f"fills/{row.public_id}/reversal", {"reason": "Twice"})
        for each in (row.public_id, made.json()["id"]):
            refused = bo_speaks.post(f"fills/{each}/reversal", {"reason": "Twice"})
            assert (refused.status_code, refused.json()["code"]) == (409, "fill.reversed")
        assert Fill.objects.count() == 2

    def test_what_is_part_of_something_else_goes_with_it(self, bo, bo_speaks):
        held = can(bo)
        origin = {"kind": "check-in", "stream": "fixer", "text": "fixer stock, batch 7K3QF2"}
        row = within(bo, lambda work: fill.pour_locked(work, container=held, volume=10, origin=origin, happened=True))
        refused = bo_speaks.post(f"fills/{row.public_id}/reversal", {"reason": "No"})
        assert (refused.status_code, refused.json()["code"]) == (409, "fill.dependent")

    def test_it_does_not_lift_a_quarantine(self, bo):
        held = can(bo)
        row = poured(bo, held, stream=kept_apart(bo, "stop-bath").public_id)
        do(fill.reverse, bo, row, reason="It went into the other can")
        assert (make.refreshed(held).state, make.refreshed(held).contents) == ("quarantined", 0)

    def test_a_pour_elsewhere_and_one_that_never_was_answer_alike(self, bo, outsider, client_for):
        speaker = client_for(make.member(outsider, Role.TECHNICIAN, name="Tess Thorn"))
        paths = [f"fills/{each}/reversal" for each in (poured(bo, can(bo)).public_id, uuid4())]
        answers = [speaker.post(path, {"reason": "Mine"}) for path in paths]
        assert {(each.status_code, each.content) for each in answers} == {(404, answers[0].content)}


class TestWithinAnotherCommand:
    ORIGIN = {"kind": "transfer", "stream": "fixer", "text": "fixer stock, batch 7K3QF2", "silver_mg": "206"}

    def pour(self, who, held, volume=10, *, happened=True, **origin):
        given = {**self.ORIGIN, **origin}
        return within(
            who, lambda work: fill.pour_locked(work, container=held, volume=volume, origin=given, happened=happened)
        )

    def test_the_snapshot_is_kept_as_it_was_handed_over(self, bo):
        assert self.pour(bo, can(bo)).origin == self.ORIGIN

    def test_two_pours_of_one_command_add_up_whatever_copy_of_the_container_is_handed_over(self, bo):
        held = can(bo)
        origin = self.ORIGIN

        def twice(work):
            for _ in range(2):
                old = Container.objects.get(pk=held.pk)
                fill.pour_locked(work, container=held, volume=10, origin=origin, happened=True)
                fill.pour_locked(work, container=old, volume=10, origin=origin, happened=True)

        within(bo, twice)
        assert make.refreshed(held).contents == 40
        assert Fill.objects.values("entry").distinct().count() == 1

    def test_the_row_answered_carries_the_container_as_it_is_now(self, bo):
        row = self.pour(bo, can(bo), ml("9000.1"))
        assert (row.container.contents, row.flags) == (ml("9000.1"), ["container.overfull"])

    def test_a_plan_is_refused_and_a_report_is_not(self, bo):
        held = can(bo)
        with pytest.raises(Clash, match="working fill"):
            self.pour(bo, held, ml("9000.1"), happened=False)
        with pytest.raises(Unworkable, match="must not meet"):
            self.pour(bo, held, stream="stop-bath", happened=False)
        assert self.pour(bo, held, stream="stop-bath").flags == WRONG

    def test_a_liquid_whose_stream_the_caller_cannot_tell_is_compared_with_nothing(self, bo):
        assert self.pour(bo, can(bo, "selenium-toner"), stream=None, happened=False).flags == []

    @pytest.mark.parametrize("volume", [0, -1])
    def test_nothing_poured_is_no_pour(self, bo, volume):
        with pytest.raises(Malformed):
            self.pour(bo, can(bo), volume)

    def test_a_container_elsewhere_is_never_poured_into(self, bo, outsider):
        theirs = can(make.member(outsider, Role.TECHNICIAN, name="Tess Thorn"))
        with pytest.raises(Container.DoesNotExist):
            self.pour(bo, theirs)

    def test_a_reversal_mirrors_the_pour_and_is_refused_a_second_time(self, bo):
        held = can(bo)
        row = self.pour(bo, held)
        back = within(bo, lambda work: fill.reverse_locked(work, row))
        assert (back.volume, back.reverses, make.refreshed(held).contents) == (-10, row, 0)
        assert back.origin == row.origin
        with pytest.raises(Clash):
            within(bo, lambda work: fill.reverse_locked(work, row))
