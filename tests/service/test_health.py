"""Alive and ready: up or down only."""

from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from accounts import triggers
from accounts.commands import heartbeat
from accounts.models import Delivery, Pulse
from darkroom_service import clock
from tests import make


@pytest.fixture
def beating(db):
    heartbeat.beat(Pulse.TICK, clock.now())


def parts(client):
    response = client.get("/readyz")
    body = response.json()
    assert response.status_code == (200 if body["status"] == "up" else 503)
    assert set(body) <= {"status", "checks", "mail", "seconds_since"}
    assert set(body["checks"].values()) <= {"up", "down"}
    return body["status"], {name for name, state in body["checks"].items() if state == "down"}


def test_alive_needs_no_database(client):
    response = client.get("/healthz")
    assert response.status_code == 200
    assert response.json() == {"status": "up"}


def test_ready_when_every_part_is_up(client, beating):
    assert parts(client) == ("up", set())


def test_a_database_that_is_away_is_down_and_says_no_more(client, beating, monkeypatch):
    def refuse(*_, **__):
        raise OperationalError("password of the database user is hunter2")

    with monkeypatch.context() as away:
        away.setattr(connection, "cursor", refuse)
        status, down = parts(client)
        content = client.get("/readyz").content
    assert status == "down"
    assert "database" in down
    assert b"hunter2" not in content


def test_a_migration_not_yet_run_is_down(client, beating, monkeypatch):
    monkeypatch.setattr(MigrationExecutor, "migration_plan", lambda *_: [("waiting", False)])
    assert parts(client) == ("down", {"migrations"})


def test_a_missing_guard_of_the_ledgers_is_down(client, beating, monkeypatch):
    monkeypatch.setattr(triggers, "missing", lambda: ["append_only_entry_update"])
    assert parts(client) == ("down", {"append_only"})


def test_a_scheduler_that_fell_silent_is_down(client, beating, settings):
    with clock.fixed(clock.now() + settings.HEARTBEAT_LIMIT + timedelta(seconds=5)):
        assert parts(client) == ("down", {"scheduler"})


def test_a_scheduler_that_never_ran_is_down(client, db):
    assert parts(client) == ("down", {"scheduler"})


def test_ages_are_told_in_seconds_and_nothing_else(client, bo, settings):
    now = clock.now()
    heartbeat.beat(Pulse.TICK, now - timedelta(seconds=40))
    heartbeat.beat(Pulse.MAIL, now - timedelta(seconds=90))
    told = make.notice(bo, posted_at=now - timedelta(seconds=70))
    Delivery.objects.create(notice=told, channel="email", due_at=now)
    ages = client.get("/readyz").json()["seconds_since"]
    assert {name: round(age, -1) for name, age in ages.items()} == {"tick": 40, "oldest_unsent": 70, "last_mail": 90}
    Delivery.objects.update(state="sent")
    assert client.get("/readyz").json()["seconds_since"]["oldest_unsent"] is None


def test_a_service_without_mail_says_so_and_is_ready(client, beating, settings):
    assert client.get("/readyz").json()["mail"] == "mail is not set up"
    settings.MAIL_READY = True
    assert client.get("/readyz").json()["mail"] == "set up"
    assert parts(client) == ("up", set())


@pytest.mark.parametrize("address", ["/healthz", "/readyz"])
def test_health_is_read_only(client, address):
    assert client.post(address).status_code == 405
