"""Several pour at once into one container."""

from accounts.acts import Role
from darkroom_service.refusal import Clash
from tests import make
from tests.barrier import at_once
from tests.waste.pail import can, ml
from waste.commands import fill
from waste.commands.proof import differences

ROUNDS, PEOPLE = 5, 6


def pour(who, held, amount, *, happened):
    given = {"container": held.public_id, "stream": held.stream.public_id, "volume": ml(amount), "text": "x"}
    return lambda: fill.pour(make.ask(who), happened=happened, **given)


def test_only_as_many_plans_as_there_is_room_for_are_allowed_and_every_report_counts(committed_room):
    bo = make.member(committed_room, Role.TECHNICIAN, name="Bo Brandt")
    for _ in range(ROUNDS):
        held = can(bo)
        plans = at_once(*(pour(bo, held, "4500", happened=False) for _ in range(PEOPLE)))
        assert [isinstance(each, Clash) for each in plans].count(True) == PEOPLE - 2
        reports = at_once(*(pour(bo, held, "10", happened=True) for _ in range(PEOPLE)))
        assert not any(isinstance(each, Exception) for each in reports)
        assert make.refreshed(held).contents == ml("9060")
    assert list(differences(bo.darkroom_id)) == []
