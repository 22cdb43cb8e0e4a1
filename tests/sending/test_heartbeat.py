"""A schedule that stands still is told to admins where they look, once for each silence."""

from datetime import timedelta

import pytest

from accounts.commands import heartbeat
from accounts.models import Pulse
from darkroom_service import clock

pytestmark = pytest.mark.django_db


def told(client):
    return [row for row in client.get("notices").json()["items"] if row["kind"] == "tick-stale"]


def test_an_admin_who_reads_the_inbox_learns_of_a_silence_once(di, bo, client_for):
    admin, now = client_for(di), clock.now()
    heartbeat.beat(Pulse.TICK, now)
    assert not told(admin)
    with clock.fixed(now + timedelta(minutes=10)):
        assert len(told(admin)) == 1
        assert len(told(admin)) == 1
        assert not told(client_for(bo))
    with clock.fixed(now + timedelta(days=2)):
        assert len(told(admin)) == 1, "one silence, one notice"
        heartbeat.beat(Pulse.TICK, clock.now())
    with clock.fixed(now + timedelta(days=3)):
        assert len(told(admin)) == 2


def test_a_service_that_never_ticked_is_told_of_too(di, client_for):
    admin = client_for(di)
    assert not told(admin)
    with clock.fixed(clock.now() + timedelta(minutes=10)):
        assert len(told(admin)) == 1
