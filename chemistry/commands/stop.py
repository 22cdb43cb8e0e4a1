"""Taking a vessel out of use at once, which anyone may, and letting it be used again, which few may."""

from django.db.models import F, QuerySet

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work, command
from accounts.models import Entry, Membership
from chemistry.commands import progress, redating, standing
from chemistry.commands.vessel import reread
from chemistry.models import Hold, Lifting, Stop, Vessel, VesselState
from chemistry.models.stop import StopKind
from darkroom_service.refusal import Clash, Malformed, NotAllowed

STAFF = (Role.TECHNICIAN, Role.INSTRUCTOR)
FINAL = {
    StopKind.FAILED_TEST: "It failed its test, and that is never lifted: empty it to waste.",
    StopKind.WITHDRAWN: "Its batch was withdrawn, and that is final: empty it to waste.",
}


@command(Act.VESSEL_STOP)
def stop(work: Work, vessel: Vessel, *, reason: str) -> Stop:
    """Stop a vessel at once; a pupil may have one such stop standing at a time."""
    row = reread(vessel)
    if row.contents == 0:
        words = "By the record it is empty. If something is in it, read its level first; then stop it."
        raise Clash("vessel.empty", words)
    if work.whom.is_minor(work.occurred_at):
        _judge_pupil(work)
    return stop_locked(work, row, kind=StopKind.DOUBT, reason=reason)


def stop_locked(work: Work, vessel: Vessel, *, kind: StopKind, reason: str) -> Stop:
    """Stop a vessel within another command and tell the staff; what it was said of may be gone by now."""
    made = Stop.objects.create(
        vessel=vessel, kind=kind, reason=reason[:500], by=work.whom, entry_id=work.entry_id,
        occurred_at=work.occurred_at,
    )  # fmt: skip
    if vessel.contents == 0 or (vessel.filled_at and work.occurred_at < vessel.filled_at):
        return made
    vessel.state = VesselState.STOPPED
    redating.restate(vessel, work)
    notice.post_locked(
        work, kind="vessel-stopped", subject=f"stop:{made.public_id}", path=f"vessels/{vessel.public_id}",
        text=f"{vessel.name} ({vessel.code}) was stopped: {made.reason}", to_roles=STAFF,
        to=_waiting(work, vessel), safety=True,
    )  # fmt: skip
    return made


def _waiting(work: Work, vessel: Vessel) -> QuerySet[Membership]:
    """Return those for whom a plan keeps some of it: they would pour from it next."""
    holds = Hold.objects.filter(vessel=vessel, released_at=None, until__gt=work.recorded_at)
    return Membership.objects.filter(pk__in=holds.values("plan__by"))


@command(Act.VESSEL_LIFT)
def lift(work: Work, vessel: Vessel, *, reason: str) -> Lifting:
    """Let a stopped vessel be used again: all its stops, by somebody who did not mix what is in it."""
    row = reread(vessel)
    stops = list(standing.open_stops(row).order_by("-id"))
    if not stops or row.contents == 0:
        raise Clash("vessel.not_stopped", "Nothing is stopped here, so there is nothing to lift.", state=row.state)
    for each in stops:
        if words := FINAL.get(StopKind(each.kind)):
            raise Clash("stop.final", words, kind=each.kind)
    if work.occurred_at < stops[0].occurred_at:
        words = "It was stopped after that. Give the time it was lifted, or leave it out for now."
        raise Malformed("time.before_stop", words, pointer="/occurred_at")
    judge_lifter(work, row)
    said = {"reason": reason, "by": work.by, "entry_id": work.entry_id, "occurred_at": work.occurred_at}
    lifted = [Lifting.objects.create(stop=each, **said) for each in stops]
    row.state = VesselState.READY
    redating.restate(row, work)
    return lifted[0]


def undo_locked(work: Work, target: Entry) -> None:
    """Lift the stops that an entry taken back had brought by breaking a rule; another stop keeps a vessel stopped."""
    broken = Stop.objects.filter(entry=target, kind=StopKind.RULE_BROKEN, lifting=None)
    for each in broken.select_related("vessel"):
        Lifting.objects.create(
            stop=each, reason="The entry that broke the rule was taken back.", by=work.by, entry_id=work.entry_id,
            occurred_at=work.occurred_at,
        )  # fmt: skip
        row = reread(each.vessel)
        if row.state == VesselState.STOPPED and not standing.open_stop(row):
            row.state = VesselState.READY
            redating.restate(row, work)


def judge_lifter(work: Work, vessel: Vessel) -> None:
    """Refuse who mixed what is in a vessel, by the darkroom's setting, to say that it may be used again."""
    words = "You mixed what is in it. Another technician or instructor lifts the stop."
    mixer = vessel.batch.mixed_by_id if vessel.batch else None
    progress.second_person(work, work.darkroom.second_person_release, mixer, code="lifter.mixer", words=words)


def pending(work: Work) -> Stop | None:
    """Return a stop of the person's that still stands, if there is one."""
    mine = Stop.objects.filter(by=work.whom, lifting=None, vessel__darkroom=work.darkroom)
    mine = mine.filter(vessel__state=VesselState.STOPPED, occurred_at__gte=F("vessel__filled_at"))
    return mine.select_related("vessel").first()


def _judge_pupil(work: Work) -> None:
    """A pupil's stop counts at once, and the next when somebody has looked at the first."""
    if standing_one := pending(work):
        words = (
            f"Your stop of {standing_one.vessel.name} still stands. Leave this vessel alone and tell the technician or"
            " the instructor, who stop it at once."
        )
        raise NotAllowed("stop.pending", words, vessel=str(standing_one.vessel.public_id))
