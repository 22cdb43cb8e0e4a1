"""The kinds of waste a darkroom keeps apart."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from darkroom_service.refusal import Clash, Malformed
from waste.models import Stream, StreamVersion
from waste.models.stream import OTHER
from waste.science.stream import is_list_code, is_us_code, listing, starters

WORDS = ("name", "list_code", "us_codes", "note")


@command(Act.STREAM_EDIT)
def create(
    work: Work,
    *,
    code: str,
    kind: str = "",
    name: str = "",
    list_code: str | None = None,
    us_codes: Sequence[str] | None = None,
    note: str | None = None,
) -> Stream:
    """Add a stream: a starter by its code alone, or one of one's own, which says what kind it is a case of."""
    starter = starters().get(code)
    if starter is None and not name:
        words = f"No starter stream has that code. Give your own stream a name, or take one of {', '.join(starters())}."
        raise Malformed("stream.name_missing", words, pointer="/name", starters=list(starters()))
    wanted = {
        "kind": kind or (starter.code if starter else OTHER),
        "name": name or (starter.name if starter else ""),
        "list_code": list_code if list_code is not None else (starter.list_code if starter else ""),
        "us_codes": list(us_codes if us_codes is not None else (starter.us_codes if starter else ())),
        "note": note if note is not None else (starter.note if starter else ""),
    }
    _judge(wanted)
    if existing := Stream.objects.filter(darkroom=work.darkroom, code=code).first():
        words = "A stream of this code exists. Use that one, change it, or choose another code."
        raise Clash("stream.code_taken", words, id=str(existing.public_id))
    stream = Stream.objects.create(darkroom=work.darkroom, code=code, **wanted)
    _keep(work, stream, 1, work.occurred_at)
    return stream


@command(Act.STREAM_EDIT)
def edit(
    work: Work,
    stream: Stream,
    changes: dict[str, Any],
    *,
    unchanged: Callable[[int], None],
    valid_from: datetime | None = None,
) -> Stream:
    """Write how a stream reads from ``valid_from`` on (now unless told); what was poured before keeps its codes.

    ``unchanged`` is given the version found under the lock. Nothing is changed ahead of its time.
    """
    stream = Stream.objects.get(darkroom=work.darkroom, pk=stream.pk)
    unchanged(stream.version)
    since = valid_from or work.recorded_at
    if since > work.recorded_at:
        words = "That time has not come yet. Enter the change on the day it holds, or leave the time out for now."
        raise Malformed("time.future", words, pointer="/valid_from")
    _judge(changes)
    read = StreamVersion.objects.as_of(stream, since) or stream
    for name in WORDS:
        setattr(stream, name, changes.get(name, getattr(read, name)))
    _keep(work, stream, stream.version + 1, since)
    now = StreamVersion.objects.as_of(stream, work.recorded_at) or stream
    for name in WORDS:
        setattr(stream, name, getattr(now, name))
    stream.version += 1
    stream.save(update_fields=[*WORDS, "version"])
    return stream


def listed(stream: Stream, at: datetime) -> dict[str, Any]:
    """Return a stream with its codes as they read at an instant: what a ledger row keeps of it."""
    read = StreamVersion.objects.as_of(stream, at) or stream
    entry = listing(read.list_code, at.date())
    return {
        "stream": stream.code,
        "name": read.name,
        "list_code": read.list_code,
        "title": entry.title,
        "hazardous": entry.hazardous,
        "list_version": entry.list_version,
        "us_codes": list(read.us_codes),
    }


def _keep(work: Work, stream: Stream, number: int, since: datetime) -> None:
    words = {name: getattr(stream, name) for name in WORDS}
    StreamVersion.objects.create(stream=stream, number=number, valid_from=since, entry_id=work.entry_id, **words)


def _judge(fields: dict[str, Any]) -> None:
    list_code = fields.get("list_code", "")
    if list_code and not is_list_code(list_code):
        words = "A List of Waste code is six digits in pairs, with * where hazardous, such as 09 01 04* or 09 01 99."
        raise Malformed("list_code.malformed", words, pointer="/list_code")
    for index, code in enumerate(fields.get("us_codes", ())):
        if not is_us_code(code):
            words = "A waste code of the United States is a letter and three digits, such as D011."
            raise Malformed("us_code.malformed", words, pointer=f"/us_codes/{index}")
    kinds = [*starters(), OTHER]
    if fields.get("kind", OTHER) not in kinds:
        words = f"A kind is one of {', '.join(kinds)}."
        raise Malformed("stream.kind_unknown", words, pointer="/kind", kinds=kinds)
