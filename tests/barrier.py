"""Several at once, released from a barrier: scattered starts would miss most of what a race has to show."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connection, connections

from darkroom_service.refusal import Refusal

PATIENCE = 60  # seconds; the time a busy machine needs to start all threads


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Run all acts together and return what each returned, or the refusal it met; each has its own connection ready."""
    barrier = Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        try:
            connection.ensure_connection()
            barrier.wait(PATIENCE)
            return act()
        except Refusal as refusal:
            return refusal
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def refused(results: Iterable[Any]) -> list[str]:
    """Return the codes of those that were refused."""
    return [each.code for each in results if isinstance(each, Refusal)]
