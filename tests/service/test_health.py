"""Alive and ready: up or down only."""

from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from accounts import triggers
from darkroom_service import clock, health


@pytest.fixture
def beating(db):
    health.record_heartbeat(clock.now())


def parts(client):
    response = client.get("/readyz")
    body = response.json()
    assert response.status_code == (200 if body["status"] == "up" else 503)
    assert set(body) == {"status", "checks"}
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


def test_a_scheduler_that_never_ran_is_down(client, db, settings, tmp_path, monkeypatch):
    monkeypatch.setattr(health, "last_heartbeat", lambda: None)
    assert parts(client) == ("down", {"scheduler"})


def test_a_heartbeat_is_read_back_as_written(db):
    at = clock.now()
    health.record_heartbeat(at)
    assert health.last_heartbeat() == at


@pytest.mark.parametrize("address", ["/healthz", "/readyz"])
def test_health_is_read_only(client, address):
    assert client.post(address).status_code == 405
