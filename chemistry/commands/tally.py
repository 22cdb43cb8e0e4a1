"""Sheets put through the trays of a session: a report that charges every tray, whatever the rules say of it."""

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum

from accounts.acts import Act
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Entry, Membership
from chemistry.commands import advice, cost, reversal, run, standing, traysession
from chemistry.commands.ledger import Book
from chemistry.models import Batch, Charge, Movement, Place, Reversal, SessionTray, Tally, TraySession, VesselState
from chemistry.science import capacity, film, keeping
from chemistry.science.blend import share
from chemistry.science.dilution import parse
from chemistry.science.formula import Material, Use
from chemistry.science.tank import Bath, Need, carried
from darkroom_service.localday import day_of
from darkroom_service.quantity import area_units, load_units, millilitres, rolls, tenths
from darkroom_service.refusal import Malformed

Stood = tuple[Batch, int, int]  # what, how much of it was filled in, and the load on it


@command(Act.TRAY_SESSION_TALLY)
def create(work: Work, session: TraySession, *, format: str, count: int) -> Tally:
    """Write down so many sheets of one size: load, area and carry-out for every tray, and the cost for the person."""
    row, sheet = traysession.reread(session), _format(format)
    _judge_time(work, row)
    load, area = load_units(sheet.load * count), area_units(sheet.area_cm2 * count)
    book = Book(work, _time(work, row))
    stages = list(_stages(work, row, sheet.material, load))
    flags = [*traysession.of_person(work), *_of_session(work, row, sheet)]
    flags += [code for stage in stages for code in _of_tray(book, row, stage)]
    for stage in stages:
        _put_through(book, stage, load, area)
        if row.closed_at:
            _pass_on(book, row.closed_at, stage, load, area)
    book.close()
    flags += [] if row.closed_at else book.flags
    tally = Tally.objects.create(
        session=row, format=sheet.code, count=count, load=load, area=area, cost_minor=_bear(work, stages),
        member=work.whom, flags=list(dict.fromkeys(flags)), entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip
    for stage in stages:
        if stage.batch.closed_at or stage.vessel.contents == 0:
            cost.settle_locked(work, stage.batch)
    traysession.tell(work, row, tally.flags)
    _tell_later_users(work, tally)
    return tally


@command(Act.TRAY_SESSION_TALLY)
def reverse(work: Work, tally: Tally, *, reason: str) -> tuple[Reversal, list[str]]:
    """Take a tally back: its author at any time, a technician or an instructor anybody's; returns the flags too."""
    return reversal.reverse_locked(work, Entry.objects.get(pk=tally.entry_id), reason=reason)


def summed(sessions: Collection[TraySession]) -> list[dict[str, Any]]:
    """Return what stands of all tallies of some sessions, by session, size and member, in one query."""
    rows: Any = Tally.objects.filter(session__in=sessions, entry__reversal=None)
    sums = {"sheets": Sum("count"), "units": Sum("load"), "coated": Sum("area"), "minor": Sum("cost_minor")}
    groups = rows.order_by("session", "format", "member").values("session_id", "format", whose=F("member__public_id"))
    return list(groups.annotate(**sums))


def is_live(session: TraySession, tray: SessionTray) -> bool:
    """Tell whether what a session filled into a tray still stands there."""
    return session.closed_at is None and tray.vessel.filled_at == session.opened_at


def _format(code: str) -> film.Format:
    try:
        return film.find(code)
    except film.UnknownFormat as fault:
        raise Malformed("format.unknown", str(fault), pointer="/format", offers=list(fault.offers)) from None


def _judge_time(work: Work, session: TraySession) -> None:
    if work.occurred_at < session.opened_at:
        opened = f"{session.opened_at:%Y-%m-%d %H:%M} UTC"
        words = f"The trays were filled at {opened}, after that. Give the time the sheets went through."
        raise Malformed("time.before_filling", words, pointer="/occurred_at", opened_at=session.opened_at.isoformat())


def _time(work: Work, session: TraySession) -> datetime:
    """Return when the trays were charged: what is told for after the end can only have gone through them before it."""
    if session.closed_at is None:
        return work.occurred_at
    return max(session.opened_at, min(work.occurred_at, session.closed_at - timedelta(microseconds=1)))


def _stages(work: Work, session: TraySession, material: Material, load: int) -> Iterator[run.Stage]:
    """Yield each tray with what stood in it then, and what the sheets ask of it."""
    trays = traysession.standing_trays(session)
    filled = {} if all(is_live(session, each) for each in trays) else _as_filled(session)
    room = work.darkroom
    per_roll = room.carry_out_paper if material is Material.PAPER else room.carry_out_film
    for each in trays:
        vessel = each.vessel
        now = (vessel.batch, vessel.basis, vessel.load) if vessel.batch and is_live(session, each) else None
        batch, basis, done = now or filled[vessel.pk]
        bath = Bath(
            batch.formula_version.rules, batch.dilution, Use.TRAY, Material.PAPER, millilitres(vessel.contents),
            millilitres(basis), rolls(done),
        )  # fmt: skip
        clings = carried(millilitres(per_roll), rolls(load), millilitres(vessel.nominal))
        need = Need(Use.TRAY, parse(batch.dilution), Decimal(0), Decimal(0), clings, rolls(load))
        yield run.Stage(each.role, vessel, batch, None, bath, need)


def _as_filled(session: TraySession) -> dict[int, Stood]:
    """Return what a session filled into its trays, by vessel: how much, and the load with what its sheets did since."""
    trays = [each.vessel_id for each in session.trays.all()]
    done = session.tallies.filter(entry__reversal=None).aggregate(sum=Sum("load"))["sum"] or 0
    brought = Charge.objects.filter(entry=session.entry_id, vessel__in=trays, load__gt=0).values_list("vessel", "load")
    came = dict(brought.order_by())
    poured = Movement.objects.filter(entry=session.entry_id, target_vessel__in=trays).order_by("id")
    found: dict[int, Stood] = {}
    for row in poured.select_related("target_batch__formula_version__formula"):
        if row.target_vessel_id and row.target_batch:
            before = found.get(row.target_vessel_id, (row.target_batch, 0, 0))[1]
            load = came.get(row.target_vessel_id, 0) + done
            found[row.target_vessel_id] = (row.target_batch, before + row.volume, load)
    return found


def _of_session(work: Work, session: TraySession, sheet: film.Format) -> Iterator[str]:
    if session.closed_at and work.occurred_at > session.closed_at:
        yield "tray-session.closed"
    if sheet.material is Material.FILM:
        yield "vessel.other_material"


def _of_tray(book: Book, session: TraySession, stage: run.Stage) -> Iterator[str]:
    """Yield the rules that so many sheets break in one tray."""
    vessel, bath, work = stage.vessel, stage.bath, book.work
    figure = capacity.find(bath.rules, Material.PAPER, Use.TRAY, bath.dilution)
    fits = capacity.judge(bath.load, bath.held_load, stage.need.load, bath.basis_ml, figure, compensate=False)
    if not fits.ok:
        yield fits.code
    until = keeping.tray_until(bath.rules.keeping, session.opened_at)
    if until and book.at > until:
        yield "tray.hours_passed"
    if vessel.owner_id not in {None, work.whom.pk}:
        yield "vessel.private"
    if session.closed_at is None:
        yield from ("vessel.refilled",) if book.gone(vessel) else _of_state(book, stage)


def _of_state(book: Book, stage: run.Stage) -> Iterator[str]:
    """Yield what the tray's state said against its use. Air is not asked: an open tray is judged by its hours."""
    vessel, zone = stage.vessel, book.work.darkroom.zone
    found = standing.assess(vessel, book.at, zone)
    if found.state == VesselState.STOPPED and standing.open_stops(vessel).filter(occurred_at__lte=book.at).exists():
        yield "vessel.stopped"
    if found.state == VesselState.WAITING:
        yield "vessel.waiting"
    if found.use_by and day_of(book.at, zone) > found.use_by:
        yield "vessel.expired"
    if book.anchored(vessel):
        yield "vessel.level_known"


def _put_through(book: Book, stage: run.Stage, load: int, area: int) -> None:
    """Charge one tray, and let what clings to the paper leave it."""
    vessel, clings = stage.vessel, tenths(stage.need.carried_ml)
    if clings:
        # A mistyped count must not empty the tray: its load would go with the last of it, and not come back.
        stays = 1 if vessel.contents and not book.anchored(vessel) else 0
        book.cover(vessel, clings + stays)
        book.out(vessel, clings, Place.CARRIED_OUT, share_goes=False)
    book.charge(vessel, load, area)
    if not book.gone(vessel):
        standing.refresh(vessel, book.work)


def _pass_on(book: Book, ended_at: datetime, stage: run.Stage, load: int, area: int) -> None:
    """Let what is told late follow its liquid into the bottles the tray was emptied into, where it still stands.

    Nothing is taken off for what those bottles gave since: they may be thought weaker than they are, never stronger.
    """
    tray = stage.vessel
    out = Movement.objects.filter(source_vessel=tray, occurred_at=ended_at, reverses=None)
    rows = list(out.select_related("target_vessel__batch__formula_version__formula"))
    whole = sum(each.volume for each in rows)
    for each in rows:
        bottle = book.touched.get(each.target_vessel_id or 0, each.target_vessel)
        part = share(load, each.volume, whole), share(area, each.volume, whole)
        if bottle and bottle.filled_at and bottle.filled_at <= ended_at and any(part):
            book.charge_share(bottle, *part)
            book.charges[-1].occurred_at = ended_at  # when it came there
            if not book.gone(tray):
                book.charge_share(tray, *(-amount for amount in part))


def _bear(work: Work, stages: Sequence[run.Stage]) -> int:
    """Let the person bear what the sheets cost, at the rate of this moment."""
    shared = run.shared(stages)
    dues = advice.dues(shared, compensate=False)
    return cost.charge_locked(work, work.whom, [(stage.batch, due) for stage, due in zip(shared, dues, strict=True)])


def _tell_later_users(work: Work, tally: Tally) -> None:
    """Tell those who printed after a late tally that the trays had done more than was known, if they were over."""
    if not work.late or "capacity.exhausted" not in tally.flags:
        return
    later = Tally.objects.filter(session=tally.session, occurred_at__gt=tally.occurred_at, entry__reversal=None)
    words = (
        f"A late entry shows that the trays of {tally.session.group} had done more than was known when you printed, and"
        " were over their limit. Look at your prints for stains and weak blacks, and ask the technician."
    )
    notice.post_locked(
        work, kind="late-entry", subject=f"tray-session:{tally.session.public_id}", text=words,
        path=f"tray-sessions/{tally.session.public_id}", to=Membership.objects.filter(pk__in=later.values("member")),
    )  # fmt: skip
