"""The filling before, where the one that followed it is taken back: found again in the ledgers, as far as they know."""

from datetime import datetime
from decimal import Decimal
from itertools import groupby

from django.db.models import Q

from accounts.commands.entry import Work
from accounts.models import Entry
from chemistry.commands import air, flagtext, stop
from chemistry.models import Batch, Charge, CheckIn, Movement, Place, SessionTray, Vessel, VesselState
from chemistry.models.stop import StopKind
from chemistry.science.formula import Kind, Material, Use
from chemistry.science.oxidation import Dose

UNDONE = "vessel.refilling_undone"


def step_back(vessel: Vessel, target: Entry) -> None:
    """Let a vessel that an entry taken back had filled, and that is empty again, be what was emptied before that.

    What the ledgers do not keep (the air let in, a date brought along) is taken at its worst.
    """
    found = _filling(vessel, target)
    if vessel.contents or vessel.filled_at != target.occurred_at or found is None:
        return
    vessel.filled_at, vessel.batch = found
    vessel.made_at = min(filter(None, (vessel.batch.mixed_at, vessel.filled_at)))
    vessel.last_pass_at = vessel.last_strip_at = vessel.part_full_since = None
    vessel.worst_left_at_pass, vessel.replenish_owed, vessel.closed_at = Decimal(1), 0, vessel.filled_at
    vessel.use, vessel.film_or_paper = _worked(vessel)
    air.keep(vessel, Dose())


def doubt_locked(work: Work, target: Entry, came_back: list[Vessel]) -> list[str]:
    """Stop what came back into a vessel that had been filled anew since; returns the flag earned."""
    undone = Movement.objects.filter(entry_id__gt=target.pk, reverses=None, reversed_by__isnull=False)
    refilled = undone.exclude(source=Place.UNACCOUNTED).exclude(target_vessel=None).values("target_vessel")
    rows = Vessel.objects.with_contents().filter(pk__in=[each.pk for each in came_back])
    doubtful = list(rows.filter(pk__in=refilled))
    for vessel in doubtful:
        if vessel.state != VesselState.STOPPED:
            stop.stop_locked(work, vessel, kind=StopKind.RULE_BROKEN, reason=flagtext.TEXTS[UNDONE])
    return [UNDONE] if doubtful else []


def _filling(vessel: Vessel, target: Entry) -> tuple[datetime, Batch] | None:
    """Return when the latest filling but an entry's began, and the batch it was in the end."""
    lives = Movement.objects.filter(reverses=None, reversed_by=None).exclude(entry=target)
    moves = lives.filter(Q(source_vessel=vessel) | Q(target_vessel=vessel), occurred_at__lte=target.occurred_at)
    contents, begun, batch = 0, None, None
    rows = moves.select_related("source_batch__formula_version__formula", "target_batch__formula_version__formula")
    for at, together in groupby(rows.order_by("occurred_at", "id"), key=lambda row: row.occurred_at):
        for row in together:
            came, went = row.target_vessel_id == vessel.pk, row.source_vessel_id == vessel.pk
            if came and not went and contents == 0:
                begun = at
            contents = max(contents + row.volume * (came - went), 0)
            batch = (row.target_batch if came else row.source_batch) or batch
    return (begun, batch) if begun and batch else None


def _worked(vessel: Vessel) -> tuple[str, str]:
    """Return the way of use and the material of what stood in a vessel, by what was charged to it and drawn of it."""
    charged = Charge.objects.filter(vessel=vessel, load__gt=0, occurred_at__gte=vessel.filled_at, reverses=None)
    drawn = Movement.objects.filter(
        source_vessel=vessel, target=Place.RUN, occurred_at__gte=vessel.filled_at, reverses=None, reversed_by=None
    )
    entries = charged.filter(reversed_by=None).values("entry")
    told = CheckIn.objects.filter(Q(entry__in=entries) | Q(entry__in=drawn.values("entry")))
    if SessionTray.objects.filter(vessel=vessel, session__opened_at__gte=vessel.filled_at).exists():
        return Use.TRAY, Material.PAPER
    if first := told.select_related("line").order_by("occurred_at").first():
        developer = vessel.batch and vessel.batch.formula_version.rules.kind is Kind.DEVELOPER
        use = {"one_shot": Use.FRESH}.get(first.use, first.use) if developer else Use.REUSE
        return use, first.line.film_or_paper
    return (Use.REUSE, Material.FILM) if entries.exists() else ("", "")
