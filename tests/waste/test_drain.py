"""The drain: nothing goes down without the sewer's rule; what has gone is written, flagged and counted."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from hypothesis import given
from hypothesis import strategies as st

from accounts.models import Notice
from darkroom_service import clock
from tests.waste.pail import can, kept_apart
from waste.commands.proof import differences
from waste.models import DrainRelease, DrainRule
from waste.science import drain as rules

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
RULE = {
    "approved_by": "Harbour Sewer Works", "reference": "Consent 12/2026", "streams": ["stop-bath"],
    "daily_volume": {"value": "5", "unit": "L"}, "ph_low": "6.0", "ph_high": "10.0", "dilution": 10,
    "limits": [{"cas": "7440-22-4", "name": "silver", "mg_per_l": "5"}],
}  # fmt: skip
NO_SILVER = [{"cas": "7440-22-4", "mg_per_l": "2"}]


def let(stream, ml="1000", water="9000", **given):
    return {
        "stream": str(stream.public_id), "volume": {"value": ml, "unit": "mL"},
        "water": {"value": water, "unit": "mL"}, "ph": "7.0", "description": "neutralised stop bath",
        "figures": NO_SILVER, **given,
    }  # fmt: skip


@pytest.fixture
def says(bo, client_for):
    return client_for(bo)


@pytest.fixture
def stop(bo):
    return kept_apart(bo, "stop-bath")


@pytest.fixture
def ruled(di, stop, client_for):
    assert client_for(di).post("drain-rules", RULE).status_code == 201
    return stop


def test_without_a_rule_a_plan_is_refused_and_told_the_container(bo, stop, says):
    held = can(bo, "stop-bath")
    refused = says.post("drain-releases", let(stop, happened=False))
    assert (refused.status_code, refused.json()["code"]) == (422, "drain.no_rule")
    assert refused.json()["facts"]["container"] == str(held.public_id)
    assert f"Pour it into {held.name} ({held.code})" in refused.json()["detail"]
    assert DrainRelease.objects.count() == 0


def test_without_a_rule_what_has_gone_is_written_and_a_matter_of_safety(bo, di, stop, says):
    made = says.post("drain-releases", let(stop))
    assert (made.status_code, made.json()["flags"]) == (201, ["drain.no_rule"])
    assert {each.to for each in Notice.objects.filter(kind="drain-flagged", safety=True)} >= {bo, di}
    assert list(differences()) == []


def test_under_the_rule_it_goes_and_its_figures_are_kept(ruled, says):
    made = says.post("drain-releases", let(ruled, happened=False))
    assert (made.status_code, made.json()["flags"]) == (201, [])
    found = says.get(made["Location"]).json()
    silver = found["computed"]["limits"][0]
    # 1 L with 9 L of water is ten times the volume: 2 mg/L becomes 0.2
    assert found["computed"]["times"] == "10.00"
    assert (silver["before_mg_per_l"], silver["after_mg_per_l"]) == ("2.000", "0.2000")
    assert (found["listed"]["list_code"], found["origin"]["mg_per_l"]) == ("09 01 99", {"7440-22-4": "2"})


@pytest.mark.parametrize(
    ("change", "flag"),
    [
        ({"water": {"value": "8999.9", "unit": "mL"}}, "drain.dilution_short"),
        ({"ph": "5.99"}, "drain.ph_outside"),
        ({"ph": "10.01"}, "drain.ph_outside"),
        ({"figures": [{"cas": "7440-22-4", "mg_per_l": "50.01"}]}, "drain.over_limit"),
        ({"figures": []}, "drain.not_known"),
        ({"volume": {"value": "5000.1", "unit": "mL"}, "water": {"value": "50", "unit": "L"}}, "drain.daily_volume"),
    ],
)
def test_each_bound_holds_on_its_far_side(ruled, says, change, flag):
    refused = says.post("drain-releases", let(ruled, happened=False) | change)
    assert (refused.status_code, refused.json()["facts"]["flags"]) == (422, [flag])


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"ph": "6"},
        {"ph": "10.00"},
        {"figures": [{"cas": "7440-22-4", "mg_per_l": "50"}]},
        {"volume": {"value": "5", "unit": "L"}, "water": {"value": "45", "unit": "L"}},
    ],
)
def test_each_bound_itself_is_within(ruled, says, change):
    assert says.post("drain-releases", let(ruled, happened=False) | change).status_code == 201


def test_the_day_is_counted_and_what_is_taken_back_is_not(ruled, says):
    first = says.post("drain-releases", let(ruled, "4000", "36000"))
    more = let(ruled, "2000", "18000", happened=False)
    refused = says.post("drain-releases", more)
    assert refused.json()["facts"]["left_today_ml"] == "1000.0"
    assert says.post(f"{first['Location']}/reversal", {"reason": "It went into the can"}).status_code == 201
    assert says.post("drain-releases", more).status_code == 201
    assert says.post(f"{first['Location']}/reversal", {"reason": "Again"}).json()["code"] == "drain.reversed"
    assert list(differences()) == []


def test_another_stream_is_not_allowed(bo, ruled, says):
    refused = says.post("drain-releases", let(kept_apart(bo, "fixer"), happened=False))
    assert refused.json()["code"] == "drain.stream_not_allowed"


def test_the_rule_of_the_day_counts(di, stop, says, client_for):
    with clock.fixed(NOON):
        client_for(di).post("drain-rules", RULE | {"valid_until": "2026-11-26"})
        client_for(di).post("drain-rules", RULE | {"streams": [], "valid_from": "2026-11-26"})
        assert says.post("drain-releases", let(stop)).json()["flags"] == []
    with clock.fixed(NOON + timedelta(days=1)):
        assert says.post("drain-releases", let(stop)).json()["flags"] == ["drain.stream_not_allowed"]
        late = let(stop, occurred_at=NOON.isoformat())
        assert says.post("drain-releases", late).json()["flags"] == []


def test_only_an_admin_writes_the_rule_and_nobody_changes_one(bo, ada, di, stop, client_for, says):
    for who in (bo, ada):
        assert client_for(who).post("drain-rules", RULE).status_code == 403
    made = client_for(di).post("drain-rules", RULE)
    assert client_for(ada).get(made["Location"]).json()["approved_by"] == "Harbour Sewer Works"
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        DrainRule.objects.update(reference="mine")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"streams": ["lemonade"]}, "/streams/0"),
        ({"ph_low": "11"}, "/ph_low"),
        ({"ph_high": "14.1"}, "/ph_high"),
        ({"valid_from": "2026-12-01", "valid_until": "2026-11-30"}, "/valid_until"),
        ({"dilution": 0}, "/dilution"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_at_its_place(di, stop, client_for, change, pointer):
    refused = client_for(di).post("drain-rules", RULE | change)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, pointer)


def test_a_stream_elsewhere_and_one_that_never_was_are_refused_alike(ruled, says, outsider):
    theirs = kept_apart(outsider, "stop-bath")
    bodies = [let(ruled) | {"stream": str(each)} for each in (theirs.public_id, uuid4())]
    answers = [says.post("drain-releases", each) for each in bodies]
    assert {(each.status_code, each.content) for each in answers} == {(400, answers[0].content)}


def test_lists_take_the_same_queries_whatever_they_hold(di, ruled, says, client_for, django_assert_num_queries):
    for _ in range(3):
        says.post("drain-releases", let(ruled, "10", "90"))
        client_for(di).post("drain-rules", RULE)
    for address in ("drain-releases", "drain-rules"):
        with django_assert_num_queries(3):  # token, membership, page
            assert len(says.get(address).json()["items"]) >= 3


# The dilution that 5 g/L of hydroquinone would take to reach 0.71 mg/L, the no-effect concentration of a treatment
# plant (ECHA registration dossier 14417, read): 7 042.25, so 7 043 times.
def test_the_dilution_it_would_take_is_shown():
    assert rules.needed(Decimal(5000), Decimal("0.71")) == 7043


@given(st.integers(1, 10**6), st.integers(0, 10**7), st.decimals("0.001", "100000", places=3))
def test_the_dilution_shown_does_reach_the_limit(volume, water, before):
    limit = rules.Limit("7440-22-4", "silver", Decimal(5))
    fold = rules.needed(before, limit.mg_per_l)
    allowed = rules.Allowed(("x",), 10**12, Decimal(0), Decimal(14), 1, (limit,))
    told = rules.Released("x", volume, (fold - 1) * volume, Decimal(7), {"7440-22-4": before})
    assert rules.judge(allowed, told).allowed
    little = rules.Released("x", volume, water, Decimal(7), {"7440-22-4": before})
    over = before * volume > limit.mg_per_l * (volume + water)
    assert (rules.LIMIT in rules.judge(allowed, little).flags) is over
