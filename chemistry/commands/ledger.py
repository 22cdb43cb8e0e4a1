"""The two ledgers as a command keeps them: a ``Book`` of what was poured where, and of what was charged.

A ``Book`` moves liquid between places and charges load, keeps the running totals of the vessels it touches, and on
``close`` writes all rows and totals in a handful of statements, however much there is to write. ``posting`` says how a
report is kept that comes late.
"""

from chemistry.commands.posting import Posting, Share, Totals
from chemistry.models import Batch, Movement, Place, Vessel
from chemistry.science.loss import worth_telling
from waste.models import DrainRelease, Fill

# 5 % of what stood there and 200 mL: our choice, the limits above which a loss is worth a notice.
LARGE_PERCENT, LARGE_LOSS = 5, 2000


class Book(Posting):
    """The verbs of the bench, each a row or a few."""

    def draw(self, vessel: Vessel, volume: int, *, comes_back: bool) -> None:
        """Pour from a vessel into the tank. What will come back takes no basis or load along; the rest its share."""
        self.cover(vessel, volume)
        self.out(vessel, volume, Place.RUN, share_goes=not comes_back)
        self.running += volume

    def give_back(self, vessel: Vessel, volume: int) -> None:
        """Pour from the tank back into the vessel it came from."""
        self.into(vessel, volume, Place.RUN, source_batch=self.batch_of(vessel), basis=0)
        self.settle(vessel, volume, None)
        self.running -= volume

    def run_to(self, place: Place, volume: int, *, batch: Batch | None, fill: Fill | None = None) -> None:
        """Let liquid leave the tank for a container, or carried out on film."""
        self.row(volume, Place.RUN, place, source_batch=batch, fill=fill)
        self.running -= volume

    def water(self, volume: int, *, batch: Batch | None = None) -> None:
        """Add water to the tank, to what was drawn of a batch."""
        self.row(volume, Place.WATER, Place.RUN, target_batch=batch)
        self.running += volume

    def leave(
        self, vessel: Vessel, volume: int, place: Place, *, fill: Fill | None = None,
        release: DrainRelease | None = None,
    ) -> None:  # fmt: skip
        """Let liquid leave a vessel for good: poured away, spilled, evaporated or gone. It takes its share of load."""
        self.cover(vessel, volume)
        self.out(vessel, volume, place, share_goes=True, fill=fill, release=release)

    def move(self, source: Vessel, target: Vessel, volume: int, *, into: Batch) -> None:
        """Pour from vessel to vessel, where it counts as part of a batch; load and basis go along by share."""
        known_since, batch = self.anchored(source), self.batch_of(source)
        taken = gained = (0, 0, 0)
        if known_since:
            gained = self._guessed_share(source, volume)
        self.cover(source, volume)
        if not known_since:
            gained = taken = self.take_share(source, volume)
        if self.gone(target):
            gained = (0, 0, 0)
        source.contents -= volume
        target.contents += volume
        target.basis += gained[0]
        self.row(
            volume, Place.VESSEL, Place.VESSEL, source_vessel=source, source_batch=batch, source_basis=taken[0],
            target_vessel=target, target_batch=into, target_basis=gained[0],
        )  # fmt: skip
        self.touch(source, target)
        self.charge_share(target, *gained[1:])
        self.settle(target, volume, into)

    def make(
        self, vessel: Vessel, volume: int, place: Place = Place.MADE, *, batch: Batch | None = None,
        made_as: Batch | None = None,
    ) -> None:  # fmt: skip
        """Let new liquid come into a vessel, made from a packet, or water: of what stands in it, or of a batch told.

        ``made_as``: the batch it was made as, where it joins another at once.
        """
        self.into(vessel, volume, place, source_batch=made_as, basis=volume, batch=batch)
        self.settle(vessel, volume, batch)

    def relabel(self, vessel: Vessel, batch: Batch) -> None:
        """Let what stands in a vessel count as part of another batch from here on, as when two are combined."""
        self.rename(vessel, vessel.contents, vessel.batch, batch)
        vessel.batch = batch
        self.touch(vessel)

    def rename(
        self, vessel: Vessel, volume: int, was: Batch | None, becomes: Batch, *, reverses: Movement | None = None
    ) -> None:
        """Let a volume standing in a vessel count as part of another batch; neither level nor basis changes."""
        self.row(
            volume, Place.VESSEL, Place.VESSEL, source_vessel=vessel, source_batch=was, target_vessel=vessel,
            target_batch=becomes, reverses=reverses,
        )  # fmt: skip

    def level(self, vessel: Vessel, measured: int) -> int:
        """Set a vessel to what was read off; returns the difference, which went to or came from unaccounted.

        A small loss clung to film or stayed in the measure, and the load stays; a large one was poured, and took its
        share along. A reading told late counts for its own time; if a later look prevails, it changes nothing.
        """
        if self.anchored(vessel):
            return 0
        then = self.then(vessel).contents
        difference = max(measured - then, -vessel.contents)
        if difference > 0:
            self.into(vessel, difference, Place.UNACCOUNTED, source_batch=vessel.batch, basis=0)
        elif difference < 0:
            self.out(vessel, -difference, Place.UNACCOUNTED, share_goes=is_large(-difference, then))
        self.level_known(vessel)
        return difference

    def level_known(self, vessel: Vessel) -> None:
        """Mark that from here on the level is known for sure: emptied, or read off."""
        alone = {vessel.pk, None}
        if mine := [row for row in self.movements if {row.source_vessel_id, row.target_vessel_id} == alone]:
            mine[-1].sets_level = True
        vessel.level_known_at = max(vessel.level_known_at or self.at, self.at)
        self.touch(vessel)

    def charge(self, vessel: Vessel, load: int, area: int, *, moved: bool = False) -> None:
        """Charge film or paper to a vessel; if its filling is gone since, the load went with the liquid."""
        signs = (1, -1) if self.gone(vessel) and not moved else (1,)
        for sign in signs:
            self.charge_row(vessel, sign * load, sign * area, moved=moved or sign < 0)

    def _guessed_share(self, vessel: Vessel, volume: int) -> Share:
        """Say what came along in a pour told after a later look at the vessel, by what stood there then."""
        then = Totals(0, 0, 0, 0) if self.gone(vessel) else self.then(vessel)
        if not then.contents:
            return volume, 0, 0
        return volume, then.load * volume // then.contents, then.area * volume // then.contents


def is_large(loss: int, of: int) -> bool:
    """Tell whether a loss is worth a notice: above 5 % and 200 mL."""
    return worth_telling(loss, of, percent=LARGE_PERCENT, volume=LARGE_LOSS)
