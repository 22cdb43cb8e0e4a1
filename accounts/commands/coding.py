"""Short codes for labels, each once in its darkroom."""

from collections.abc import Iterator
from hashlib import sha256
from itertools import count
from typing import Any

from django.db.models import Model

from accounts.commands.entry import Work
from darkroom_service import shortcode


def fresh_code(work: Work, model: type[Model]) -> str:
    """Return a code that nothing of this kind has in the darkroom, whose lock keeps it free until we commit."""
    return fresh_codes(work, model, 1)[0]


def fresh_codes(work: Work, model: type[Model], number: int) -> list[str]:
    """Return so many different free codes."""
    rows: Any = model._default_manager
    draws, free = _draws(work, model), dict[str, None]()
    while len(free) < number:
        drawn = [next(draws) for _ in range(number - len(free))]
        taken = set(rows.filter(darkroom=work.darkroom, code__in=drawn).values_list("code", flat=True))
        free |= dict.fromkeys(code for code in drawn if code not in taken)
    return list(free)


def _draws(work: Work, model: type[Model]) -> Iterator[str]:
    """Draw from the entry's place, so that a story retold gives the same labels."""
    for attempt in count():
        yield shortcode.make(sha256(f"{model._meta.label} {work.darkroom.slug} {work.seq} {attempt}".encode()).digest())
