"""Pickups, from plan to confirmation: what may be refused, what is written whatever it says, and what stays true."""

from contextlib import suppress
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from darkroom_service import clock
from darkroom_service.refusal import Clash, Malformed, NotAllowed, Refusal
from tests import make
from tests.proof import differences
from tests.waste.pail import can, do, ml, poured
from waste.commands import confirming, container, fill, log, pickup
from waste.commands.confirming import Left
from waste.commands.pickup import Item
from waste.models import Collection, ContainerState
from waste.science.pickup import copy_due

pytestmark = pytest.mark.django_db
PAPERS = {
    "carrier": "Weir & Low Carriers", "carrier_authorisation": "CB-1", "destination": "Holm treatment works",
    "destination_authorisation": "P-9", "document_number": "N-17", "transport": "road", "treatment": "R4 silver",
}  # fmt: skip


def planned(who, *items, **more):
    told = [each if isinstance(each, Item) else Item(each.public_id) for each in items]
    return do(pickup.plan, who, way="collection", planned_for=date(2026, 12, 1), items=told, **(PAPERS | more))


def ready(who, *items, **more):
    return do(pickup.prepare, who, planned(who, *items, **more))


def confirmed(who, row, **more):
    return do(confirming.confirm, who, row, **more)


def test_a_whole_container_is_collected_and_books_out(bo, eli):
    held = can(bo)
    poured(bo, held, "250")
    row = confirmed(eli, ready(bo, held))
    assert (row.state, row.flags, row.confirmed_by, row.prepared_by) == ("confirmed", [], eli, bo)
    held = make.refreshed(held)
    assert (held.contents, held.state) == (0, ContainerState.COLLECTED)
    assert differences(bo.darkroom) == []


def test_a_part_leaves_the_rest_and_a_staying_container_is_open_again(bo, eli):
    held = can(bo)
    poured(bo, held, "250")
    confirmed(eli, ready(bo, Item(held.public_id, ml("100"))))
    assert (make.refreshed(held).contents, make.refreshed(held).state) == (ml("150"), "open")
    confirmed(eli, ready(bo, Item(held.public_id, stays=True)))
    assert (make.refreshed(held).contents, make.refreshed(held).state) == (0, "open")
    assert differences(bo.darkroom) == []


def test_what_is_in_one_open_pickup_cannot_be_in_another_until_that_is_cancelled(bo):
    held = can(bo)
    first = planned(bo, held)
    with pytest.raises(Clash) as refused:
        planned(bo, held)
    assert (refused.value.code, refused.value.facts["pickup"]) == ("pickup.container_held", str(first.public_id))
    do(pickup.cancel, bo, first, reason="The carrier cannot come")
    assert planned(bo, held).state == "planned"


@pytest.mark.parametrize(("setting", "code"), [("off", None), ("noted", "pickup.alone"), ("required", "refused")])
def test_who_prepared_it_confirms_it_only_as_the_darkroom_allows(bo, eli, setting, code):
    type(bo.darkroom).objects.filter(pk=bo.darkroom_id).update(second_person_pickup=setting)
    row = ready(bo, can(bo))
    if code == "refused":
        with pytest.raises(NotAllowed, match="somebody else"):
            confirmed(bo, row)
        assert confirmed(eli, row).flags == []
    else:
        assert confirmed(bo, row).flags == ([code] if code else [])


def test_a_changed_pickup_is_prepared_again(bo, cy):
    row = do(pickup.edit, cy, ready(bo, can(bo)), {"transport": "rail"}, unchanged=lambda _: None)
    assert (row.state, row.prepared_by) == ("planned", None)
    with pytest.raises(Clash, match="prepare it first"):
        confirmed(cy, row)


def test_more_or_less_than_recorded_is_written_and_flagged_and_the_contents_stay_above_nothing(bo, eli):
    more, less = can(bo), can(bo)
    poured(bo, more, "100")
    poured(bo, less, "100")
    told = [Left(more.public_id, ml("130")), Left(less.public_id, ml("90"), emptied=True)]
    row = confirmed(eli, ready(bo, more, less), left=told)
    assert row.flags == ["pickup.more_than_recorded", "pickup.less_than_recorded"]
    assert list(Collection.objects.order_by("pk").values_list("volume", "found")) == [(1300, 300), (900, -100)]
    assert (make.refreshed(more).contents, make.refreshed(less).contents) == (0, 0)
    assert differences(bo.darkroom) == []


def test_a_pour_whose_liquid_left_is_not_taken_back_until_the_pickup_is_corrected(bo, eli):
    held = can(bo)
    row = poured(bo, held, "250")
    gone = confirmed(eli, ready(bo, held))
    with pytest.raises(Clash) as refused:
        do(fill.reverse, bo, row, reason="Written twice")
    assert (refused.value.code, refused.value.facts["pickup_code"]) == ("fill.collected", gone.code)
    corrected = do(confirming.correct, eli, gone, left=[Left(held.public_id, 0)], reason="The can stayed here")
    assert (corrected.state, make.refreshed(held).contents, make.refreshed(held).state) == ("confirmed", 2500, "open")
    do(fill.reverse, bo, row, reason="Written twice")
    assert make.refreshed(held).contents == 0
    assert differences(bo.darkroom) == []


def test_a_plan_of_what_is_not_there_is_refused(bo, eli, outsider):
    held = can(bo)
    poured(bo, held, "100")
    with pytest.raises(Clash, match=r"100\.0 mL"):
        planned(bo, Item(held.public_id, ml("100.1")))
    with pytest.raises(Malformed) as foreign:
        planned(bo, can(outsider_technician(outsider)))
    assert (foreign.value.code, foreign.value.pointer) == ("container.unknown", "/items/0")
    confirmed(eli, ready(bo, held))
    with pytest.raises(Clash) as gone:
        planned(bo, held)
    assert gone.value.code == "container.collected"


def outsider_technician(outsider):
    from accounts.acts import Role

    return make.member(outsider, Role.TECHNICIAN)


def test_dates_out_of_order_are_refused(bo, eli):
    held = can(bo)
    row = ready(bo, held)
    with pytest.raises(Malformed, match="not in use yet"):
        do(confirming.confirm, eli, row, at=held.opened_at - timedelta(days=1))
    row = confirmed(eli, row)
    for day in (row.collected_at.date() - timedelta(days=2), clock.now().date() + timedelta(days=2)):
        with pytest.raises(Malformed) as refused:
            do(pickup.receive_copy, bo, row, returned_on=day)
        assert refused.value.code == "pickup.dates_out_of_order"
    assert do(pickup.receive_copy, bo, row, returned_on=clock.now().date()).returned_on


def test_papers_missing_are_named_before_it_is_prepared(bo):
    with pytest.raises(Clash) as refused:
        ready(bo, can(bo), carrier="", treatment="")
    assert refused.value.facts["missing"] == ["carrier", "treatment"]


@pytest.mark.parametrize(
    ("rules", "collected", "due"),
    [
        # SI 2005/894 reg. 53 (read by the design's author): quarters end 30 Apr, 31 Jul, 31 Oct, 31 Jan.
        ("UK", date(2026, 3, 31), date(2026, 4, 30)),
        ("UK", date(2026, 4, 1), date(2026, 7, 31)),
        ("UK", date(2026, 12, 31), date(2027, 1, 31)),
        # 40 CFR 262.42(b), from memory: 60 days.
        ("US", date(2026, 1, 1), date(2026, 3, 2)),
    ],
)
def test_the_copy_is_due_by_the_rules_of_the_country(rules, collected, due):
    assert copy_due(rules, collected) == due


def test_over_http_from_plan_to_copy(client_for, bo, eli, ada):
    held = can(bo)
    poured(bo, held)
    body = {"way": "collection", "planned_for": "2026-12-01", "items": [{"container": str(held.public_id)}], **PAPERS}
    made = client_for(bo).post("pickups", body)
    assert made.status_code == 201
    place = f"pickups/{made.json()['id']}"
    assert client_for(bo).post(f"{place}/preparation").json()["state"] == "prepared"
    left = [{"container": str(held.public_id), "mass": {"value": "0.262", "unit": "kg"}}]
    assert client_for(eli).post(f"{place}/confirmation", {"left": left}).json()["state"] == "confirmed"
    assert client_for(bo).post(f"{place}/copy", {"returned_on": str(clock.now().date())}).status_code == 200
    read = client_for(bo).get(place).json()
    assert (read["state"], read["items"][0]["code"], read["confirmed_by"]) == (
        "confirmed",
        held.code,
        str(eli.public_id),
    )
    assert client_for(ada).get("pickups").status_code == 403
    assert Collection.objects.get().mass_g == 262


def test_the_list_asks_a_constant_number_of_questions(client_for, bo, django_assert_num_queries):
    speaker = client_for(bo)
    for _ in range(3):
        planned(bo, can(bo))
    speaker.get("pickups")
    with django_assert_num_queries(
        6
    ):  # token, membership, pickups, items, containers with streams, and the slug's room
        assert len(speaker.get("pickups").json()["items"]) == 3


WHAT = st.sampled_from(["pour", "reverse", "collect", "part", "correct", "reopen"])
ACTS = st.lists(st.tuples(WHAT, st.integers(0, 9), st.integers(1, 9000)), max_size=14)


class Life:
    """Two cans, what was poured into them and what left them, by whoever."""

    def __init__(self, bo, eli):
        self.bo, self.eli, self.cans, self.pours, self.gone = bo, eli, [can(bo), can(bo)], [], []

    def act(self, what, nth, volume):
        held = make.refreshed(self.cans[nth % 2])
        told = [Left(held.public_id, ml(str(volume)))]
        if what == "pour":
            self.pours.append(poured(self.bo, held, str(volume)))
        elif what == "reverse" and self.pours:
            do(fill.reverse, self.bo, self.pours[nth % len(self.pours)], reason="x")
        elif what == "correct" and self.gone:
            do(confirming.correct, self.eli, self.gone[nth % len(self.gone)], left=told, reason="x")
        elif what == "reopen":
            do(container.reopen, self.bo, held)
        elif what in {"collect", "part"}:
            row = ready(self.bo, Item(held.public_id, stays=nth > 4))
            self.gone.append(confirmed(self.eli, row, left=told if what == "part" else []))


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=ACTS)
def test_after_any_pours_pickups_and_reversals_the_log_and_the_ledger_agree(bo, eli, acts):
    """The mass balance is nothing after every step: what came less what left plus what was found is what is there."""
    life = Life(bo, eli)
    for each in acts:
        with suppress(Refusal):
            life.act(*each)
        lines = list(log.drawn_up(bo.darkroom, first=None, last=None, as_of=None).lines())
        for held in map(make.refreshed, life.cans):
            of = [line for line in lines if line.container == held.code]
            assert sum(line.came - line.left + line.found for line in of) == held.contents >= 0
    assert differences(bo.darkroom) == []
