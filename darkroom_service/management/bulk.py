"""A darkroom with a long record, written in bulk for measuring; its chain and rows are as commands write them."""

from datetime import timedelta
from uuid import NAMESPACE_URL, uuid5

from accounts.models import Darkroom, Entry, Head, Membership, Person, Token
from accounts.models.entry import entry_id
from darkroom_service import clock
from waste.models import Container, Fill, Stream

YEARS_AGO = timedelta(days=1500)
LISTED = {"stream": "fixer", "list_code": "09 01 04*", "title": "fixer solutions", "hazardous": True}


def darkroom(rows: int, size: int) -> str:
    """Make the darkroom ``bench`` with so many fills, ``size`` at a time; returns a token of its technician."""
    now = clock.now()
    person = Person.objects.create(username="bench", name="Bench")
    room = Darkroom.objects.create(slug="bench", name="Bench", created_at=now)
    by = Membership.objects.create(darkroom=room, person=person, is_technician=True, joined_at=now)
    stream = Stream.objects.create(darkroom=room, code="fixer", kind="fixer", name="Fixer", list_code="09 01 04*")
    held = Container.objects.create(
        darkroom=room, code="BENCH", stream=stream, name="Can", material="hdpe", rated=10**15, working_fill=10**15,
        opened_at=now - YEARS_AGO,
    )  # fmt: skip
    link = "0" * 64
    for first in range(1, rows + 1, size):
        entries = [_entry(room, by, seq) for seq in range(first, min(first + size, rows + 1))]
        for entry in entries:
            entry.previous_hash, link = link, ""
            link = entry.hash = entry.digest_of_content()
        Entry.objects.bulk_create(entries)
        Fill.objects.bulk_create([_fill(held, entry) for entry in entries])
    Container.objects.filter(pk=held.pk).update(contents=2500 * rows)
    Head.objects.create(darkroom=room, seq=rows, hash=link)
    _, secret = Token.objects.create(user=person, expiry=None, name="bench")
    return str(secret)


def _entry(room: Darkroom, by: Membership, seq: int) -> Entry:
    at = room.created_at - YEARS_AGO + timedelta(seconds=100 * seq)
    return Entry(
        id=entry_id(room.pk, seq), darkroom=room, seq=seq, by=by, act="fill:create", key=uuid5(NAMESPACE_URL, str(seq)),
        digest="0" * 64, status=201, answer="{}", occurred_at=min(at, room.created_at),
        recorded_at=min(at, room.created_at),
    )  # fmt: skip


def _fill(held: Container, entry: Entry) -> Fill:
    origin = {"kind": "check-in", "stream": "fixer", "text": f"Rapid fixer 1+4, batch {entry.seq % 977:05d}"}
    return Fill(
        container=held, volume=2500, origin=origin, listed=LISTED, entry=entry, occurred_at=entry.occurred_at
    )  # fmt: skip
