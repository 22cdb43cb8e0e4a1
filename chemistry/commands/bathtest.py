"""Tests of a bath: a pass gives a new date, a fail stops the vessel at once, no verdict changes nothing.

Of somebody who does not look after the room's chemistry a test is a doubt at most, which a technician confirms.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from accounts.acts import Act
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Membership
from accounts.models.signoff import missing_topics
from chemistry.commands import air, alert, reach, redating, standing
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.commands.run import INDUCTION
from chemistry.commands.stop import pending, stop_locked
from chemistry.models import Batch, BathTest, Vessel
from chemistry.models.stop import StopKind
from chemistry.science import testing
from chemistry.science.formula import Check, Rules, Testing, Use
from chemistry.science.testing import Finding, Outcome
from darkroom_service.refusal import Malformed, NotAllowed

UNCONFIRMED = "test.unconfirmed"
FIGURES = {
    Check.CLIP: frozenset({"density", "matches"}),
    Check.CLEARING: frozenset({"seconds", "film"}),
    Check.STOP: frozenset({"indicator_ok", "ph"}),
}


@dataclass(frozen=True)
class Figures:
    """What was seen: of a clip test density or a match by eye, of clearing seconds and film, of a stop colour or pH."""

    density: Decimal | None = None
    matches: bool | None = None
    seconds: int | None = None
    film: str = ""
    indicator_ok: bool | None = None
    ph: Decimal | None = None

    def told(self) -> dict[str, object]:
        """Return what was told, as it is stored."""
        return {name: value for name, value in vars(self).items() if value not in {None, ""}}


@command(Act.TEST_CREATE)
def record(
    work: Work, /, *, vessel: UUID, kind: str = "", for_release: bool = False, **figures: object
) -> BathTest:  # fmt: skip
    """Write a test down and do what follows from it; ``figures`` as in ``Figures``."""
    if for_release and not vessels.was_staff(work):
        words = "A batch is released by a test of a technician's or an instructor's. Ask one of them to make it."
        raise NotAllowed("test.release_not_yours", words, roles=["instructor", "technician"])
    row, book = vessels.named(work, vessel, pointer="/vessel"), Book(work, work.occurred_at)
    batch, seen = vessels.batch_then(book, row), Figures(**figures)  # type: ignore[arg-type]
    check = _check(batch.formula_version.rules, kind)
    for name in seen.told():
        if name not in FIGURES[check]:
            words = f"A {check} test tells {' or '.join(sorted(FIGURES[check]))}. Leave {name} out."
            raise Malformed("test.other_figures", words, pointer=f"/figures/{name}")
    finding = _judge(batch, row, check, seen, for_release=for_release)
    test = _write(work, row, batch, finding, kind=check, for_release=for_release, figures=seen.told())
    if for_release and test.passed:
        _set_reference(batch, seen)
    if test.passed:
        _pass(book, row, check)
    elif test.passed is False:
        (_fail if vessels.was_staff(work) else _doubt)(book, test, row)
    return test


def _write(work: Work, vessel: Vessel, batch: Batch, finding: Finding, **said: Any) -> BathTest:
    flags = _of_person(work, finding.outcome)
    if UNCONFIRMED in flags and finding.outcome is Outcome.PASS:
        finding = Finding(Outcome.NONE, f"{finding.reason}; it gives no new date before a technician confirms it")
    passed = {Outcome.PASS: True, Outcome.FAIL: False}.get(finding.outcome)
    test = BathTest.objects.create(
        darkroom=work.darkroom, vessel=vessel, batch=batch, passed=passed, why=finding.reason[:500],
        flags=flags, by=work.whom, entry_id=work.entry_id, occurred_at=work.occurred_at, **said,
    )  # fmt: skip
    what, path = f"{test.kind} test, {vessel.name}", f"vessels/{vessel.public_id}"
    alert.flagged_locked(work, test.flags, subject=f"test:{test.public_id}", path=path, what=what)
    return test


def _check(rules: Rules, kind: str) -> Check:
    """Return the test this kind of bath is judged by."""
    asked, due = Check(kind) if kind else None, rules.testing.check if rules.testing else None
    if asked and due and asked is not due:
        words = f"What is in this vessel is judged by a {due} test. Check the vessel and the kind of test."
        raise Malformed("test.other_kind", words, pointer="/kind", kind=due.value)
    if found := asked or due:
        return found
    words = f"The formula names no test. Say which was made: {', '.join(Check)}."
    raise Malformed("test.kind_missing", words, pointer="/kind")


def _judge(batch: Batch, vessel: Vessel, check: Check, seen: Figures, *, for_release: bool) -> Finding:
    criteria = batch.formula_version.rules.testing or Testing(check)
    if check is Check.STOP:
        return testing.judge_stop(indicator_ok=seen.indicator_ok, ph=seen.ph, highest_ph=criteria.highest_ph)
    if check is Check.CLEARING:
        return _judge_clearing(batch, vessel, criteria, seen, fresh=for_release)
    if for_release and batch.release_density is None:
        return testing.judge_reference(density=seen.density, matches=seen.matches)
    return testing.judge_clip(
        density=seen.density, release_density=batch.release_density, matches=seen.matches,
        tolerance=criteria.density_tolerance,
    )  # fmt: skip


def _judge_clearing(batch: Batch, vessel: Vessel, criteria: Testing, seen: Figures, *, fresh: bool) -> Finding:
    """Judge a clearing time against the fresh one: of this batch, or on the same film of another just like it."""
    if seen.seconds is None or not seen.film:
        return Finding(Outcome.NONE, "tell the seconds it took to clear, and the film it was done on")
    if fresh:
        if vessel.load:
            return Finding(Outcome.NONE, "film or paper has been through this bath: that is no fresh reading")
        return Finding(Outcome.PASS, f"cleared {seen.film} in {seen.seconds} s while fresh")
    known = _fresh_reading(batch, seen.film)
    if known is None:
        words = "no fresh reading to compare with: clear a strip in unused bath and record it for release"
        return Finding(Outcome.NONE, words)
    same = known.fresh_clearing_film.casefold() == seen.film.casefold()
    before, now = Decimal(known.fresh_clearing_s or 0), Decimal(seen.seconds)
    return testing.judge_clearing(before, now, same_film=same, fail_ratio=criteria.fail_ratio)


def _fresh_reading(batch: Batch, film: str) -> Batch | None:
    """Return the batch whose fresh reading counts: on the same film, if there is any of this formula and strength."""
    alike = Batch.objects.filter(
        darkroom=batch.darkroom_id, formula_version__formula=batch.formula_version.formula_id, dilution=batch.dilution,
        fresh_clearing_s__isnull=False,
    )  # fmt: skip
    own = batch if batch.fresh_clearing_s else None
    if own and own.fresh_clearing_film.casefold() == film.casefold():
        return own
    return alike.filter(fresh_clearing_film__iexact=film).order_by("-id").first() or own


def _set_reference(batch: Batch, seen: Figures) -> None:
    """Keep on the batch what later tests are compared with."""
    if seen.density is not None and batch.release_density is None:
        batch.release_density = seen.density
    if seen.seconds is not None:
        batch.fresh_clearing_s, batch.fresh_clearing_film = seen.seconds, seen.film
    batch.version += 1
    batch.save(update_fields=["release_density", "fresh_clearing_s", "fresh_clearing_film", "version"])


def _pass(book: Book, vessel: Vessel, check: Check) -> None:
    """Count the keeping time and the air's doubt anew from the test; a later pass stands."""
    if book.gone(vessel) or (vessel.last_pass_at and vessel.last_pass_at > book.at):
        return
    bound = air.bound(vessel, standing.rules_of(vessel), book.at)
    vessel.last_pass_at, vessel.worst_left_at_pass = book.at, bound.worst_left if bound else Decimal(1)
    if check is Check.CLIP and vessel.use == Use.REPLENISHED:
        vessel.last_strip_at = book.at
    redating.restate(vessel, book.work, "last_pass_at", "worst_left_at_pass", "last_strip_at")


def _fail(book: Book, test: BathTest, vessel: Vessel) -> None:
    """Stop the vessel and tell everybody who used it since it was last known to be good."""
    work = book.work
    stop_locked(work, vessel, kind=StopKind.FAILED_TEST, reason=f"It failed its {test.kind} test: {test.why}.")
    since = reach.last_good(vessel, test.batch, before=book.at)
    users = reach.users(vessel, since, vessel.filled_at if book.gone(vessel) else None)
    text = (
        f"{vessel.name} ({vessel.code}) failed its {test.kind} test: {test.why}. You used it since it was last known to"
        " be good; look at what you made with it before you use the bath's kind again."
    )
    notice.post_locked(
        work, kind="recall", subject=f"test:{test.public_id}", text=text, path=f"vessels/{vessel.public_id}", to=users,
        safety=True,
    )  # fmt: skip


def _doubt(book: Book, test: BathTest, vessel: Vessel) -> None:
    """Stop the vessel until a technician has tested it; of a pupil one such stop stands at a time."""
    work = book.work
    if not (work.whom.is_minor(work.occurred_at) and pending(work)):
        reason = f"A {test.kind} test of a member's failed: {test.why}. A technician confirms it or lifts this."
        stop_locked(work, vessel, kind=StopKind.DOUBT, reason=reason)


def _of_person(work: Work, outcome: Outcome) -> list[str]:
    """Return what stood against who tested: a fail is a doubt; a pass counts of an adult who was inducted."""
    if vessels.was_staff(work):
        return []
    lacking = ["person.not_inducted"] if _lacks_induction(work.whom, work.occurred_at) else []
    weak = outcome is Outcome.FAIL or (lacking or work.whom.is_minor(work.occurred_at))
    return [*lacking, UNCONFIRMED] if weak and outcome is not Outcome.NONE else lacking


def _lacks_induction(member: Membership, at: datetime) -> bool:
    return bool(missing_topics(member, [INDUCTION], at))
