"""Chemistry for tests, made through the commands only: formulas, packs, batches, bottles and lines.

Everything is done by the room's own people (its technicians and instructors), in the order of real life: what must be
older than something else is written down earlier, with the clock held still.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from accounts.acts import Role
from accounts.commands.entry import Answer
from accounts.models import Darkroom, Membership
from accounts.models.signoff import missing_topics
from chemistry.commands import batch, bathtest, checkin, mixing, starter, transfer, vessel
from chemistry.commands import line as lines
from chemistry.commands import pack as packs
from chemistry.commands.report import Report
from chemistry.commands.run import Film
from chemistry.models import Batch, CheckIn, FormulaVersion, Line, Pack, StepRole, Vessel
from darkroom_service import clock
from darkroom_service.quantity import tenths
from tests import make

ROLES = {
    "developer": StepRole.DEVELOPER,
    "stop": StepRole.STOP,
    "fixer": StepRole.FIXER_1,
    "fixer_2": StepRole.FIXER_2,
    "washing_aid": StepRole.WASHING_AID,
}
_numbers = count(1)


def do(command: Callable[..., Any], who: Membership, *args: Any, at: datetime | None = None, **given: Any) -> Any:
    """Run a command as somebody, under a new key, and return what it made; ``at`` is when they say it happened."""
    made = []

    def keep(result: Any) -> Answer:
        made.append(result)
        return Answer(201, {})

    command(make.ask(who, word=keep, occurred_at=at), *args, **given)
    return made[0]


@contextmanager
def then(at: datetime | None) -> Iterator[datetime]:
    """Hold the clock at an instant; None leaves it as it is."""
    if at is None:
        yield clock.now()
    else:
        with clock.fixed(at) as held:
            yield held


def staff(room: Darkroom, role: Role = Role.TECHNICIAN, nth: int = 0) -> Membership:
    """Return the room's first (or nth) technician, or holder of another role, enrolled if there is nobody."""
    found = Membership.objects.holding(role).filter(darkroom=room).select_related("darkroom", "person").order_by("pk")
    while len(found) <= nth:
        make.member(staff(room, Role.ADMIN), role)
        found = found.all()
    return found[nth]


def published(room: Darkroom, code: str = "mq-borax") -> FormulaVersion:
    """Return the published starter formula of that code, copied into the room if it is not there yet."""
    found = FormulaVersion.objects.filter(formula__darkroom=room, formula__code=code, state="published")
    if not found.exists():
        do(starter.copy_starter, staff(room, Role.INSTRUCTOR), codes=[code])
    return found.select_related("formula").latest("number")


def pack(
    room: Darkroom, code: str = "mq-borax", ml: str = "3800", *, price: int = 1200, at: datetime | None = None
) -> Pack:
    """Return a sealed pack, just received, or received at an instant."""
    version = published(room, code)
    with then(at):
        (received,) = do(
            packs.receive, staff(room), formula=version.formula.public_id, makes=tenths(Decimal(ml)),
            price_minor=price, lot=f"lot {next(_numbers)}", pieces=1,
        )  # fmt: skip
    return received


def bottle(
    room: Darkroom, ml: str = "946", *, material: str = "glass", owner: Membership | None = None, name: str = ""
) -> Vessel:
    """Return an empty vessel."""
    given = {"owner": owner.public_id, "leave_by": None} if owner else {}
    return do(
        vessel.create, owner or staff(room), name=name or f"bottle {next(_numbers)}", nominal=tenths(Decimal(ml)),
        material=material, **given,
    )  # fmt: skip


def requested_batch(room: Darkroom, code: str = "mq-borax", ml: str = "3800", *, price: int = 1200) -> Batch:
    """Return a batch that the first technician asks for, from one sealed pack."""
    packet = pack(room, code, ml, price=price)
    formula = packet.formula_version.formula.public_id
    return do(batch.request, staff(room), formula=formula, packs=[packet.public_id])


def approved_batch(room: Darkroom, code: str = "mq-borax", ml: str = "3800", *, price: int = 1200) -> Batch:
    """Return a batch approved by the instructor."""
    return do(batch.approve, staff(room, Role.INSTRUCTOR), requested_batch(room, code, ml, price=price))


def mixed_batch(
    room: Darkroom, code: str = "mq-borax", ml: str = "3800", *, price: int = 1200, at: datetime | None = None
) -> Batch:
    """Return a batch that the first technician finished mixing at ``at``, into a drum of its size; now, if not told."""
    done = at or clock.now()
    with then(done - timedelta(hours=1)):
        signed(room, staff(room))
        wanted = approved_batch(room, code, ml, price=price)
        drum = bottle(room, ml, material="hdpe", name=f"drum {next(_numbers)}")
        started = do(mixing.start, staff(room), wanted)
    with then(done):
        return do(mixing.finish, staff(room), started, vessel=drum.public_id, made=tenths(Decimal(ml)))


def released_batch(
    room: Darkroom, code: str = "mq-borax", ml: str = "3800", *, price: int = 1200, at: datetime | None = None
) -> Batch:
    """Return a batch mixed 25 hours before ``at`` (now, if not told), rested, tested by the instructor and released."""
    done = at or clock.now()
    made = mixed_batch(room, code, ml, price=price, at=done - timedelta(hours=25))
    with then(done):
        tester = staff(room, Role.INSTRUCTOR)
        if (testing := made.formula_version.rules.testing) and testing.needed_for_release:
            release_test(made, tester)
        return do(batch.release, tester, made)


def release_test(made: Batch, tester: Membership, *, passed: bool = True) -> None:
    """Record a release strip of a batch, looked at and measured."""
    do(
        bathtest.record, tester, vessel=drum_of(made).public_id, for_release=True, density=Decimal("1.30"),
        matches=passed,
    )  # fmt: skip


def drum_of(made: Batch) -> Vessel:
    """Return the vessel a batch was mixed into."""
    return Vessel.objects.with_contents().filter(batch=made).order_by("pk")[0]


def filled(
    room: Darkroom, code: str = "mq-borax", ml: str = "946", *, nominal: str = "", material: str = "glass",
    at: datetime | None = None,
) -> Vessel:  # fmt: skip
    """Return a vessel holding ``ml`` of released stock decanted at ``at``; full, unless ``nominal`` says it is larger.

    The drum it comes from is new and as large as a usual packet makes, or larger if need be.
    """
    size = max(Decimal(ml), Decimal(3800))
    made = released_batch(room, code, str(size), at=at)
    target = bottle(room, nominal or ml, material=material)
    with then(at):
        do(
            transfer.decant, staff(room), source=drum_of(made).public_id, target=target.public_id,
            volume=tenths(Decimal(ml)),
        )  # fmt: skip
    return Vessel.objects.with_contents().get(pk=target.pk)


def concentrate(room: Darkroom, code: str = "rapid-fixer", ml: str = "1000", *, at: datetime | None = None) -> Vessel:
    """Return an opened bottle of liquid concentrate."""
    packed = pack(room, code, ml, price=900, at=at)
    with then(at):
        opened = do(
            transfer.open, staff(room), pack=packed.public_id, name=f"concentrate {next(_numbers)}", material="hdpe"
        )
    return Vessel.objects.with_contents().get(pk=opened.target_id)


def working(
    room: Darkroom, code: str = "rapid-fixer", dilution: str = "1+4", ml: str = "1000", *, at: datetime | None = None
) -> Vessel:
    """Return a vessel of working strength, diluted from a new bottle of concentrate."""
    source, target = concentrate(room, code, at=at), bottle(room, ml)
    with then(at):
        return dilute(source, target, dilution, ml)


def dilute(source: Vessel, target: Vessel, dilution: str, ml: str) -> Vessel:
    """Make a working solution in a vessel and return it."""
    do(
        transfer.dilute, staff(source.darkroom), source=source.public_id, target=target.public_id, dilution=dilution,
        volume=tenths(Decimal(ml)),
    )  # fmt: skip
    return Vessel.objects.with_contents().get(pk=target.pk)


def develop(
    who: Membership, through: Line, rolls: int = 1, *, use: str = "one_shot", dilution: str = "1+1", tank: str = "600",
    at: datetime | None = None,
) -> CheckIn:  # fmt: skip
    """Check rolls of 135-36 in, as somebody who processed them in a line."""
    told = Report(
        line=through.public_id, films=(Film("135-36", rolls),), tank=tenths(Decimal(tank)), use=use, dilution=dilution
    )  # fmt: skip
    return do(checkin.create, who, at=at, report=told).check_in


def line(
    room: Darkroom, *, film_or_paper: str = "film", process: str = "bw", name: str = "", **vessels: Vessel
) -> Line:
    """Return a line of the vessels named by role: ``developer``, ``stop``, ``fixer``, ``fixer_2``, ``washing_aid``."""
    steps = [{"role": ROLES[role], "vessel": each.public_id, "container": None} for role, each in vessels.items()]
    return do(
        lines.create, staff(room), name=name or f"line {next(_numbers)}", process=process,
        film_or_paper=film_or_paper, steps=steps,
    )  # fmt: skip


def signed(room: Darkroom, who: Membership, *codes: str) -> None:
    """See to it that a person is signed off, from now on, for these topics, or for all that a powder asks for."""
    teacher, wanted = staff(room, Role.INSTRUCTOR), codes or make.TOPICS
    lacking = missing_topics(who, wanted, clock.now())
    if untaught := missing_topics(teacher, lacking, clock.now()):
        make.first_holder(staff(room, Role.ADMIN), teacher, *untaught)
    if lacking and who.pk != teacher.pk:
        make.signed_off(teacher, who, *lacking)
