"""The waste log: what came into the containers, what left them and how, in the order it happened.

The record that Directive 2008/98/EC, Article 35 asks for: quantity, nature, origin, destination, frequency, transport
and treatment. It is read in a stream as it stood at one instant, and is then the same for ever: nothing that can be
edited afterwards is in it.
"""

import heapq
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from operator import attrgetter
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet, Sum
from django.db.models.fields.json import KT
from django.utils.crypto import salted_hmac

from accounts.commands.entry import lock
from accounts.models import Darkroom, Entry, Membership
from darkroom_service import clock
from darkroom_service.localday import end_of, start_of
from darkroom_service.refusal import Malformed
from waste.models import Collection, DrainRelease, Fill

PAGE = 2000
SHORT = 8
UNNAMED = "no stream"
COUNTS = {"collection": 1, "collection-correction": -1}


class Line(NamedTuple):
    """One line. Volumes in 0.1 mL: ``came`` into a container, ``left`` it, ``drained`` past it, ``found`` in it.

    What a container holds is came - left + found; what is taken back stands with the opposite sign.
    """

    at: datetime
    recorded_at: datetime
    seq: int
    kind: str
    id: UUID
    stream: str
    list_code: str
    container: str
    came: int
    left: int
    drained: int
    found: int
    mass_g: int | None
    origin: str
    destination: str
    carrier: str
    document_number: str
    frequency: str
    transport: str
    treatment: str
    flags: str
    by: int
    whom: int | None

    @property
    def order(self) -> tuple[datetime, int, UUID]:
        """The place in the log: by when it happened, then by when it was written down."""
        return self.at, self.seq, self.id


@dataclass
class Total:
    """One stream's sums: opening + came - left + found = closing."""

    opening: int = 0
    came: int = 0
    left: int = 0
    drained: int = 0
    found: int = 0
    pickups: int = 0

    @property
    def closing(self) -> int:
        return self.opening + self.came - self.left + self.found

    def add(self, line: Line) -> None:
        """Count one line."""
        self.came += line.came
        self.left += line.left
        self.drained += line.drained
        self.found += line.found
        self.pickups += COUNTS.get(line.kind, 0)


@dataclass
class Log:
    """A log to be read once: ``lines`` in order, after which ``totals`` are complete."""

    darkroom: Darkroom
    as_of: datetime
    seq: int
    head: str
    first: date | None
    last: date | None
    totals: dict[str, Total] = field(default_factory=lambda: defaultdict(Total))

    def lines(self) -> Iterator[Line]:
        """Read the lines in a stream, a page at a time, and add them up on the way."""
        self._open()
        sources = (_fills(self._of(Fill)), _collections(self._of(Collection)), _releases(self._of(DrainRelease)))
        for line in heapq.merge(*sources, key=attrgetter("order")):
            self.totals[line.stream].add(line)
            yield line

    def _of(self, model: Any) -> QuerySet[Any]:
        rows = self._known(model)
        if self.first:
            rows = rows.filter(occurred_at__gte=start_of(self.first, self.darkroom.zone))
        if self.last:
            rows = rows.filter(occurred_at__lt=end_of(self.last, self.darkroom.zone))
        return rows.order_by("occurred_at", "entry_id", "public_id")

    def _known(self, model: Any) -> QuerySet[Any]:
        """Keep what had been written down: entries of one darkroom have ids that follow one another."""
        first = self.darkroom.pk << 32
        rows: QuerySet[Any] = model.objects.filter(entry_id__gt=first, entry_id__lte=first | self.seq)
        return rows

    def _open(self) -> None:
        """Work out what each stream's containers held before the first day."""
        self.totals.clear()
        if self.first is None:
            return
        before = start_of(self.first, self.darkroom.zone)
        sums = (("volume", Fill, 1), ("volume", Collection, -1), ("found", Collection, 1))
        for column, model, sign in sums:
            rows = self._known(model).filter(occurred_at__lt=before).order_by()
            for code, amount in rows.values_list("container__stream__code").annotate(sum=Sum(column)):
                self.totals[code].opening += sign * int(amount)


def drawn_up(darkroom: Darkroom, *, first: date | None, last: date | None, as_of: datetime | None) -> Log:
    """Return the log of some days (both included), as the record stood at ``as_of`` or stands now.

    The darkroom is locked for a moment, so that a command under way counts wholly or comes later.
    """
    if first and last and last < first:
        raise Malformed("period.backwards", "The last day is not before the first.", pointer="/to")
    with transaction.atomic():
        head = lock(darkroom.pk)
        now = clock.now()
        seq, link = head.seq, head.hash
    if as_of is not None and as_of > now:
        raise Malformed("time.future", "That time has not come yet. Leave it out for now.", pointer="/as_of")
    if as_of is not None:
        known = Entry.objects.filter(darkroom=darkroom, recorded_at__lte=as_of).order_by("-seq")
        seq, link = known.values_list("seq", "hash").first() or (0, "0" * 64)
    return Log(darkroom, as_of or now, seq, link, first, last)


class People:
    """Who is who in one log: a stable short pseudonym for each membership, or the names where they are disclosed."""

    def __init__(self, *, names: bool) -> None:
        self._names, self._known = names, dict[int, str]()

    def __call__(self, member: int | None) -> str:
        """Return what stands for a membership; nothing for nobody."""
        if member is None:
            return ""
        if member not in self._known:
            self._known[member] = self._named(member) if self._names else pseudonym(member)
        return self._known[member]

    @staticmethod
    def _named(member: int) -> str:
        return Membership.objects.select_related("person").get(pk=member).person.name


def pseudonym(member: int) -> str:
    """Return a pseudonym that only this service can work out, the same in every log."""
    return "p-" + salted_hmac("waste log", str(member), algorithm="sha256").hexdigest()[:SHORT]


def _fills(rows: QuerySet[Any]) -> Iterator[Line]:
    # The database takes the few words out of each snapshot: reading it whole would be most of the work.
    wanted = (
        "occurred_at", "entry__recorded_at", "entry__seq", "reverses_id", "public_id", "container__stream__code",
        KT("listed__list_code"), "container__code", "volume", "mass_g", KT("origin__text"), KT("origin__kind"),
        KT("origin__reason"), "flags", "entry__by_id", "entry__on_behalf_of_id",
    )  # fmt: skip
    for (
        at, told, seq, back, key, stream, listed, can, volume, mass, text, kind, reason, flags, by, whom,
    ) in rows.values_list(*wanted).iterator(chunk_size=PAGE):  # fmt: skip
        yield Line(
            at, told, seq, "fill-reversal" if back else "fill", key, stream, listed or "", can, volume,
            0, 0, 0, mass, _said(text, kind, reason), "", "", "", "", "", "", " ".join(flags), by, whom,
        )  # fmt: skip


def _collections(rows: QuerySet[Any]) -> Iterator[Line]:
    for row in rows.select_related("container__stream", "entry", "pickup").iterator(chunk_size=PAGE):
        paper, entry = row.paper, row.entry
        authorised = " ".join(filter(None, (paper["carrier"], _bracketed(paper["carrier_authorisation"]))))
        where = " ".join(filter(None, (paper["destination"], _bracketed(paper["destination_authorisation"]))))
        kind = "collection" if row.pickup else "emptying"
        if row.reverses_id:
            kind = "collection-correction" if row.pickup else "emptying-reversal"
        gone = (f"pickup {row.pickup.code}" if row.pickup else "", paper["way"], paper.get("reason", ""))
        yield Line(
            row.occurred_at, entry.recorded_at, entry.seq, kind, row.public_id, row.container.stream.code,
            paper["list_code"], row.container.code, 0, row.volume, 0, row.found, row.mass_g,
            " ".join(filter(None, gone)), where, authorised, paper["document_number"], paper["frequency"],
            paper["transport"], paper["treatment"], "", entry.by_id, entry.on_behalf_of_id,
        )  # fmt: skip


def _releases(rows: QuerySet[Any]) -> Iterator[Line]:
    for row in rows.select_related("stream", "entry", "rule").iterator(chunk_size=PAGE):
        allowed = f"drain rule {row.rule.number} ({row.rule.reference})" if row.rule else "no drain rule"
        yield Line(
            row.occurred_at, row.entry.recorded_at, row.entry.seq, "drain-reversal" if row.reverses_id else "drain",
            row.public_id, row.stream.code if row.stream else UNNAMED, row.listed.get("list_code", ""), "", 0, 0,
            row.volume, 0, None, origin_words(row.origin), f"drain: {allowed}", "", "", "", "drain", "",
            " ".join(row.flags), row.entry.by_id, row.entry.on_behalf_of_id,
        )  # fmt: skip


def origin_words(origin: dict[str, Any]) -> str:
    """Say where a liquid came from, by the snapshot kept with it."""
    return _said(*(origin.get(name) for name in ("text", "kind", "reason")))


def _said(text: str | None, kind: str | None, reason: str | None) -> str:
    parts = (text, f"({kind})" if kind else "", f"taken back: {reason}" if reason else "")
    return " ".join(filter(None, parts))


def _bracketed(text: str) -> str:
    return f"({text})" if text else ""
