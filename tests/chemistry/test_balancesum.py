"""Balances of a month, of the darkroom and of a container, their picture, and the notice of what went missing."""

from xml.etree import ElementTree

import pytest

from accounts.models import Notice
from chemistry.api.balancepicture import picture
from chemistry.commands import balancesum, level
from chemistry.science.loss import worth_telling
from tests.chemistry import brew
from tests.chemistry.behind import lived_once
from tests.chemistry.bench import ml
from tests.waste.pail import can, poured
from tests.waste.test_pickup import confirmed, ready

term = lived_once
pytestmark = pytest.mark.django_db
SVG = "{http://www.w3.org/2000/svg}"


def plain(answer):
    assert answer.status_code == 200, answer.content
    return {name: value["value"] for name, value in answer.json().items()}


def test_the_whole_darkroom_adds_up_to_nothing_missing_from_the_record(term, client_for):
    """Every movement has two ends, so that the difference is nothing (arithmetic)."""
    told = plain(client_for(term.bo).get("balance/darkroom"))
    assert told["difference"] == "0.0"
    assert float(told["made"]) > 0
    assert float(told["used"]) > float(told["returned"]) > 0


def test_a_month_before_anything_is_empty_and_one_that_is_no_month_is_refused(term, client_for):
    assert set(plain(client_for(term.bo).get("balance/darkroom?month=1999-01")).values()) == {"0.0"}
    for wrong in ("2026-13", "2026-1", "0000-01"):
        assert client_for(term.bo).get(f"balance/darkroom?month={wrong}").status_code == 400


def test_a_container_balances_through_a_pickup(client_for, bo, eli):
    held = can(bo)
    poured(bo, held, "250")
    confirmed(eli, ready(bo, held))
    poured(bo, can(bo), "40")
    told = plain(client_for(bo).get(f"containers/{held.public_id}/balance"))
    assert told == {"poured": "250.0", "found": "0.0", "collected": "250.0", "contents": "0.0", "difference": "0.0"}
    account = balancesum.of_time(bo.darkroom)
    assert (account.by_hand, account.collected) == (2900, 2500)


def test_the_picture_has_every_number_as_text_and_runs_nothing(term, client_for):
    answer = client_for(term.bo).get(f"balance.svg?batch={term.bath.batch.public_id}")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("image/svg+xml")
    root = ElementTree.fromstring(answer.content)
    words = [each.text for each in root.iter(f"{SVG}text")]
    assert {"3800.0 mL", "745.0 mL", "unaccounted"} <= set(words)
    assert client_for(term.bo).get("balance.svg").status_code == 200


def test_words_in_a_picture_are_escaped():
    root = ElementTree.fromstring(picture("<script>&\x00", [("a<b", 5)], [("\"c'", -15)]))
    assert not list(root.iter(f"{SVG}script"))
    assert {"a<b", "0.5 mL", "-1.5 mL"} <= {each.text for each in root.iter(f"{SVG}text")}


@pytest.mark.parametrize(
    ("missing", "had", "told"),
    [(2000, 10_000, False), (2001, 40_020, False), (2001, 40_000, True), (2001, 40_019, True), (-9000, 9000, False)],
)
def test_a_loss_is_told_above_both_bounds_only(missing, had, told):
    """5 % and 200 mL; both sides of each (arithmetic)."""
    assert worth_telling(missing, had, percent=5, volume=2000) is told


def test_when_a_batch_ends_with_much_of_it_missing_the_technicians_are_told_once(room, bo):
    drum = brew.drum_of(brew.released_batch(room))
    subject = f"batch:{drum.batch.public_id}"
    brew.do(level.read, bo, drum, measured=ml("300"))
    assert not Notice.objects.filter(kind="batch-unaccounted").exists()
    brew.do(level.read, bo, drum, measured=0)
    brew.do(level.read, bo, drum, measured=ml("500"))
    brew.do(level.read, bo, drum, measured=0)
    told = Notice.objects.filter(kind="batch-unaccounted", to=bo)
    assert [each.subject for each in told] == [subject]
    assert "3800.0 mL of its 3800.0 mL" in told.get().text
