"""The sweep: what is due is told once, to whom it concerns, on the local day.

The days in these tests are counted by hand on a calendar. Changes of the clocks are those of the European rule (the
last Sundays of March and October, at 01:00 UTC), which stands in Directive 2000/84/EC; from memory.
"""

import os
import subprocess
import sys
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import DatabaseError

from accounts.acts import Role
from accounts.commands import darkroom as darkrooms
from accounts.commands import notice, topic
from accounts.commands.entry import Answer
from accounts.models import Notice, NoticeLead
from chemistry.commands import outlook, stop
from chemistry.commands import pack as packs
from chemistry.commands import proof as chemistry_proof
from chemistry.models import Pack, Vessel
from darkroom_service import clock, notices
from tests import make
from tests.barrier import at_once
from tests.chemistry import brew

MIXED = datetime(2026, 9, 1, 10, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture(autouse=True)
def _long_ago():
    """Everybody joins and is signed off before anything is mixed."""
    with clock.fixed(MIXED - timedelta(days=3)):
        yield


@pytest.fixture
def bottle(room, bo, cy):
    """A drum of MQ-borax stock, mixed on 31 August: full and tight it is good for six months, to 28 February 2027."""
    brew.released_batch(room, at=MIXED)
    return Vessel.objects.get(darkroom=room, contents__gt=0)


def berlin(day, hour=0, minute=0):
    return datetime.combine(date.fromisoformat(day), time(hour, minute), BERLIN).astimezone(UTC)


def swept(at, kind="vessel"):
    """Sweep, and return the rows written of kinds that begin so."""
    return {name: rows for name, rows in notices.sweep(at).items() if rows and name.startswith(kind)}


def set_room(admin, **changes):
    word = lambda _: Answer(200, {})  # noqa: E731
    darkrooms.edit(make.ask(admin, word=word), changes, unchanged=lambda _: None)


def told(kind):
    rows = Notice.objects.filter(kind=kind).order_by("pk").select_related("to__person")
    return [(row.to.person.name, str(row.due_on)) for row in rows]


def test_the_bottle_is_good_for_six_calendar_months(bottle):
    assert bottle.use_by == date(2027, 2, 28)


def test_it_is_told_from_the_first_minute_of_the_local_day_a_week_before(bottle):
    assert swept(berlin("2027-02-20", 23, 59)) == {}
    assert swept(berlin("2027-02-21", 0, 0)) == {"vessel-near-expiry": 1}
    assert told("vessel-near-expiry") == [("Bo Brandt", "2027-02-28")]


def test_a_second_sweep_writes_nothing_nor_does_one_with_the_clock_two_hours_back(bottle):
    at = berlin("2027-02-21", 1)
    assert swept(at)
    assert (swept(at), swept(at - timedelta(hours=2)), swept(at + timedelta(days=3))) == ({}, {}, {})


def test_past_its_date_it_is_told_once_more_as_past(bottle):
    swept(berlin("2027-02-28", 23, 59))
    assert swept(berlin("2027-03-01")) == {"vessel-expired": 1}
    row = Notice.objects.get(kind="vessel-expired")
    assert "was good until 2027-02-28" in row.text
    assert "empty it to waste" in row.text
    assert row.path == f"vessels/{bottle.public_id}"
    assert swept(berlin("2027-04-01")) == {}


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Asia/Kathmandu", "Pacific/Kiritimati", "America/St_Johns"])
def test_days_are_those_of_the_darkrooms_own_calendar(di, bottle, zone):
    set_room(di, zone=zone)
    day = make.refreshed(bottle).use_by
    midnight = datetime.combine(day - timedelta(days=7), time(), ZoneInfo(zone)).astimezone(UTC)
    assert swept(midnight - timedelta(seconds=1)) == {}
    assert swept(midnight) == {"vessel-near-expiry": 1}


@pytest.mark.parametrize(
    ("mixed", "first_utc"),
    [
        ("2026-10-01", "2027-03-24T23:00"),  # good to 1 April: a week before is still winter time, UTC+1
        ("2026-04-30", "2026-10-22T22:00"),  # good to 30 October, after the change: a week before is summer time, UTC+2
    ],
)
def test_a_week_is_seven_calendar_days_over_a_change_of_the_clocks(room, bo, cy, mixed, first_utc):
    done = datetime.fromisoformat(f"{mixed}T10:00+00:00")
    with clock.fixed(done - timedelta(days=10)):
        brew.released_batch(room, at=done + timedelta(hours=25))
    first = datetime.fromisoformat(f"{first_utc}+00:00")
    assert swept(first - timedelta(seconds=1)) == {}
    assert swept(first) == {"vessel-near-expiry": 1}


def test_a_darkroom_sets_its_own_lead(di, bottle, outsider):
    NoticeLead.objects.create(darkroom=outsider.darkroom, kind="vessel-near-expiry", lead=60)  # nobody else's concern
    notice.set_lead(make.ask(di, word=lambda row: Answer(200, {})), "vessel-near-expiry", lead=20)
    assert swept(berlin("2027-02-07", 23)) == {}
    assert swept(berlin("2027-02-08")) == {"vessel-near-expiry": 1}
    assert notices.still_due(Notice.objects.get(kind="vessel-near-expiry"))


def test_who_muted_a_kind_is_spared_until_they_unmute_it(bo, bottle):
    notice.mute(bo, "vessel-near-expiry")
    at = berlin("2027-02-21", 1)
    assert swept(at) == {}
    notice.unmute(bo, "vessel-near-expiry")
    assert swept(at) == {"vessel-near-expiry": 1}


def test_where_there_is_no_technician_the_instructor_is_told_and_then_the_admin(client_for, di, bo, cy, bottle):
    client_for(di).post(f"members/{bo.public_id}/departure")
    swept(berlin("2027-02-21", 1))
    assert told("vessel-near-expiry") == [("Cy Conrad", "2027-02-28")]
    client_for(di).post(f"members/{cy.public_id}/departure")
    swept(berlin("2027-03-01", 1))
    assert told("vessel-expired") == [("Di Dorn", "2027-02-28")]


def test_a_stopped_vessel_is_past_being_warned_of(bo, bottle):
    with clock.fixed(MIXED + timedelta(days=1)):
        brew.do(stop.stop, bo, bottle, reason="It smells wrong.")
    assert swept(berlin("2027-02-21", 1)) == {}


def test_a_members_own_bottle_is_told_to_them_alone(room, ada, bo, cy, bottle):
    Vessel.objects.filter(pk=bottle.pk).update(owner=ada)
    swept(berlin("2027-02-21", 1))
    assert told("vessel-near-expiry") == [("Ada Adler", "2027-02-28")]
    assert "your own bottle" in Notice.objects.get(kind="vessel-near-expiry").text


def test_a_vessel_that_has_done_four_fifths_is_told_once_for_its_filling(room, bo, bottle):
    """Common practice, no source: up to 10 rolls a litre with time compensation, so that 3.8 L do 38; 80 % is 30.4."""
    through, at = brew.line(room, developer=bottle), MIXED + timedelta(days=1)
    with clock.fixed(at):
        brew.develop(bo, through, 30, use="reuse", dilution="stock", tank="3800")
        assert swept(at) == {}
        brew.develop(bo, through, 1, use="reuse", dilution="stock", tank="3800")
        assert swept(at) == {"vessel-near-capacity": 1}
        brew.develop(bo, through, 1, use="reuse", dilution="stock", tank="3800")
    assert "has done 81 %" in Notice.objects.get(kind="vessel-near-capacity").text  # 31 of 38
    assert swept(at + timedelta(days=3)) == {}


def test_a_request_nobody_answers_is_told_to_those_who_may(room, bo, eli, cy):
    set_room(brew.staff(room, Role.ADMIN), second_person_mixing="required")
    brew.requested_batch(room)  # by Bo
    at = clock.now()
    assert swept(at + timedelta(days=1), "batch") == {}
    assert swept(at + timedelta(days=2), "batch") == {"batch-to-approve": 2}
    assert {name for name, _ in told("batch-to-approve")[-2:]} == {"Eli Ernst", "Cy Conrad"}
    assert swept(at + timedelta(days=9), "batch") == {}


def test_a_rested_batch_nobody_releases_is_told_two_days_after_its_rest(room, bo, cy):
    made = brew.mixed_batch(room)
    over = make.refreshed(made).rest_until
    assert swept(over + timedelta(days=1), "batch") == {}
    assert swept(over + timedelta(days=2), "batch") == {"batch-to-release": 2}


def test_packs_are_told_by_their_date_once_for_a_formula(room, bo):
    for _ in range(3):
        Pack.objects.filter(pk=brew.pack(room).pk).update(best_before=date(2027, 6, 30))
    assert swept(berlin("2027-04-30", 23), "pack") == {}
    assert swept(berlin("2027-05-01"), "pack") == {"pack-near-date": 1}
    assert "(3) are good until 2027-06-30" in Notice.objects.get(kind="pack-near-date").text
    assert swept(berlin("2027-07-01"), "pack") == {"pack-past-date": 1}


def test_packs_that_run_low_are_told_after_the_last_but_one_is_opened(room, bo, cy):
    brew.pack(room)
    brew.pack(room)
    assert swept(clock.now(), "pack") == {}
    brew.mixed_batch(room)  # receives and opens one of its own: two are left
    assert swept(clock.now() + timedelta(hours=2), "pack") == {}
    brew.do(packs.discard, bo, Pack.objects.filter(state="sealed").first(), reason="Torn.")
    assert swept(clock.now() + timedelta(hours=2), "pack") == {"pack-low": 1}
    assert "left: 1." in Notice.objects.get(kind="pack-low").text


def test_an_old_data_sheet_is_told_until_a_newer_one_comes(room, bo):
    old = brew.pack(room)
    Pack.objects.filter(pk=old.pk).update(sheet_revision=date(2023, 9, 30))
    assert swept(berlin("2026-09-28", 12), "sheet") == {}
    assert swept(berlin("2026-09-29"), "sheet") == {"sheet-old": 1}  # 1095 days after 30 September 2023
    newer = brew.pack(room)
    Pack.objects.filter(pk=newer.pk).update(sheet_revision=date(2026, 1, 1))
    Notice.objects.all().delete()
    assert swept(berlin("2026-09-29"), "sheet") == {}


def test_a_sign_off_that_ends_is_told_to_its_holder_and_the_instructors(bo, cy):
    make.signed_off(cy, bo, "powder-handling", expires_on=date(2026, 12, 31))
    assert swept(berlin("2026-11-30", 23, 59), "sign-off") == {}
    assert swept(berlin("2026-12-01"), "sign-off") == {"sign-off-expiring": 2}
    assert sorted(told("sign-off-expiring")) == [("Bo Brandt", "2026-12-31"), ("Cy Conrad", "2026-12-31")]
    texts = {row.to_id: row.text for row in Notice.objects.filter(kind="sign-off-expiring")}
    assert texts[bo.pk].startswith("Your sign-off in Powder handling counts until 2026-12-31.")
    assert "Bo" not in texts[cy.pk]  # whose it is stands behind the link


def test_a_sign_off_that_is_renewed_is_not_warned_of(bo, cy):
    make.signed_off(cy, bo, "powder-handling", expires_on=date(2026, 12, 31))
    make.signed_off(cy, bo, "powder-handling", expires_on=date(2027, 6, 30))
    assert swept(berlin("2026-12-15"), "sign-off") == {}


def test_a_new_version_of_a_topic_is_warned_of_before_it_ends_earlier_sign_offs(bo, cy):
    (row,) = make.signed_off(cy, bo, "ppe")
    topic.edit(make.ask(cy), row.topic, unchanged=lambda _: None, text="New gloves.", grace_days=60)
    last = clock.now().astimezone(BERLIN).date() + timedelta(days=60)
    early = datetime.combine(last - timedelta(days=30), time(), BERLIN)
    assert swept(early - timedelta(seconds=1), "sign-off") == {}
    assert swept(early, "sign-off") == {"sign-off-stale": 3}  # Bo, and Cy as holder and for Bo's
    assert ("Bo Brandt", str(last)) in told("sign-off-stale")


def test_the_queries_of_a_sweep_do_not_grow_with_what_is_due(room, bo, cy, bottle, django_assert_max_num_queries):
    brew.released_batch(room, at=MIXED)
    with django_assert_max_num_queries(2 + 10):  # zones, leads, jit, probe, one kind and its delivery
        assert swept(berlin("2027-02-21", 1)) == {"vessel-near-expiry": 2}


def test_batches_are_asked_for_by_name_of_no_other_darkroom(outsider, room, bo, bottle):
    make.member(outsider, Role.TECHNICIAN, name="Tess Thorn")
    swept(berlin("2027-02-21", 1))
    assert [name for name, _ in told("vessel-near-expiry")] == ["Bo Brandt"]


def test_one_kind_at_fault_keeps_no_other_from_being_told(bo, bottle, monkeypatch):
    broken = notices.Due("broken", "SELECT nothing FROM nowhere", "TRUE", "nowhere", "TRUE")
    monkeypatch.setattr(notices, "KINDS", (broken, *notices.KINDS))
    with pytest.raises(DatabaseError):
        notices.sweep(berlin("2027-02-21", 1))
    assert told("vessel-near-expiry") == [("Bo Brandt", "2027-02-28")]


def test_a_darkroom_is_looked_ahead_for_once_on_each_of_its_days(room, bo, cy, monkeypatch):
    formula = brew.published(room).formula
    short = outlook.Shortage(formula, outlook.MIX, date(2026, 12, 1), "900 mL are left and 500 mL are used in a week.")
    asked = []
    monkeypatch.setattr(outlook, "shortages", lambda where, at: asked.append(where) or [short])
    first = berlin("2026-11-25", 8)
    assert (notices.look_ahead(first), notices.look_ahead(first + timedelta(hours=9))) == (1, 0)
    assert notices.look_ahead(berlin("2026-11-26")) == 0  # looked again on a new day, and told not a week ago
    assert asked == [room, room]
    assert notices.look_ahead(berlin("2026-12-03")) == 0  # the same thing for the same day is told once
    row = Notice.objects.get(kind="stock-to-make")
    assert (row.to, row.due_on) == (bo, date(2026, 12, 1))
    assert row.text.endswith("900 mL are left and 500 mL are used in a week.")


def test_the_dates_kept_for_notices_are_proved(bottle):
    assert list(chemistry_proof.differences()) == []
    Vessel.objects.filter(pk=bottle.pk).update(use_by=date(2030, 1, 1), load_limit=7)
    first, second = chemistry_proof.differences()
    assert "good until 2030-01-01, its history says 2027-02-28" in first
    assert "can do 7 load" in second


@pytest.mark.postgres
def test_sweeps_at_once_write_each_row_once(committed_room):
    room = committed_room.darkroom
    brew.staff(room)
    brew.released_batch(room, at=MIXED)
    at = berlin("2027-02-21", 1)
    at_once(*[lambda: notices.sweep(at)] * 4)
    assert Notice.objects.filter(darkroom=room, kind="vessel-near-expiry").count() == 1


@pytest.mark.postgres
def test_the_measurement_runs_and_both_sides_find_the_same():
    script = [sys.executable, "-m", "darkroom_service", "bench_sweep", "--vessels", "500"]
    # A database of its own, named apart from the one these tests run in.
    url = f"{os.environ['DATABASE_URL']}_bench"
    done = subprocess.run(script, env={**os.environ, "DATABASE_URL": url}, capture_output=True, text=True, check=True)
    assert "(rows - all due: plain statement: 75 and sweep: 75)" in done.stdout
    assert "(rows - all told: counting SELECT: 75 and sweep: 0)" in done.stdout
