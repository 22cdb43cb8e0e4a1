"""A question put to chemistry's rows to prove them: one set-wise query that returns the failing rows alone.

Written in SQL of its own, apart from the code it checks. In each query ``v`` is the table that says which darkroom a
row belongs to, and ``{room}`` stands where the rows of one darkroom are chosen, or all.
"""

from collections.abc import Iterator
from typing import NamedTuple

from django.db import connection


class Question(NamedTuple):
    """How a failing row is worded, and the query that finds it."""

    words: str
    query: str

    def failing(self, darkroom_id: int | None) -> Iterator[str]:
        """Yield a line for every row that fails."""
        room = "TRUE" if darkroom_id is None else "v.darkroom_id = %s"
        with connection.cursor() as cursor:
            cursor.execute(self.query.format(room=room), [] if darkroom_id is None else [darkroom_id])
            rows = cursor.fetchall()
        for row in rows:
            yield self.words.format(*row)
