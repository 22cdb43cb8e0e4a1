"""Settings: safe by default, loud when wrong, and secrets kept private."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from darkroom_service import environment
from darkroom_service.environment import database

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.mark.parametrize(("word", "value"), [("yes", True), ("TRUE", True), ("1", True), ("off", False), ("", False)])
def test_a_switch_reads_yes_and_no(monkeypatch, word, value):
    monkeypatch.setenv("SOME_SWITCH", word)
    assert environment.env_switch("SOME_SWITCH", default=not value) is value


def test_a_misspelt_switch_stops_the_start_with_its_name(monkeypatch):
    monkeypatch.setenv("DARKROOM_HTTPS", "ture")
    with pytest.raises(ImproperlyConfigured, match="DARKROOM_HTTPS"):
        environment.env_switch("DARKROOM_HTTPS", default=False)


@pytest.mark.parametrize("word", ["-1", "1.5", "x", "１"])
def test_a_count_that_is_none_stops_the_start_with_its_name(monkeypatch, word):
    monkeypatch.setenv("DARKROOM_PROXIES", word)
    with pytest.raises(ImproperlyConfigured, match="DARKROOM_PROXIES"):
        environment.env_count("DARKROOM_PROXIES", default=0)


def test_a_secret_is_made_once_and_only_its_owner_reads_it(tmp_path):
    path = tmp_path / "new" / "secret-key"
    first = environment.kept_secret(path)
    assert environment.kept_secret(path) == first
    assert len(first) > 50
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [file.name for file in path.parent.iterdir()] == ["secret-key"]


def test_the_demo_password_is_kept_from_the_first_start(tmp_path, monkeypatch):
    monkeypatch.setenv("DEMO_PASSWORD", "first words")
    assert environment.demo_password(tmp_path) == "first words"
    monkeypatch.setenv("DEMO_PASSWORD", "other words")
    assert environment.demo_password(tmp_path) == "first words"
    assert stat.S_IMODE((tmp_path / "demo-password").stat().st_mode) == 0o600


def test_a_demo_password_is_made_when_none_is_given(tmp_path, monkeypatch):
    monkeypatch.delenv("DEMO_PASSWORD", raising=False)
    assert len(environment.demo_password(tmp_path)) >= 10


def test_the_default_database_is_one_file_that_survives_a_power_cut(tmp_path):
    config = database("", tmp_path)
    assert config["NAME"] == str(tmp_path / "darkroom.sqlite3")
    assert config["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert "journal_mode=WAL" in config["OPTIONS"]["init_command"]
    assert "synchronous=FULL" in config["OPTIONS"]["init_command"]


def test_postgresql_keeps_its_connections_and_every_wait_has_an_end(tmp_path):
    config = database("postgres://u:p@db.example:5433/name?sslmode=require", tmp_path)
    assert (config["HOST"], config["PORT"], config["NAME"]) == ("db.example", 5433, "name")
    assert config["CONN_MAX_AGE"] is None
    assert config["CONN_HEALTH_CHECKS"] is True
    assert config["OPTIONS"]["sslmode"] == "require"
    assert "lock_timeout" in config["OPTIONS"]["options"]


def test_another_database_is_refused(tmp_path):
    with pytest.raises(ImproperlyConfigured, match="DATABASE_URL"):
        database("mysql://u:p@h/n", tmp_path)


def run(*command, **variables):
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("DARKROOM_", "DJANGO_"))}
    clean.pop("SECRET_KEY", None)
    clean.pop("DEBUG", None)
    return subprocess.run(
        [sys.executable, "-m", "darkroom_service", *command],
        env={**clean, **variables},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def test_a_production_start_passes_every_deployment_check(tmp_path):
    answer = run(
        *("check", "--deploy", "--fail-level", "WARNING"),
        DARKROOM_DATA=str(tmp_path),
        DARKROOM_HTTPS="yes",
        DARKROOM_HOSTS="darkroom.example.org",
    )
    assert answer.returncode == 0, answer.stderr


def test_a_secret_may_come_from_a_file_and_a_wrong_value_is_loud(tmp_path):
    (tmp_path / "key").write_text("from a file that is long enough to be a key, really\n")
    show = "from django.conf import settings; print(settings.SECRET_KEY[:11], settings.DEBUG)"
    good = run("shell", "--no-imports", "-c", show, DARKROOM_DATA=str(tmp_path), SECRET_KEY_FILE=str(tmp_path / "key"))
    assert good.stdout.strip().splitlines()[-1] == "from a file False", good.stderr
    bad = run("check", DARKROOM_DATA=str(tmp_path), DEBUG="perhaps")
    assert bad.returncode != 0
    assert "DEBUG says 'perhaps'" in bad.stderr


def test_every_answer_carries_the_guards_of_the_browser(client, db):
    response = client.get("/")
    assert response.status_code == 200
    policy = response["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["X-Frame-Options"] == "DENY"
    assert response["Referrer-Policy"] == "same-origin"
    assert "geolocation=()" in response["Permissions-Policy"]


def test_no_admin_site_is_installed(settings):
    assert "django.contrib.admin" not in settings.INSTALLED_APPS
