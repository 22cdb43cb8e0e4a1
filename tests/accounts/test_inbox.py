"""What one does with what one was told: filters, done, put off, spared; and how early a darkroom is told."""

from datetime import UTC, datetime, timedelta

import pytest

from accounts.commands import heartbeat, notice
from accounts.models import Notice, NoticeLead, NoticeMute, Pulse
from darkroom_service import clock
from darkroom_service.due import KINDS
from tests import make
from tests.accounts.test_notice import post, work

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _noon():
    with clock.fixed(NOW):
        yield


@pytest.fixture
def inbox(client_for, ada, di):
    """Three notices of Ada's: of a stop, of a request, and a second stop."""
    for subject, kind in (
        ("vessel:1", "vessel-stopped"),
        ("batch:1", "batch-to-approve"),
        ("vessel:2", "vessel-stopped"),
    ):
        notice.post_locked(work(di), kind=kind, subject=subject, text=subject, path="vessels/1", to=[ada])
    return client_for(ada)


def texts(client, query=""):
    return [item["text"] for item in client.get(f"notices{query}").json()["items"]]


def test_filters_keep_the_unread_the_open_and_those_of_a_kind(inbox):
    first, second, _ = Notice.objects.order_by("pk")
    inbox.post(f"notices/{first.public_id}/reading")
    inbox.post(f"notices/{second.public_id}/completion")
    assert texts(inbox, "?unread=true") == ["vessel:2"]
    assert texts(inbox, "?open=true") == ["vessel:2", "vessel:1"]
    assert texts(inbox, "?kind=vessel-stopped&unread=true") == ["vessel:2"]
    assert texts(inbox) == ["vessel:2", "batch:1", "vessel:1"]


def test_a_filter_that_is_no_choice_is_refused(inbox):
    assert inbox.get("notices?open=perhaps").status_code == 400


def test_done_is_read_too_and_the_first_time_stands(inbox):
    row = Notice.objects.first()
    inbox.post(f"notices/{row.public_id}/completion")
    with clock.fixed(NOW + timedelta(hours=1)):
        inbox.post(f"notices/{row.public_id}/completion")
    row.refresh_from_db()
    assert (row.done_at, row.read_at) == (NOW, NOW)


def test_put_off_it_comes_back_at_the_stated_time(inbox):
    row = Notice.objects.first()
    until = NOW + timedelta(days=2)
    assert inbox.post(f"notices/{row.public_id}/snooze", {"until": until.isoformat()}).status_code == 204
    assert "vessel:1" not in texts(inbox, "?open=true")
    with clock.fixed(until):
        assert "vessel:1" in texts(inbox, "?open=true")


def test_nothing_is_put_off_to_the_past_nor_once_done(inbox):
    row = Notice.objects.first()
    address = f"notices/{row.public_id}/snooze"
    past = inbox.post(address, {"until": NOW.isoformat()})
    assert (past.status_code, past.json()["code"]) == (400, "time.past")
    inbox.post(f"notices/{row.public_id}/completion")
    late = inbox.post(address, {"until": (NOW + timedelta(days=1)).isoformat()})
    assert (late.status_code, late.json()["code"]) == (409, "notice.done")


@pytest.mark.parametrize("act", ["reading", "completion", "snooze"])
def test_nobody_touches_the_notices_of_another(client_for, inbox, bo, outsider, act):
    row = Notice.objects.first()
    for other in (bo, outsider):
        answer = client_for(other).post(f"notices/{row.public_id}/{act}", {"until": "2030-01-01T00:00:00Z"})
        assert answer.status_code == 404


def test_a_kind_is_muted_for_oneself_only(client_for, inbox, ada, bo, di):
    assert inbox.post("notice-kinds/batch-to-approve/muting").status_code == 204
    assert inbox.post("notice-kinds/batch-to-approve/muting").status_code == 204
    notice.post_locked(work(di), kind="batch-to-approve", subject="batch:9", text="new", path="", to=[ada, bo])
    assert [row.to_id for row in Notice.objects.filter(subject="batch:9")] == [bo.pk]
    shown = {item["kind"]: item["muted"] for item in inbox.get("notice-kinds").json()["items"]}
    assert [kind for kind, muted in shown.items() if muted] == ["batch-to-approve"]
    assert inbox.delete("notice-kinds/batch-to-approve/muting").status_code == 204
    assert not NoticeMute.objects.exists()


@pytest.mark.parametrize("kind", [code for code, each in KINDS.items() if each.safety])
def test_a_safety_kind_cannot_be_muted_and_says_why(inbox, kind):
    answer = inbox.post(f"notice-kinds/{kind}/muting")
    assert (answer.status_code, answer.json()["code"]) == (403, "notice.safety")
    assert "safety" in answer.json()["detail"]


def test_what_is_a_matter_of_safety_reaches_who_muted_its_kind(inbox, ada, di):
    notice.mute(ada, "check-in-flagged")
    post_as = {"kind": "check-in-flagged", "text": "x", "path": "", "to": [ada]}
    notice.post_locked(work(di), subject="a", **post_as)
    notice.post_locked(work(di), subject="b", safety=True, **post_as)
    assert [row.subject for row in Notice.objects.filter(kind="check-in-flagged")] == ["b"]


def test_an_unknown_kind_is_not_there(inbox, client_for, di):
    assert inbox.post("notice-kinds/no-such-kind/muting").status_code == 404
    assert client_for(di).post("notice-kinds/no-such-kind/lead", {"lead": 3}).status_code == 404


def test_an_admin_sets_how_early_within_limits(client_for, di, ada, elsewhere):
    client = client_for(di)
    assert client.post("notice-kinds/vessel-near-expiry/lead", {"lead": 21}).json() == {
        "kind": "vessel-near-expiry", "lead": 21,
    }  # fmt: skip
    client.post("notice-kinds/vessel-near-expiry/lead", {"lead": 14})
    assert list(NoticeLead.objects.values_list("darkroom", "lead")) == [(di.darkroom_id, 14)]
    shown = {item["kind"]: item["lead"] for item in client_for(ada).get("notice-kinds").json()["items"]}
    assert (shown["vessel-near-expiry"], shown["recall"]) == (14, None)
    outside = client.post("notice-kinds/vessel-near-expiry/lead", {"lead": 61})
    assert (outside.status_code, outside.json()["errors"][0]["pointer"]) == (400, "/lead")
    assert client.post("notice-kinds/recall/lead", {"lead": 1}).status_code == 409
    assert client_for(ada).post("notice-kinds/vessel-near-expiry/lead", {"lead": 2}).status_code == 403


def test_an_admins_inbox_says_that_the_clockwork_stands_still_once(client_for, di, ada):
    heartbeat.beat(Pulse.TICK, NOW - timedelta(hours=3))
    for _ in range(2):
        assert len(client_for(di).get("notices?kind=tick-stale").json()["items"]) == 1
    assert client_for(ada).get("notices?kind=tick-stale").json()["items"] == []


def test_listing_filtered_takes_the_same_queries_however_many_there_are(inbox, ada, di, django_assert_num_queries):
    for number in range(5):
        post(di, to=[ada], subject=f"more:{number}")
    with django_assert_num_queries(3):
        assert len(texts(inbox, "?open=true&unread=true")) == 8


def test_posting_a_kind_with_no_name_here_still_reaches_its_reader(ada, di):
    notice.post_locked(work(di), kind="something-new", subject="x", text="x", path="", to=[ada])
    assert make.refreshed(Notice.objects.get()).safety is False
