"""The one periodic task: it shows it is alive and clears away what has run out."""

from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from knox.models import get_token_model

from darkroom_service import celery, clock, health

pytestmark = pytest.mark.django_db


def test_a_tick_leaves_a_heartbeat():
    celery.tick()
    assert clock.now() - health.last_heartbeat() < timedelta(seconds=5)


def test_a_tick_clears_what_has_run_out_and_nothing_else():
    now = clock.now()
    for name, expires in (("old", now - timedelta(seconds=1)), ("new", now + timedelta(days=1))):
        Session.objects.create(session_key=name, session_data="", expire_date=expires)
    person = get_user_model().objects.create_user("ada", "x", name="A")
    tokens = get_token_model().objects
    tokens.create(person, expiry=timedelta(seconds=-1))
    kept, _ = tokens.create(person, expiry=timedelta(days=1))
    celery.tick()
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
