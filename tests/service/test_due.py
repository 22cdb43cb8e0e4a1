"""Every kind the sweep finds comes due on its day, to whom it concerns, in words that say what, by when and what next.

Days are counted by hand on a calendar. How early each is told is the service's own proposal (no source); that a US
generator has 180 days and others here a year is read from the rules of accumulation, and checked in the waste tests.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from accounts.commands import delivery, notice, topic
from accounts.models import Delivery, Notice, Preference
from chemistry.commands import outlook
from chemistry.models import Pack, Vessel
from darkroom_service import clock, notices
from tests import make
from tests.chemistry import brew
from tests.sending.conftest import with_address
from tests.waste import pail
from tests.waste.test_pickup import confirmed, planned, ready

START = datetime(2026, 8, 29, 10, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
BO, CY, DI = "Bo Brandt", "Cy Conrad", "Di Dorn"


@dataclass
class World:
    """The darkroom and its people."""

    di: object
    bo: object
    cy: object

    @property
    def room(self):
        return self.bo.darkroom


@pytest.fixture(autouse=True)
def _long_ago():
    """Everybody joins and is signed off before anything is mixed."""
    with clock.fixed(START - timedelta(days=3)):
        yield


@pytest.fixture
def world(di, bo, cy):
    with clock.fixed(START):
        yield World(di, bo, cy)


def bottle(world, **changes):
    """A drum of MQ-borax stock mixed on 28 August: full and tight it is good for six months, to 28 February."""
    brew.released_batch(world.room)
    Vessel.objects.filter(darkroom=world.room, contents__gt=0).update(**changes)


def packs(world, **changes):
    Pack.objects.filter(pk=brew.pack(world.room).pk).update(**changes)


def near_full(world):
    pail.poured(world.bo, pail.can(world.bo), "7200")  # of the 9 L that a 10 L can is filled to


def outdated(world):
    (row,) = make.signed_off(world.cy, world.bo, "ppe")
    topic.edit(make.ask(world.cy), row.topic, unchanged=lambda _: None, text="New gloves.", grace_days=60)


def gone_without_papers(world):
    confirmed(world.cy, ready(world.bo, pail.can(world.bo)))


@dataclass(frozen=True)
class Case:
    """What makes a kind due, the first local day it is told (None: at once), who is told, and what it says."""

    arrange: Callable
    first: str | None
    told: list[str]
    words: tuple[str, str]


CASES = {
    "batch-to-approve": Case(
        lambda w: brew.requested_batch(w.room), "2026-08-31", [BO, CY],
        ("has waited for approval since 2026-08-29", "Approve or reject it"),
    ),
    "batch-to-release": Case(
        lambda w: brew.mixed_batch(w.room, at=START), "2026-09-01", [BO, CY],  # it rests for a day
        ("ready for release since 2026-08-30", "release or withdraw it"),
    ),
    "container-near-full": Case(near_full, None, [BO], ("is filled to 80 %", "Have an empty one ready")),
    "container-time": Case(
        lambda w: pail.poured(w.bo, pail.can(w.bo)), "2027-07-30", [BO, DI],  # 365 days are over on 29 August 2027
        ("has held waste since 2026-08-29", "Plan a pickup now"),
    ),
    "pack-low": Case(lambda w: brew.mixed_batch(w.room), None, [BO], ("left: 0.", "Order more")),
    "pack-near-date": Case(
        lambda w: packs(w, best_before=date(2027, 6, 30)), "2027-05-01", [BO],
        ("are good until 2027-06-30", "Mix them before the others"),
    ),
    "pack-past-date": Case(
        lambda w: packs(w, best_before=date(2027, 6, 30)), "2027-07-01", [BO],
        ("were good until 2027-06-30", "or discard them"),
    ),
    "paperwork-missing": Case(
        gone_without_papers, "2026-09-21", [BO, DI], ("is due by 2026-09-28", "Ask the carrier for it")
    ),
    "pickup-due": Case(
        lambda w: planned(w.bo, pail.can(w.bo)), "2026-11-24", [BO, DI],
        ("is planned for 2026-12-01", "Prepare its containers and papers"),
    ),
    "sheet-old": Case(
        lambda w: packs(w, sheet_revision=date(2023, 9, 30)), "2026-09-29", [BO],  # 1095 days
        ("is of 2023-09-30", "Ask the supplier"),
    ),
    "sign-off-expiring": Case(
        lambda w: make.signed_off(w.cy, w.bo, "powder-handling", expires_on=date(2026, 12, 31)), "2026-12-01",
        [BO, CY], ("counts until 2026-12-31", "enew it before then"),
    ),
    # The grace of 60 days ends on 28 October; Cy is told as holder of one and as who may renew Bo's.
    "sign-off-stale": Case(outdated, "2026-09-28", [BO, CY, CY], ("has a new version", "sign")),
    "test-due": Case(
        lambda w: bottle(w, use="replenished", use_by=date(2026, 10, 1)), "2026-10-01", [BO],
        ("is due for its control strip on 2026-10-01", "Run a strip"),
    ),
    "vessel-expired": Case(bottle, "2027-03-01", [BO], ("was good until 2027-02-28", "empty it to waste")),
    "vessel-near-capacity": Case(
        lambda w: bottle(w, load=31, load_limit=38), None, [BO], ("has done 81 %", "Have the next one")
    ),
    "vessel-near-expiry": Case(bottle, "2027-02-21", [BO], ("is good until 2027-02-28", "Use it up first")),
}  # fmt: skip
ALL = [due.kind for due in notices.KINDS]


def midnight(day):
    return datetime.combine(date.fromisoformat(day), time(), BERLIN).astimezone(UTC)


def swept(at, kind):
    return notices.sweep(at).get(kind, 0)


@pytest.mark.parametrize("kind", ALL)
def test_each_kind_comes_due_on_its_day_to_whom_it_concerns(world, kind):
    case = CASES[kind]
    if case.first is None:
        assert swept(START, kind) == 0
        case.arrange(world)
        at = clock.now() + timedelta(hours=1)
    else:
        case.arrange(world)
        at = midnight(case.first)
        assert swept(at - timedelta(seconds=1), kind) == 0
    assert swept(at, kind) == len(case.told)
    rows = (
        Notice.objects.filter(kind=kind, posted_at=at)
        .select_related("to__person", "darkroom")
        .order_by("to__person__name")
    )
    assert [row.to.person.name for row in rows] == case.told
    for row in rows:
        assert all(said in row.text for said in case.words), row.text
        assert (row.path.split("/")[-1], row.safety) == (row.subject.split(":")[-1], kind == "container-time")
        assert notices.still_due(row)
    assert swept(at, kind) == 0
    assert swept(at - timedelta(hours=2), kind) == 0


def test_no_case_is_of_a_kind_that_is_not_swept():
    assert sorted(ALL) == sorted(CASES)


def test_who_muted_looking_ahead_is_spared_until_they_unmute_it(world, monkeypatch):
    formula = brew.published(world.room).formula
    short = outlook.Shortage(formula, outlook.ORDER, date(2026, 9, 20), "One pack is left, two are used in a week.")
    monkeypatch.setattr(outlook, "shortages", lambda where, at: [short])
    notice.mute(world.bo, "stock-to-make")
    assert notices.look_ahead(midnight("2026-09-10")) == 0
    notice.unmute(world.bo, "stock-to-make")
    assert notices.look_ahead(midnight("2026-09-11")) == 1
    row = Notice.objects.get(kind="stock-to-make")
    assert row.to == world.bo
    assert "should be ordered by 2026-09-20: order packs now" in row.text


@pytest.fixture
def told(world, settings):
    """The mail, not yet taken up, that a bottle is near its date."""
    settings.MAIL_READY = True
    with_address(world.bo)
    bottle(world)
    Delivery.objects.all().delete()
    at = midnight("2027-02-21")
    assert swept(at, "vessel-near-expiry") == 1
    with clock.fixed(at + timedelta(hours=12)):
        yield Delivery.objects.get(notice__kind="vessel-near-expiry")


def test_a_mail_whose_cause_is_gone_is_not_sent(told):
    Vessel.objects.update(contents=0)
    assert delivery.claim() is None
    row = make.refreshed(told)
    assert (row.state, row.error) == ("dropped", "What it says is no longer so.")


def test_a_mail_whose_kind_is_muted_meanwhile_is_not_sent(told):
    notice.mute(told.notice.to, "vessel-near-expiry")
    assert delivery.claim() is None
    assert make.refreshed(told).state == "dropped"


def test_a_mail_whose_cause_stands_is_sent_even_by_a_clock_that_would_not_tell_it_now(told):
    with clock.fixed(midnight("2027-03-05")):
        assert delivery.claim() == told


def test_in_a_digest_what_is_gone_is_left_out(world, settings):
    settings.MAIL_READY = True
    with_address(world.bo)
    bottle(world)
    Delivery.objects.all().delete()
    Preference.objects.create(membership=world.bo, mail="daily", digest_hour=7)
    at = midnight("2027-02-21")
    lead = make.notice(world.bo, text="Approved.", posted_at=at).deliveries.get()
    assert swept(at, "vessel-near-expiry") == 1
    Vessel.objects.update(contents=0)
    with clock.fixed(at + timedelta(hours=12)):
        assert delivery.contents(delivery.claim()) == [lead]
    assert Delivery.objects.get(notice__kind="vessel-near-expiry").state == "dropped"
