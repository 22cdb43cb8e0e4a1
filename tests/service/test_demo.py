"""The demo: it loads, whole, the same each time, goes on after a break, and what it tells people to try works."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction

from accounts.commands import entry
from accounts.models import Darkroom, Entry
from chemistry.models import Batch, CheckIn, Pack, TraySession, Vessel
from darkroom_service.demo.stage import SLUG
from darkroom_service.management import greeting
from tests.conftest import Client
from tests.proof import differences
from waste.models import Container

PASSWORD = "wet prints on the line"
LAST_DAY = date(2026, 11, 20)
LABELLED = (Vessel, Batch, Pack, Container)


@contextmanager
def afterwards_undone() -> Iterator[None]:
    """Keep whatever is done out of the database in the end, though every command commits for all it knows."""
    around = transaction.atomic()
    around._from_testcase = True  # as the framework's own test case does
    with around:
        yield
        transaction.set_rollback(True)


@pytest.fixture
def load(settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., dict[str, Any]]:
    """Return a way to load the demo into a data folder of its own; it returns what is noted for the greeting."""
    settings.DATA = tmp_path
    monkeypatch.setenv("DEMO_PASSWORD", PASSWORD)

    def loaded(**options: Any) -> dict[str, Any]:
        call_command("demo", **options)
        note: dict[str, Any] = json.loads((tmp_path / "demo.json").read_text())
        return note

    return loaded


def labels(note: dict[str, Any]) -> dict[str, str]:
    """Return the label of everything in the demo that has one, by its name in the play."""
    known = {str(row.public_id): row.code for model in LABELLED for row in model.objects.filter(darkroom__slug=SLUG)}
    return {name: known[thing] for name, thing in note["things"].items() if thing in known}


def record() -> list[tuple[Any, ...]]:
    """Return all that was ever done in the demo, in order."""
    return list(Entry.objects.filter(darkroom__slug=SLUG).order_by("seq").values_list("act", "key", "occurred_at"))


def test_it_loads_a_term_of_history_that_its_ledgers_bear_out(db, load):
    load()
    room = Darkroom.objects.get(slug=SLUG)
    assert differences(room) == []
    assert room.memberships.count() == 8
    assert CheckIn.objects.filter(darkroom=room).count() > 10
    assert TraySession.objects.filter(darkroom=room).exclude(closed_at=None).exists()
    states = set(Vessel.objects.filter(darkroom=room).values_list("state", flat=True))
    assert {"ready", "stopped", "emptied"} <= states
    assert Batch.objects.filter(darkroom=room, state="requested").count() == 1, "something waits for approval"


def test_it_is_the_same_each_time(db, load, settings):
    told = []
    for _ in range(2):
        with afterwards_undone():
            note = load(today=LAST_DAY)
            told.append((labels(note), record()))
            (settings.DATA / "demo.json").unlink()
    assert told[0] == told[1]
    assert len(told[0][0]) > 30


def test_a_second_load_does_nothing_and_does_it_at_once(db, load, django_assert_max_num_queries):
    load()
    before = record()
    with django_assert_max_num_queries(2):
        load()
    assert record() == before


def test_a_load_whose_note_was_lost_writes_the_note_and_nothing_else(db, load, settings):
    note, before = load(), record()
    (settings.DATA / "demo.json").unlink()
    assert load() == note
    assert record() == before


class Break(Exception):
    """The power went out."""


def breaks_in(act: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the power go out in the middle of an act, when its rows are written but not its entry."""
    settle, done = entry.settle, iter(range(1, act + 1))

    def settled(*args: Any) -> Any:
        if next(done, None) == act:
            raise Break
        return settle(*args)

    monkeypatch.setattr(entry, "settle", settled)


@pytest.mark.parametrize("act", [4, 40, 80, 120])
def test_a_load_that_broke_off_goes_on_where_it_stopped(db, load, settings, act):
    with afterwards_undone():
        whole = load(today=LAST_DAY)
        expected = (labels(whole), record())
    (settings.DATA / "demo.json").unlink()
    with pytest.MonkeyPatch.context() as patch:
        breaks_in(act, patch)
        with pytest.raises(Break):
            load(today=LAST_DAY)
    written = record()
    assert written == expected[1][: len(written)]
    assert act - 1 <= len(written) <= act
    note = load(today=LAST_DAY)
    assert (labels(note), record()) == expected
    assert differences(Darkroom.objects.get(slug=SLUG)) == []


def test_the_four_logins_work_and_the_first_thing_to_try_has_nothing_against_it(db, load, settings):
    note = load()
    voices = {}
    for login in greeting.LOGINS:
        voices[login] = Client()
        told = {"username": login, "password": PASSWORD, "name": "first try"}
        answer = voices[login].post("/api/v1/tokens", told)
        assert answer.status_code == 201, answer.json()
        voices[login].credentials(HTTP_AUTHORIZATION=f"Token {answer.json()['token']}")
        assert voices[login].get(f"/api/v1/darkrooms/{SLUG}").status_code == 200
    assert Client().post("/api/v1/tokens", told | {"password": "guessed"}).status_code == 401
    answer = voices["member"].post(f"/api/v1/darkrooms/{note['darkroom']}/check-ins", note["check_in"])
    assert answer.status_code == 201, answer.json()
    assert answer.json()["flags"] == []
    said = greeting.text("http://127.0.0.1:8000", settings.DATA, PASSWORD)
    assert json.dumps(note["check_in"]) in said
    assert PASSWORD in said
