"""The one periodic task: it shows it is alive and clears away what has run out."""

from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from knox.models import get_token_model
from kombu.exceptions import OperationalError

from accounts.commands import heartbeat
from accounts.models import Pulse
from darkroom_service import celery, clock, notices
from darkroom_service import tick as beat

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def alone(settings):
    """Send in this thread: another would not see what a test has not committed."""
    settings.DELIVERY_SENDERS = 1


def test_a_tick_leaves_a_heartbeat():
    assert beat.tick(senders=1)
    assert clock.now() - heartbeat.last(Pulse.TICK) < timedelta(seconds=5)


def test_a_sweep_that_fails_shows_as_silence_and_the_rest_is_done_all_the_same(monkeypatch):
    def fail(at):
        raise RuntimeError("no such column")

    monkeypatch.setattr(notices, "sweep", fail)
    Session.objects.create(session_key="old", session_data="", expire_date=clock.now() - timedelta(seconds=1))
    assert not beat.tick(senders=1)
    assert heartbeat.last(Pulse.TICK) is None
    assert not Session.objects.exists()


def test_the_command_ticks_without_any_broker(monkeypatch):
    call_command("tick")
    assert heartbeat.last(Pulse.TICK)
    monkeypatch.setattr(notices, "sweep", lambda at: 1 / 0)
    with pytest.raises(CommandError, match="sweep"):
        call_command("tick")


def test_much_waiting_asks_for_hands_and_a_broker_that_is_away_stops_nothing(monkeypatch, settings):
    settings.DELIVERY_SENDERS = 1
    asked = []
    monkeypatch.setattr(celery, "waiting", lambda: 70)
    monkeypatch.setattr(celery.lend_a_hand, "apply_async", lambda **given: asked.append(given))
    celery.tick()
    assert len(asked) == 3
    assert all(hint["expires"] <= settings.TICK_SECONDS for hint in asked)

    def away(**_):
        raise OperationalError("connection refused")

    monkeypatch.setattr(celery.lend_a_hand, "apply_async", away)
    celery.tick()


def test_a_tick_clears_what_has_run_out_and_nothing_else():
    now = clock.now()
    for name, expires in (("old", now - timedelta(seconds=1)), ("new", now + timedelta(days=1))):
        Session.objects.create(session_key=name, session_data="", expire_date=expires)
    person = get_user_model().objects.create_user("ada", "x", name="A")
    tokens = get_token_model().objects
    tokens.create(person, expiry=timedelta(seconds=-1))
    kept, _ = tokens.create(person, expiry=timedelta(days=1))
    beat.tick(senders=1)
    assert [row.session_key for row in Session.objects.all()] == ["new"]
    assert [row.pk for row in tokens.all()] == [kept.pk]


def test_the_schedule_is_one_tick_that_goes_stale_before_the_next():
    [entry] = celery.app.conf.beat_schedule.values()
    assert entry["task"] == celery.tick.name
    assert entry["options"]["expires"] <= entry["schedule"]


def test_a_task_never_outlives_the_time_after_which_the_broker_hands_it_out_again(settings):
    settings.REDIS_URL = "redis://127.0.0.1:6379/0"
    assert celery.broker()["broker_transport_options"]["visibility_timeout"] > celery.app.conf.task_time_limit


def test_without_redis_the_broker_is_a_folder_of_the_data(settings, tmp_path):
    settings.REDIS_URL, settings.DATA = "", tmp_path
    options = celery.broker()["broker_transport_options"]
    assert options["data_folder_in"] == options["data_folder_out"] == str(tmp_path / "broker" / "queue")
    assert options["polling_interval"] <= 0.5
