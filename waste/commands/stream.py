"""The kinds of waste a darkroom keeps apart."""

from collections.abc import Callable
from typing import Any

from accounts.acts import Act
from accounts.commands.entry import Work, command
from darkroom_service.refusal import Clash, Malformed
from waste.models import Stream
from waste.models.stream import OTHER
from waste.science.stream import is_list_code, starters

EDITABLE = frozenset({"name", "list_code", "note"})


@command(Act.STREAM_EDIT)
def create(
    work: Work, *, code: str, kind: str = "", name: str = "", list_code: str | None = None, note: str | None = None
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
        "note": note if note is not None else (starter.note if starter else ""),
    }
    _judge(wanted)
    if existing := Stream.objects.filter(darkroom=work.darkroom, code=code).first():
        words = "A stream of this code exists. Use that one, change it, or choose another code."
        raise Clash("stream.code_taken", words, id=str(existing.public_id))
    return Stream.objects.create(darkroom=work.darkroom, code=code, **wanted)


@command(Act.STREAM_EDIT)
def edit(work: Work, stream: Stream, changes: dict[str, Any], *, unchanged: Callable[[int], None]) -> Stream:
    """Change a stream's words. ``unchanged`` is given the version found under the lock."""
    stream = Stream.objects.get(darkroom=work.darkroom, pk=stream.pk)
    unchanged(stream.version)
    _judge(changes)
    changed = sorted(EDITABLE & changes.keys())
    for name in changed:
        setattr(stream, name, changes[name])
    stream.version += 1
    stream.save(update_fields=[*changed, "version"])
    return stream


def _judge(fields: dict[str, Any]) -> None:
    list_code = fields.get("list_code", "")
    if list_code and not is_list_code(list_code):
        words = "A List of Waste code is six digits in pairs, with * where hazardous, such as 09 01 04* or 09 01 99."
        raise Malformed("list_code.malformed", words, pointer="/list_code")
    kinds = [*starters(), OTHER]
    if fields.get("kind", OTHER) not in kinds:
        words = f"A kind is one of {', '.join(kinds)}."
        raise Malformed("stream.kind_unknown", words, pointer="/kind", kinds=kinds)
