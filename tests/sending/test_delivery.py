"""The life of a delivery: queued with its notice, claimed under a lease, settled by its fence, given up, resent."""

from datetime import timedelta

import pytest

from accounts.commands import delivery, outbox
from accounts.models import Channel, Delivery, DeliveryState, Notice, Preference
from accounts.sending import mail, run
from accounts.sending.limit import Undelivered
from darkroom_service import clock
from tests import make
from tests.sending.conftest import with_address

pytestmark = pytest.mark.django_db


@pytest.fixture
def queued(reachable):
    return make.notice(reachable).deliveries.get()


def fail(*_):
    raise Undelivered("the server is away")


def test_a_notice_is_queued_once_however_often_it_is_asked_for(reachable):
    told = make.notice(reachable)
    outbox.queue([told.pk, told.pk])
    outbox.queue([told.pk])
    row = told.deliveries.get()
    assert (row.channel, row.state, row.due_at, row.tries) == (Channel.EMAIL, "waiting", told.posted_at, 0)


def test_nothing_is_queued_for_who_cannot_or_will_not_be_mailed(di, ada, bo, eli, max, settings):
    Preference.objects.create(membership=with_address(bo, "bo@example.org"), mail="off")
    make.notice(bo)
    make.notice(max)  # a pupil without an address
    with_address(eli, "eli@example.org").person.is_active = False
    eli.person.save()
    make.notice(eli)
    settings.MAIL_READY = False
    make.notice(with_address(ada))
    assert not Delivery.objects.exists()
    settings.MAIL_READY = True
    make.notice(bo, safety=True)
    assert Delivery.objects.count() == 1, "safety reaches who wants no mail"


def test_many_notices_are_queued_by_as_many_statements_as_one(reachable, django_assert_num_queries):
    now = clock.now()
    said = {"darkroom": reachable.darkroom, "to": reachable, "kind": "x", "due_on": now.date(), "posted_at": now}
    rows = [Notice(**said, subject=str(n), text="x") for n in range(300)]
    Notice.objects.bulk_create(rows)
    ids = list(Notice.objects.values_list("pk", flat=True))
    with django_assert_num_queries(2):
        outbox.queue(ids)
    assert Delivery.objects.count() == 300
    assert len(set(Delivery.objects.values_list("public_id", flat=True))) == 300


def test_a_claim_is_a_lease_that_nobody_else_gets_until_it_ends(queued):
    now = clock.now()
    with clock.fixed(now):
        mine = delivery.claim()
        assert (mine.pk, mine.tries, mine.fence) == (queued.pk, 1, 1)
        assert delivery.claim() is None
    with clock.fixed(now + timedelta(seconds=119)):
        assert delivery.claim() is None
    with clock.fixed(now + timedelta(seconds=121)):
        theirs = delivery.claim()
        assert (theirs.pk, theirs.tries, theirs.fence) == (queued.pk, 2, 2)
        assert theirs.message_id == mine.message_id


def test_a_worker_whose_lease_ran_out_settles_nothing(queued):
    now = clock.now()
    with clock.fixed(now):
        slow = delivery.claim()
    with clock.fixed(now + timedelta(seconds=130)):
        quick = delivery.claim()
        assert not delivery.settle(slow)
        assert not delivery.settle(slow, "away")
        assert delivery.settle(quick)
        assert not delivery.settle(slow, "away"), "what is sent stays sent"
    queued.refresh_from_db()
    assert (queued.state, queued.error) == ("sent", "")


def test_a_failure_waits_longer_each_time_and_is_given_up_after_eight(queued, monkeypatch):
    monkeypatch.setattr(mail, "send", fail)
    at, pauses = clock.now(), []
    for tried in range(1, 9):
        with clock.fixed(at):
            assert run.deliver_one()
            assert not run.deliver_one(), "not again at once"
        queued.refresh_from_db()
        assert queued.tries == tried
        pauses.append((queued.due_at - at).total_seconds())
        at = queued.due_at
    assert queued.state == DeliveryState.PARKED
    assert queued.error == "the server is away"
    assert pauses[:-1] == [60, 180, 540, 1620, 4860, 14580, 43200]
    assert sum(pauses[:-1]) > 12 * 3600, "outlasts a night"
    with clock.fixed(at + timedelta(days=9)):
        assert not run.deliver_one()


def test_a_worker_that_dies_each_time_is_given_up_too(queued):
    at = clock.now()
    for _ in range(8):
        with clock.fixed(at):
            assert delivery.claim()
        at += timedelta(seconds=121)
    with clock.fixed(at):
        assert delivery.claim() is None
    queued.refresh_from_db()
    assert (queued.state, queued.error) == ("parked", delivery.LOST)


def test_one_that_breaks_does_not_hold_up_the_next(reachable, bo, monkeypatch, mailoutbox):
    broken = make.notice(reachable)
    make.notice(with_address(bo, "bo@example.org"))
    whole = mail.compose

    def compose(rows):
        if rows[0].notice_id == broken.pk:
            raise KeyError("template")
        return whole(rows)

    monkeypatch.setattr(mail, "compose", compose)
    assert run.deliver(seconds=30) == 2
    assert [message.to for message in mailoutbox] == [["bo@example.org"]]
    assert broken.deliveries.get().error == "This service failed to word it: KeyError"


def test_the_clock_two_hours_back_sends_nothing_twice(reachable, mailoutbox, send_all):
    make.notice(reachable)
    now = clock.now()
    send_all()
    with clock.fixed(now - timedelta(hours=2)):
        send_all()
    send_all()
    assert len(mailoutbox) == 1


@pytest.mark.parametrize("change", ["left", "inactive", "address", "done", "off"])
def test_what_is_no_longer_wanted_is_dropped_when_its_turn_comes(queued, reachable, change, mailoutbox, send_all):
    now = clock.now()
    match change:
        case "left":
            reachable.left_at = now
            reachable.save()
        case "inactive":
            reachable.person.is_active = False
            reachable.person.save()
        case "address":
            with_address(reachable, "")
        case "done":
            Notice.objects.update(done_at=now)
        case "off":
            Preference.objects.create(membership=reachable, mail="off")
    send_all()
    queued.refresh_from_db()
    assert queued.state == "dropped"
    assert not mailoutbox


def test_admins_see_what_was_given_up_and_send_it_again(di, queued, monkeypatch, client_for, mailoutbox, send_all):
    with monkeypatch.context() as away:
        away.setattr(mail, "send", fail)
        Delivery.objects.update(tries=7)
        send_all()
    admin = client_for(di)
    [row] = admin.get("deliveries?state=parked").json()["items"]
    assert row["error"] == "the server is away"
    assert row["tries"] == 8
    assert row["to"] == str(queued.notice.to.public_id)
    assert admin.get("deliveries?state=sent").json()["items"] == []
    assert admin.get("deliveries?state=lost").status_code == 400
    assert admin.post(f"deliveries/{row['id']}/resend").status_code == 201
    assert admin.post(f"deliveries/{row['id']}/resend").status_code == 409
    send_all()
    assert [message.extra_headers["Message-ID"] for message in mailoutbox] == [queued.message_id]


def test_only_admins_of_the_darkroom_see_deliveries(
    queued, di, bo, cy, outsider, client_for, django_assert_max_num_queries
):
    for somebody in (bo, cy):
        assert client_for(somebody).get("deliveries").status_code == 403
        assert client_for(somebody).post(f"deliveries/{queued.public_id}/resend").status_code == 403
    assert client_for(outsider).get("deliveries").json()["items"] == []
    assert client_for(outsider).post(f"deliveries/{queued.public_id}/resend").status_code == 404
    admin = client_for(di)
    for _ in range(5):
        make.notice(queued.notice.to)
    with django_assert_max_num_queries(4):
        assert len(admin.get("deliveries").json()["items"]) == 6
