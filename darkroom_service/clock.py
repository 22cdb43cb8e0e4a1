"""The one place the time is read, so that the demo and the tests can stand still."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

_fixed: ContextVar[datetime | None] = ContextVar("fixed_time", default=None)


def now() -> datetime:
    """Return the present instant in UTC."""
    return _fixed.get() or datetime.now(UTC)


@contextmanager
def fixed(at: datetime) -> Iterator[datetime]:
    """Hold the clock at ``at``: for the demo and the tests only."""
    if at.tzinfo is None:
        raise ValueError("a fixed time needs a zone")
    token = _fixed.set(at.astimezone(UTC))
    try:
        yield at
    finally:
        _fixed.reset(token)
