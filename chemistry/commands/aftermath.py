"""What follows a check-in in the same act: its plan is used up, baths are stopped, batches settled, people told."""

from collections.abc import Iterator, Sequence

from django.db.models import Q, Sum

from accounts.acts import Role
from accounts.commands import notice
from accounts.commands.entry import Work
from accounts.models import Entry, Membership
from chemistry.commands import cost, flagtext, pouring, ruling, standing, stop
from chemistry.commands.ledger import Book
from chemistry.commands.pouring import Pour
from chemistry.models import Charge, CheckIn, Hold, Movement, Place, TankPlan, Vessel
from chemistry.models.stop import StopKind
from chemistry.science.formula import Use
from darkroom_service.quantity import rolls

MOST_WORDS = 1000


def follow_locked(book: Book, check_in: CheckIn, pours: Sequence[Pour], plan: TankPlan | None) -> None:
    """Do all that a check-in brings with it, once its rows are written."""
    work = book.work
    if plan is not None:
        _use_up(work, plan)
    spoilt = {vessel.pk: (vessel, code) for pour in pours for vessel, code in ruling.spoilt(book, pour)}
    for vessel, code in spoilt.values():
        stop.stop_locked(work, vessel, kind=StopKind.RULE_BROKEN, reason=flagtext.TEXTS[code])
    for pour in pours:
        if pour.stage.vessel.contents == 0 or pour.stage.batch.closed_at:
            cost.settle_locked(work, pour.stage.batch)
    _tell_technicians(work, check_in, pours, safety=bool(spoilt))
    if work.late:
        for vessel in book.touched.values():
            _tell_later_users(book, vessel)


def _use_up(work: Work, plan: TankPlan) -> None:
    if plan.used_at is None:
        TankPlan.objects.filter(pk=plan.pk).update(used_at=work.recorded_at)
    if plan.held_until:
        Hold.objects.filter(plan=plan, released_at=None).update(released_at=work.recorded_at)


def _tell_technicians(work: Work, check_in: CheckIn, pours: Sequence[Pour], *, safety: bool) -> None:
    """Tell which rules broke and where; what waste tells of its own containers is not told twice."""
    telling = [code for code in check_in.flags if code not in ruling.QUIET and not code.startswith("container.")]
    if not telling:
        return
    words = " ".join(_in_words(telling, pours))
    notice.post_locked(
        work, kind="check-in-flagged", subject=f"check-in:{check_in.public_id}", text=words[:MOST_WORDS],
        path=f"check-ins/{check_in.public_id}", to_roles=(Role.TECHNICIAN,), safety=safety,
    )  # fmt: skip


def _in_words(telling: Sequence[str], pours: Sequence[Pour]) -> Iterator[str]:
    yield "A check-in broke a rule:" if len(telling) == 1 else "A check-in broke rules:"
    for code in telling:
        where = [pour.stage.vessel.code for pour in pours if code in pour.flags]
        yield f"{', '.join(where)}: {flagtext.TEXTS[code]}" if where else flagtext.TEXTS[code]


def _tell_later_users(book: Book, vessel: Vessel) -> None:
    """Tell those who used a vessel after this that it had already done more than was known, if it is over by now."""
    if vessel.batch is None or book.gone(vessel):
        return
    left, _ = standing.roll_units(vessel, standing.rules_of(vessel))
    if left is None or left >= 0:
        return
    users = _later_users(book, vessel)
    words = (
        f"A late entry shows that {vessel.code} had done more than was known when you used it, and is over its limit."
        " The time you were given may have been too short: look at that film or print, and ask the technician."
    )
    notice.post_locked(
        book.work, kind="late-entry", subject=f"vessel:{vessel.public_id}", text=words,
        path=f"vessels/{vessel.public_id}", to=users,
    )  # fmt: skip


def _later_users(book: Book, vessel: Vessel) -> list[Membership]:
    charged = Charge.objects.filter(vessel=vessel, moved=False, reverses=None, occurred_at__gt=book.at)
    entries = Entry.objects.filter(pk__in=charged.values("entry"), reversal=None)
    people = {behalf or by for by, behalf in entries.values_list("by", "on_behalf_of")}
    return list(Membership.objects.filter(pk__in=people))


def states_of(check_in: CheckIn) -> dict[int, str]:
    """Return the states of the vessels a check-in drew from, as they are now."""
    drawn = Movement.objects.filter(entry=check_in.entry_id, target=Place.RUN).exclude(source_vessel=None)
    return dict(Vessel.objects.filter(pk__in=drawn.values("source_vessel")).values_list("pk", "state"))


def undo_locked(work: Work, check_in: CheckIn, before: dict[int, str]) -> None:
    """Undo what a reversed check-in had brought besides its ledger rows, and tell where a vessel's state changed."""
    changed = []
    for vessel in Vessel.objects.with_contents().filter(pk__in=before):
        if vessel.filled_at is None or vessel.filled_at <= check_in.occurred_at:
            _unuse(vessel, check_in)
            standing.refresh(vessel, work)
            vessel.version += 1
            vessel.save()
        if vessel.state != before[vessel.pk]:
            changed.append(f"{vessel.code} was {before[vessel.pk]} and is {vessel.state}".replace("_", " "))
    if changed:
        notice.post_locked(
            work, kind="check-in-reversed", subject=f"check-in:{check_in.public_id}",
            text=f"A check-in was taken back. {'; '.join(changed)}.", path=f"check-ins/{check_in.public_id}",
            to_roles=(Role.TECHNICIAN,),
        )  # fmt: skip


def _unuse(vessel: Vessel, check_in: CheckIn) -> None:
    """Free a vessel's way of use if nothing else went through it, and take off the replenisher asked for."""
    rule = standing.rules_of(vessel).replenishing if vessel.batch else None
    if vessel.use == Use.REPLENISHED and rule:
        charged = Charge.objects.filter(entry=check_in.entry_id, vessel=vessel, moved=False, reverses=None)
        load = charged.aggregate(sum=Sum("load"))["sum"] or 0
        asked = pouring.replenisher(rule, rolls(load))
        vessel.replenish_owed = max(vessel.replenish_owed - asked, 0)
    since = Q(occurred_at__gte=vessel.filled_at) if vessel.filled_at else Q()
    drawn = Movement.objects.filter(since, source_vessel=vessel, target=Place.RUN, reverses=None, reversed_by=None)
    if vessel.load == 0 and vessel.use != Use.TRAY and not drawn.exists():
        vessel.use = vessel.film_or_paper = ""
