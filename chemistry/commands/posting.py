"""What one command writes into the two ledgers: rows gathered as it judges, written together at its end.

A report from before a vessel's level was last known for sure (filled, emptied, read off) changes no level: what it
took or brought is balanced against *unaccounted*, since the later look at the vessel already saw the effect.

Three things hold of every vessel after ``close``: its totals are the sums of its rows; none is below zero; and where
nothing is left in it, no load and no basis is left either.
"""

from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import NamedTuple

from django.db.models import Sum

from accounts.commands.entry import LATE_AFTER, Work
from chemistry.commands.hazards import substances_of
from chemistry.commands.standing import load_limit, recall, refresh
from chemistry.models import Batch, Charge, Movement, Place, Vessel, VesselState
from chemistry.science.blend import share
from chemistry.science.hazard.table import Table
from waste.models import DrainRelease, Fill

TOTALS = (
    "contents", "basis", "load", "area", "batch", "use", "film_or_paper", "state", "filled_at", "level_known_at",
    "made_at", "part_full_since", "last_pass_at", "last_strip_at", "closed_at", "oxygen_low", "oxygen_high",
    "worst_left_at_pass", "use_by", "use_by_rule", "load_limit", "replenish_owed", "version",
)  # fmt: skip
Share = tuple[int, int, int]  # basis, load, area


class Totals(NamedTuple):
    """What stood in a vessel at some time, and what it had done."""

    contents: int
    basis: int
    load: int
    area: int


@dataclass
class Posting:
    """One command's rows. Volumes in 0.1 mL, load in 1/3600 roll unit, area in 0.001 cm²; ``at``: when it happened."""

    work: Work
    at: datetime
    movements: list[Movement] = field(default_factory=list)
    charges: list[Charge] = field(default_factory=list)
    touched: dict[int, Vessel] = field(default_factory=dict)
    flags: list[str] = field(default_factory=list)
    running: int = 0

    def close(self, *, rethink: bool = False) -> None:
        """Write every row and total. The tank must be empty again: what went into it has gone somewhere.

        Late rows change what followed (``rethink`` says that others do too): the vessels' dates are found anew.
        """
        if self.running:
            raise AssertionError(f"{self.running} of 0.1 mL left in the tank")
        vessels = list(self.touched.values())
        for vessel in vessels:
            self._leave_nothing(vessel)
        Movement.objects.bulk_create(self.movements)
        Charge.objects.bulk_create(self.charges)
        for vessel in vessels:
            if rethink or self.late:
                recall(vessel, self.work)
            vessel.version += 1
            if vessel.contents == 0:
                vessel.state = VesselState.EMPTIED
            elif vessel.state == VesselState.EMPTIED:
                refresh(vessel, self.work)
            vessel.load_limit = load_limit(vessel)
        if vessels:
            Vessel.objects.bulk_update(vessels, TOTALS)

    @cached_property
    def substances(self) -> Table:
        """The substance table as the darkroom uses it, asked for once."""
        return substances_of(self.work.darkroom)

    @property
    def late(self) -> bool:
        """Tell whether this is told so late that other things may have happened since."""
        return self.work.recorded_at - self.at > LATE_AFTER

    def anchored(self, vessel: Vessel) -> bool:
        """Tell whether the vessel's level was known for sure after this happened: filled anew, emptied or read off."""
        known = vessel.level_known_at
        return self.gone(vessel) or (known is not None and self.at < known)

    def gone(self, vessel: Vessel) -> bool:
        """Tell whether the vessel was filled anew after this happened."""
        return vessel.filled_at is not None and self.at < vessel.filled_at

    def batch_of(self, vessel: Vessel) -> Batch | None:
        """Return the batch that stood in the vessel when this happened."""
        if not self.gone(vessel):
            return vessel.batch
        filled = Movement.objects.filter(target_vessel=vessel, occurred_at__lte=self.at).exclude(target_batch=None)
        latest = filled.select_related("target_batch__formula_version").order_by("-occurred_at", "-id").first()
        return latest.target_batch if latest else None

    def into(
        self, vessel: Vessel, volume: int, place: Place, *, source_batch: Batch | None, basis: int,
        batch: Batch | None = None,
    ) -> None:  # fmt: skip
        """Let liquid from a place come into a vessel, as part of the batch that stood there unless told otherwise."""
        basis = 0 if self.gone(vessel) else basis
        vessel.contents += volume
        vessel.basis += basis
        self.row(
            volume, place, Place.VESSEL, source_batch=source_batch, target_vessel=vessel,
            target_batch=batch or self.batch_of(vessel), target_basis=basis,
        )  # fmt: skip
        self.touch(vessel)

    def row(self, volume: int, source: Place, target: Place, **more: object) -> None:
        """Gather one movement; nothing moved is no row."""
        if volume > 0:
            entry_id = self.work.entry_id
            row = Movement(entry_id=entry_id, occurred_at=self.at, volume=volume, source=source, target=target, **more)
            self.movements.append(row)

    def charge_row(self, vessel: Vessel, load: int, area: int, *, moved: bool, reverses: Charge | None = None) -> None:
        """Gather one charge and keep the totals."""
        vessel.load += load
        vessel.area += area
        entry_id = self.work.entry_id
        row = Charge(entry_id=entry_id, occurred_at=self.at, vessel=vessel, load=load, area=area, moved=moved)
        row.reverses = reverses
        self.charges.append(row)
        self.touch(vessel)

    def touch(self, *vessels: Vessel) -> None:
        """Remember vessels whose totals changed."""
        for vessel in vessels:
            self.touched[vessel.pk] = vessel

    def out(
        self, vessel: Vessel, volume: int, place: Place, *, share_goes: bool, fill: Fill | None = None,
        release: DrainRelease | None = None, batch: Batch | None = None,
    ) -> None:  # fmt: skip
        basis = self.take_share(vessel, volume)[0] if share_goes and not self.anchored(vessel) else 0
        vessel.contents -= volume
        self.row(
            volume, Place.VESSEL, place, source_vessel=vessel, source_batch=batch or self.batch_of(vessel),
            source_basis=basis, fill=fill, release=release,
        )  # fmt: skip
        self.touch(vessel)

    def cover(self, vessel: Vessel, volume: int) -> None:
        """Bring what the record lacks from unaccounted, so that contents never go below zero."""
        anchored = self.anchored(vessel)
        if (short := volume if anchored else volume - vessel.contents) > 0:
            self.into(vessel, short, Place.UNACCOUNTED, source_batch=self.batch_of(vessel), basis=0)
            if not anchored:
                self.flags.append("vessel.short")

    def settle(self, vessel: Vessel, volume: int, batch: Batch | None) -> None:
        """Take a late gain off again where the level was known for sure since."""
        if self.anchored(vessel):
            self.out(vessel, volume, Place.UNACCOUNTED, share_goes=False, batch=batch)

    def take_share(self, vessel: Vessel, volume: int) -> Share:
        """Take the basis, load and area that went with a volume when it was poured; returns them."""
        then = self.then(vessel)
        part = min(volume, then.contents)
        basis = min(share(then.basis, part, then.contents), vessel.basis)
        load = min(share(then.load, part, then.contents), vessel.load)
        area = min(share(then.area, part, then.contents), vessel.area)
        vessel.basis -= basis
        self.charge_share(vessel, -load, -area)
        return basis, load, area

    def then(self, vessel: Vessel) -> Totals:
        """Return a vessel's totals when this happened, by the record: those of now, less what came and went since."""
        if self.at >= self.work.recorded_at:
            return Totals(vessel.contents, vessel.basis, vessel.load, vessel.area)
        since = Movement.objects.filter(occurred_at__gt=self.at)
        came = since.filter(target_vessel=vessel).aggregate(volume=Sum("volume"), basis=Sum("target_basis"))
        went = since.filter(source_vessel=vessel).aggregate(volume=Sum("volume"), basis=Sum("source_basis"))
        charged = Charge.objects.filter(occurred_at__gt=self.at, vessel=vessel)
        sums = charged.aggregate(load=Sum("load"), area=Sum("area"))
        return Totals(
            max(vessel.contents - (came["volume"] or 0) + (went["volume"] or 0), 0),
            max(vessel.basis - (came["basis"] or 0) + (went["basis"] or 0), 0),
            max(vessel.load - (sums["load"] or 0), 0),
            max(vessel.area - (sums["area"] or 0), 0),
        )

    def charge_share(self, vessel: Vessel, load: int, area: int) -> None:
        if load or area:
            self.charge_row(vessel, load, area, moved=True)

    def _leave_nothing(self, vessel: Vessel) -> None:
        """Let what is left of load and basis go with the last of the liquid."""
        if vessel.contents:
            return
        if vessel.basis:
            last = [row for row in self.movements if row.source_vessel_id == vessel.pk][-1]
            last.source_basis += vessel.basis
            vessel.basis = 0
        self.charge_share(vessel, -vessel.load, -vessel.area)


def portion(vessel: Vessel, volume: int) -> tuple[int, int]:
    """Return the load and area that go with a volume of what a vessel holds."""
    return share(vessel.load, volume, vessel.contents), share(vessel.area, volume, vessel.contents)
