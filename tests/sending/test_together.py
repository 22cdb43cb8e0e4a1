"""Several workers on one person's mail at once: a digest is still one mail, and every notice is in exactly one."""

from collections import Counter
from datetime import datetime, timedelta
from functools import partial

import pytest

from accounts.models import Delivery, Preference
from accounts.sending.run import deliver_one
from darkroom_service import clock
from tests import make
from tests.barrier import at_once
from tests.sending.conftest import with_address

ROUNDS, NOTICES, WORKERS = 5, 6, 4


def _deliver_in(at: datetime) -> int:
    """Send what is due at an instant; a held clock is each thread's own."""
    with clock.fixed(at):
        count = 0
        while deliver_one():
            count += 1
        return count


@pytest.mark.postgres
def test_a_digest_is_one_mail_with_four_workers_at_it(committed_room, mailoutbox):
    for number in range(ROUNDS):
        reader = with_address(make.member(committed_room), f"reader{number}@example.org")
        Preference.objects.create(membership=reader, mail="daily", digest_hour=7)
        told = [make.notice(reader, subject=f"digest:{n}", text=f"Digest, number {n}.") for n in range(NOTICES)]
        Delivery.objects.filter(notice__in=told).update(due_at=clock.now())
        mailoutbox.clear()
        at_once(*[partial(_deliver_in, clock.now() + timedelta(days=2))] * WORKERS)
        mine = [mail for mail in mailoutbox if mail.to == [reader.person.email]]
        said = Counter(each.text for each in told for mail in mine if each.text in mail.body)
        assert len(mine) == 1
        assert set(said.values()) == {1}
        assert len(said) == NOTICES
        assert set(Delivery.objects.filter(notice__in=told).values_list("state", flat=True)) == {"sent"}
