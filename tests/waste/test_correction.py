"""What a pickup took is told late or corrected: what was poured in since stays, and so does what was done since."""

from datetime import timedelta

import pytest

from darkroom_service import clock
from darkroom_service.refusal import Clash
from tests import make
from tests.proof import differences
from tests.waste.pail import can, do, ml, poured
from tests.waste.test_pickup import confirmed, ready
from waste.commands import confirming, container
from waste.commands.confirming import Left
from waste.commands.pickup import Item

pytestmark = pytest.mark.django_db


def corrected(who, row, *left):
    return do(confirming.correct, who, row, left=list(left), reason="Weighed at the site")


def test_a_late_confirmation_leaves_what_was_poured_in_after_it(bo, eli):
    held = can(bo, at=clock.now() - timedelta(days=3))
    poured(bo, held, "250", at=clock.now() - timedelta(days=2))
    row = ready(bo, Item(held.public_id, stays=True))
    poured(bo, held, "50")
    gone = confirmed(eli, row, at=clock.now() - timedelta(days=1))
    assert (gone.flags, gone.collections.get().volume, make.refreshed(held).contents) == ([], ml("250"), ml("50"))
    assert differences(bo.darkroom) == []


def test_a_correction_leaves_what_was_poured_in_since(bo, eli):
    held = can(bo)
    poured(bo, held, "250")
    gone = confirmed(eli, ready(bo, Item(held.public_id, stays=True)))
    poured(bo, held, "50")
    weighed = corrected(eli, gone, Left(held.public_id, mass_g=270))
    standing = weighed.collections.get(reverses=None, reversed_by=None)
    assert (standing.volume, standing.found, make.refreshed(held).contents) == (ml("250"), 0, ml("50"))
    more = corrected(eli, gone, Left(held.public_id, ml("260"), emptied=True))
    assert (more.flags, make.refreshed(held).contents) == (["pickup.more_than_recorded"], ml("50"))
    assert differences(bo.darkroom) == []


def test_a_correction_touches_no_state_that_came_about_since(bo, eli):
    stays, back = can(bo), can(bo)
    for each in (stays, back):
        poured(bo, each, "250")
    gone = confirmed(eli, ready(bo, Item(stays.public_id, stays=True), back))
    poured(bo, stays, "10", stream=None)  # nobody knows what it was: quarantined
    do(container.reopen, bo, back, reason="It came back washed")
    corrected(eli, gone, Left(stays.public_id, mass_g=270), Left(back.public_id, mass_g=271))
    assert (make.refreshed(stays).state, make.refreshed(back).state) == ("quarantined", "open")


def test_a_container_washed_since_was_empty_whatever_a_correction_says(bo, eli):
    held = can(bo)
    poured(bo, held, "250")
    gone = confirmed(eli, ready(bo, Item(held.public_id, stays=True)))
    do(container.wash, bo, held, how="Three rinses, into the rinse can")
    with pytest.raises(Clash, match="washed") as refused:
        corrected(eli, gone, Left(held.public_id, 0))
    assert refused.value.code == "container.washed_since"
    corrected(eli, gone, Left(held.public_id, ml("240"), emptied=True))
    assert make.refreshed(held).contents == 0
    assert differences(bo.darkroom) == []


def test_a_pour_made_after_a_pickup_is_taken_back_though_the_pickup_was_corrected_later(bo, eli):
    from waste.commands import fill

    held = can(bo)
    poured(bo, held, "250")
    gone = confirmed(eli, ready(bo, Item(held.public_id, stays=True)))
    later = poured(bo, held, "50")
    corrected(eli, gone, Left(held.public_id, mass_g=270))
    do(fill.reverse, bo, later, reason="Written twice")
    assert make.refreshed(held).contents == 0
    assert differences(bo.darkroom) == []


def test_the_log_of_the_day_shows_what_really_left_once(bo, eli):
    from waste.commands.log import drawn_up

    then = clock.now() - timedelta(days=2)
    held = can(bo, at=then - timedelta(days=2))
    poured(bo, held, "250", at=then - timedelta(days=1))
    gone = confirmed(eli, ready(bo, Item(held.public_id, stays=True)), at=then)
    corrected(eli, gone, Left(held.public_id, ml("240"), emptied=True))
    day = drawn_up(bo.darkroom, first=None, last=then.date(), as_of=None)
    assert sum(line.left for line in day.lines()) == ml("240")


def test_every_notice_that_waste_posts_has_a_title_and_can_be_spared(bo, eli):
    from darkroom_service.due import KINDS
    from waste.science.fill import ACKNOWLEDGED, REASONS

    posted = {flag.replace(".", "-").replace("_", "-") for flag in REASONS} | {"pickup-differs", "drain-flagged"}
    assert ACKNOWLEDGED not in REASONS  # lets a pour be, so nobody is told
    assert posted <= KINDS.keys()
