"""Declaring a test of a bath void: it stays to be read, and what followed from it is undone."""

from decimal import Decimal

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Entry
from chemistry.commands import progress, reversal, standing
from chemistry.commands import vessel as vessels
from chemistry.commands.stop import judge_lifter
from chemistry.models import Batch, BatchState, BathTest, Lifting, Reversal, Stop, Vessel, VesselState
from darkroom_service.refusal import Clash, NotAllowed


@command(Act.TEST_VOID)
def void(work: Work, test: BathTest, *, reason: str) -> Reversal:
    """Declare somebody else's test void: lift the stop it caused, take its date back, free a release test for another.

    The bath counts as tested by what passed before, and where nothing did as never tested.
    """
    target = Entry.objects.get(pk=test.entry_id)
    if work.by.pk in {target.by_id, target.on_behalf_of_id}:
        words = "You recorded this test. Another instructor declares it void."
        raise NotAllowed("test.own", words, roles=[Role.INSTRUCTOR.value])
    batch, stops = progress.fresh(test.batch), list(Stop.objects.filter(entry=target, lifting=None))
    _judge_batch(test, batch)
    if stops:
        judge_lifter(work, vessels.reread(test.vessel))
    made, _ = reversal.reverse_locked(work, target, reason=reason)
    for each in stops:
        Lifting.objects.create(
            stop=each, reason=reason, by=work.by, entry_id=work.entry_id, occurred_at=work.occurred_at
        )
    if test.for_release:
        _forget_reference(batch, test)
    _recall(work, vessels.reread(test.vessel), test)
    _tell(work, test, reason)
    return made


def _judge_batch(test: BathTest, batch: Batch) -> None:
    if test.for_release and test.passed and batch.state == BatchState.RELEASED:
        words = f"Batch {batch.code} was released by this test. Withdraw the batch instead."
        raise Clash("batch.released", words, batch=str(batch.public_id))


def _forget_reference(batch: Batch, test: BathTest) -> None:
    """Take off the batch what later tests would be compared with."""
    if batch.release_density is not None and str(batch.release_density) == str(test.figures.get("density")):
        batch.release_density = None
    if batch.fresh_clearing_s is not None and batch.fresh_clearing_s == test.figures.get("seconds"):
        batch.fresh_clearing_s, batch.fresh_clearing_film = None, ""
    batch.version += 1
    batch.save(update_fields=["release_density", "fresh_clearing_s", "fresh_clearing_film", "version"])


def _recall(work: Work, vessel: Vessel, test: BathTest) -> None:
    """Find a vessel's dates and state anew. The doubt about air then counts from the filling: too much, never less."""
    if test.passed and vessel.last_pass_at == test.occurred_at:
        vessel.last_pass_at, vessel.worst_left_at_pass = None, Decimal(1)
    if test.passed and vessel.last_strip_at == test.occurred_at:
        earlier = BathTest.objects.filter(
            vessel=vessel, batch=test.batch, kind=test.kind, passed=True, entry__reversal=None
        )
        last = earlier.filter(occurred_at__lt=test.occurred_at).order_by("-occurred_at").first()
        vessel.last_strip_at = last.occurred_at if last else None
    if vessel.state == VesselState.STOPPED and not standing.open_stop(vessel):
        vessel.state = VesselState.READY
    if vessel.batch and vessel.contents:
        standing.recall(vessel, work)
    vessel.version += 1
    vessel.save()


def _tell(work: Work, test: BathTest, reason: str) -> None:
    text = f"The {test.kind} test of {test.vessel.name} ({test.vessel.code}) was declared void: {reason}"
    notice.post_locked(
        work, kind="test-void", subject=f"test:{test.public_id}", text=text,
        path=f"vessels/{test.vessel.public_id}", to_roles=(Role.TECHNICIAN, Role.INSTRUCTOR),
    )  # fmt: skip
