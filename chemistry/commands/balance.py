"""Where every millilitre of a batch is: the account of its movements, held against what its vessels say they hold."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from django.db import connection

from chemistry.models import Batch, Place, Vessel

# A movement counts as leaving the batch at its source and as joining the batch at its target; a place that is no vessel
# takes the batch from the other side. What was taken back counts as less of the same, not as the way back.
SUMS = """
SELECT 'volume' AS kind, giver, taker, source, target, SUM(volume) FROM (
    SELECT giver, taker,
        CASE WHEN back THEN target ELSE source END AS source,
        CASE WHEN back THEN source ELSE target END AS target,
        CASE WHEN back THEN -volume ELSE volume END AS volume
    FROM (
        SELECT COALESCE(source_batch_id, target_batch_id) AS giver, COALESCE(target_batch_id, source_batch_id) AS taker,
            source, target, volume,
            reverses_id IS NOT NULL AND COALESCE(source_batch_id = target_batch_id, TRUE) AS back
        FROM chemistry_movement WHERE source_batch_id IN ({ids}) OR target_batch_id IN ({ids})) sides) flows
GROUP BY giver, taker, source, target
UNION ALL
SELECT 'cost', batch_id, batch_id,
    CASE WHEN member_id IS NOT NULL THEN 'members' WHEN into_id IS NOT NULL THEN 'batches' ELSE 'darkroom' END,
    '', SUM(minor)
FROM chemistry_costshare WHERE batch_id IN ({ids})
GROUP BY batch_id, member_id IS NOT NULL, into_id IS NOT NULL
UNION ALL
SELECT 'load', drawn.batch, drawn.batch, '', '', SUM(film.load)
FROM (
    SELECT DISTINCT entry_id, source_batch_id AS batch FROM chemistry_movement
    WHERE source = 'vessel' AND target = 'run' AND source_batch_id IN ({ids})) drawn
JOIN chemistry_checkin film ON film.entry_id = drawn.entry_id
LEFT JOIN chemistry_reversal undone ON undone.target_id = film.entry_id
WHERE undone.id IS NULL GROUP BY drawn.batch
UNION ALL
SELECT 'load', filled.batch, filled.batch, '', '', SUM(paper.load)
FROM (
    SELECT DISTINCT session.id AS session, moved.target_batch_id AS batch
    FROM chemistry_movement moved
    JOIN chemistry_traysession session ON session.entry_id = moved.entry_id
    JOIN chemistry_sessiontray tray ON tray.session_id = session.id AND tray.vessel_id = moved.target_vessel_id
    WHERE moved.target_batch_id IN ({ids})) filled
JOIN chemistry_tally paper ON paper.session_id = filled.session
LEFT JOIN chemistry_reversal undone ON undone.target_id = paper.entry_id
WHERE undone.id IS NULL GROUP BY filled.batch
"""
AWAY = (Place.CARRIED_OUT, Place.CONTAINER, Place.DRAIN, Place.SPILLED, Place.EVAPORATED, Place.UNACCOUNTED)


class Flow(NamedTuple):
    """One sum as the database gives it: PostgreSQL adds whole numbers up to a decimal."""

    kind: str
    giver: int
    taker: int
    source: str
    target: str
    amount: int | Decimal


@dataclass
class Balance:
    """One batch's account. Volumes in 0.1 mL, load in 1/3600 roll unit, cost in minor units.

    - ``made`` and ``water`` came from outside, ``from_batches`` from other batches.
    - ``into_batches`` went on to others: diluted from it, blended with it, poured into their vessel.
    - ``places``: what is where by the movements, above zero where liquid went to, below where it came from. What is
      *unaccounted* is what went missing less what was found.
    - ``runs_in`` filled tanks, by where it came from; ``runs_out`` is what became of that: poured back into vessels,
      carried out on film, poured away.
    - ``vessels`` hold it now, by their own totals.
    - ``load_done``: the film and paper that went through it. ``borne``: the cost by who bears it.
    """

    batch: Batch
    places: Counter[str] = field(default_factory=Counter)
    from_batches: int = 0
    into_batches: int = 0
    runs_in: Counter[str] = field(default_factory=Counter)
    runs_out: Counter[str] = field(default_factory=Counter)
    vessels: list[Vessel] = field(default_factory=list)
    load_done: int = 0
    borne: Counter[str] = field(default_factory=Counter)

    @property
    def made(self) -> int:
        return -self.places[Place.MADE]

    @property
    def water(self) -> int:
        return -self.places[Place.WATER]

    @property
    def in_vessels(self) -> int:
        return sum(vessel.contents for vessel in self.vessels)

    @property
    def load_standing(self) -> int:
        """The load on what stands in vessels now; the rest of it went with the liquid."""
        return sum(vessel.load for vessel in self.vessels)

    @property
    def difference(self) -> int:
        """What came in, less what went on, went away and stands in vessels: always nothing, or the record is broken."""
        away = sum(self.places[place] for place in AWAY)
        return self.made + self.water + self.from_batches - self.into_batches - away - self.in_vessels

    @property
    def not_borne(self) -> int:
        """The cost nobody bears yet: that of what still stands in vessels."""
        return self.batch.cost_minor - self.borne.total()

    def post(self, flow: Flow) -> None:
        """Count one sum: of volume, of cost, or of load."""
        if flow.kind == "cost":
            self.borne[flow.source] += int(flow.amount)
        elif flow.kind == "load":
            self.load_done += int(flow.amount)
        else:
            self._move(flow)

    def _move(self, flow: Flow) -> None:
        """Count what moved from one batch at one place to the same or another at another place."""
        gives, takes, volume = flow.giver == self.batch.pk, flow.taker == self.batch.pk, int(flow.amount)
        self.places[flow.source] -= volume * gives
        self.places[flow.target] += volume * takes
        self.into_batches += volume * (gives and not takes)
        self.from_batches += volume * (takes and not gives)
        if flow.target == Place.RUN and takes:
            self.runs_in[flow.source] += volume
        if flow.source == Place.RUN and gives:
            self.runs_out[flow.target] += volume


def drawn_up(batches: Sequence[Batch]) -> list[Balance]:
    """Return the balance of each batch, in two queries for all of them."""
    found = {batch.pk: Balance(batch) for batch in batches}
    for flow in _flows(list(found)):
        for pk in {flow.giver, flow.taker} & found.keys():
            found[pk].post(flow)
    for vessel in Vessel.objects.filter(batch__in=found, contents__gt=0).order_by("code"):
        if vessel.batch_id:
            found[vessel.batch_id].vessels.append(vessel)
    return list(found.values())


def _flows(batches: list[int]) -> list[Flow]:
    """Ask for all sums of some batches at once."""
    if not batches:
        return []
    with connection.cursor() as cursor:
        cursor.execute(SUMS.format(ids=", ".join(["%s"] * len(batches))), batches * SUMS.count("{ids}"))
        return [Flow(*row) for row in cursor.fetchall()]
