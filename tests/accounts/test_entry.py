from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.acts import Act, Role
from accounts.commands import membership
from accounts.commands.entry import Answer, Work, command, roles_at
from accounts.models import Entry, Head, Membership
from darkroom_service import clock
from darkroom_service.refusal import Clash, Malformed, NotAllowed, NotFound, Unworkable
from tests import make


def word(work):
    return Answer(201, {"seq": work.seq, "late": work.late, "for": str(work.whom.public_id)}, "/somewhere")


@command(Act.VESSEL_REPLENISH)
def report(work: Work) -> Work:
    """Report something, as a member may and an admin may not."""
    return work


@command(Act.FORMULA_DRAFT)
def draft(work: Work) -> Work:
    """Do something that is no report, as a technician may."""
    return work


@command(Act.VESSEL_REPLENISH)
def clash(work: Work) -> Work:
    """Refuse after writing."""
    Membership.objects.filter(pk=work.by.pk).update(version=99)
    raise Clash("toy.refused", "No.")


def test_an_act_is_one_entry_and_the_head_moves_with_it(ada):
    before = Head.objects.get(darkroom=ada.darkroom)
    receipt = report(make.ask(ada, word=word, said="a" * 64))
    entry = Entry.objects.get(darkroom=ada.darkroom, seq=receipt.seq)
    after = make.refreshed(before)
    assert (receipt.seq, after.seq, after.hash) == (before.seq + 1, before.seq + 1, entry.hash)
    assert (entry.by, entry.act, entry.digest, entry.status) == (ada, Act.VESSEL_REPLENISH, "a" * 64, 201)
    assert (entry.previous_hash, entry.location) == (before.hash, "/somewhere")


def test_a_key_used_again_for_the_same_thing_tells_the_same_answer_and_writes_nothing(ada):
    same = {"word": word, "key": uuid4(), "said": "a" * 64}
    first, again = report(make.ask(ada, **same)), report(make.ask(ada, **same))
    assert (again.answer, again.seq, again.replayed) == (first.answer, first.seq, True)
    assert Head.objects.get(darkroom=ada.darkroom).seq == first.seq


def test_a_key_used_again_for_another_thing_is_refused(ada):
    key = uuid4()
    report(make.ask(ada, word=word, key=key))
    with pytest.raises(Unworkable, match="used before"):
        report(make.ask(ada, word=word, key=key))


def test_the_same_key_of_another_member_is_another_key(ada, bo):
    key = uuid4()
    assert not report(make.ask(ada, word=word, key=key)).replayed
    assert not report(make.ask(bo, word=word, key=key)).replayed


def test_who_lost_the_right_is_not_told_the_old_answer(di, bo):
    same = {"word": word, "key": uuid4(), "said": "a" * 64}
    draft(make.ask(bo, **same))
    membership.edit(make.ask(di), bo, unchanged=lambda _: None, roles=frozenset({Role.MEMBER}))
    with pytest.raises(NotAllowed):
        draft(make.ask(bo, **same))


def test_a_refusal_leaves_no_entry_no_row_and_does_not_use_the_key_up(ada):
    key, before = uuid4(), Entry.objects.count()
    with pytest.raises(Clash):
        clash(make.ask(ada, key=key))
    assert (Entry.objects.count(), make.refreshed(ada).version) == (before, 1)
    assert not report(make.ask(ada, word=word, key=key)).replayed


def test_to_an_outsider_the_darkroom_does_not_exist(ada, outsider):
    ask = make.ask(outsider, word=word)
    foreign = type(ask)(ada.darkroom_id, outsider.person_id, ask.key, ask.digest, word=word)
    with pytest.raises(NotFound):
        report(foreign)


def test_a_time_more_than_two_minutes_ahead_is_refused(ada):
    now = clock.now()
    with clock.fixed(now):
        report(make.ask(ada, word=word, occurred_at=now + timedelta(minutes=2)))
        with pytest.raises(Malformed) as refused:
            report(make.ask(ada, word=word, occurred_at=now + timedelta(minutes=2, seconds=1)))
    assert refused.value.pointer == "/occurred_at"


def test_a_late_report_counts_the_roles_held_when_it_happened(di, bo):
    """Bo stops being anything but admin today; what Bo did yesterday can still be written down."""
    with clock.fixed(clock.now() + timedelta(days=1)):
        membership.edit(make.ask(di), bo, unchanged=lambda _: None, roles=frozenset({Role.ADMIN}))
    with clock.fixed(clock.now() + timedelta(days=2)):
        with pytest.raises(NotAllowed):
            report(make.ask(bo, word=word))
        yesterday = clock.now() - timedelta(days=2) + timedelta(minutes=5)
        assert report(make.ask(bo, word=word, occurred_at=yesterday)).answer.body["late"] is True
        with pytest.raises(NotAllowed):  # no report: judged by today's roles alone
            draft(make.ask(bo, word=word, occurred_at=yesterday))


def test_the_roles_of_any_past_moment_can_be_told(di, ada):
    begin = clock.now()
    with clock.fixed(begin + timedelta(days=1)):
        membership.edit(make.ask(di), ada, unchanged=lambda _: None, roles=frozenset({Role.TECHNICIAN}))
    with clock.fixed(begin + timedelta(days=2)):
        membership.depart(make.ask(di), ada)
    past = [roles_at(ada, begin + timedelta(hours=hours)) for hours in (-1, 1, 25, 49)]
    assert past == [set(), {Role.MEMBER}, {Role.TECHNICIAN}, set()]


def test_a_technician_writes_down_what_a_member_did_and_both_are_recorded(ada, bo):
    receipt = report(make.ask(bo, word=word, on_behalf_of=ada))
    entry = Entry.objects.get(darkroom=ada.darkroom, seq=receipt.seq)
    assert (entry.by, entry.on_behalf_of, receipt.answer.body["for"]) == (bo, ada, str(ada.public_id))


def test_a_member_writes_down_nothing_for_others(ada, bo):
    with pytest.raises(NotAllowed):
        report(make.ask(ada, word=word, on_behalf_of=bo))


def test_on_behalf_of_somebody_unknown_here_is_refused_with_its_place(bo, outsider):
    with pytest.raises(Malformed) as refused:
        report(make.ask(bo, word=word, on_behalf_of=outsider))
    assert refused.value.pointer == "/on_behalf_of"


def test_a_clock_a_little_fast_writes_nothing_later_than_now(bo):
    """A phone may be two minutes ahead; a level read 'later than now' would outlast every look until then."""
    with clock.fixed(clock.now()) as now:
        receipt = report(make.ask(bo, word=word, occurred_at=now + timedelta(seconds=110)))
        assert Entry.objects.get(darkroom=bo.darkroom, seq=receipt.seq).occurred_at == now
