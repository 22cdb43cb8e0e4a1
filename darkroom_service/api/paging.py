"""Lists in pages that lose no row: ordered by one unique column, continued after the last one seen."""

import base64
import binascii
import re
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from darkroom_service.refusal import Malformed

DEFAULT_LIMIT = 50
HIGHEST_LIMIT = 200
WHOLE = re.compile(r"[1-9][0-9]{0,17}", re.ASCII)
Row = TypeVar("Row", bound=Model)
Thing = TypeVar("Thing")


def page(request: Request, rows: QuerySet[Row], write: Callable[[list[Row]], Any], *, column: str = "-id") -> Response:
    """Answer one page of ``rows``, worded by ``write``; ``column`` is unique and holds whole numbers."""
    limit, after = _limit(request), _after(request)
    name, falling = column.removeprefix("-"), column.startswith("-")
    if after is not None:
        rows = rows.filter(**{f"{name}__{'lt' if falling else 'gt'}": after})
    found = list(rows.order_by(column)[: limit + 1])
    shown, more = found[:limit], len(found) > limit
    return _answer(request, write(shown), getattr(shown[-1], name) if more else None)


def page_of_table(
    request: Request, rows: Sequence[Thing], write: Callable[[Sequence[Thing]], Any], *, number: Callable[[Thing], int]
) -> Response:
    """Answer one page of a table that is no rows of the database; ``number`` is each thing's own, rising."""
    limit, after = _limit(request), _after(request)
    found = sorted((each for each in rows if after is None or number(each) > after), key=number)
    shown, more = found[:limit], len(found) > limit
    return _answer(request, write(shown), number(shown[-1]) if more else None)


def _answer(request: Request, items: Any, last: int | None) -> Response:
    """Answer these items, with the address of what follows the last one where something does."""
    following = None if last is None else _address(request, last)
    headers = {"Link": f'<{following}>; rel="next"'} if following else {}
    return Response({"items": items, "next": following}, headers=headers)


def _limit(request: Request) -> int:
    text = request.query_params.get("limit", str(DEFAULT_LIMIT))
    if not WHOLE.fullmatch(text) or int(text) > HIGHEST_LIMIT:
        raise Malformed("limit.invalid", f"limit is a whole number from 1 to {HIGHEST_LIMIT}", pointer="")
    return int(text)


def _after(request: Request) -> int | None:
    cursor = request.query_params.get("cursor")
    if cursor is None:
        return None
    try:
        text = base64.b64decode(cursor.encode("ascii"), altchars=b"-_", validate=True).decode("ascii")
    except (binascii.Error, UnicodeError):
        text = ""
    if not WHOLE.fullmatch(text):
        raise Malformed("cursor.invalid", "take the cursor from the next link of the page before", pointer="")
    return int(text)


def _address(request: Request, last: int) -> str:
    """Return the next page's address, relative so that no Host header can bend it."""
    query = request.query_params.copy()
    query["cursor"] = base64.urlsafe_b64encode(str(last).encode()).decode()
    return f"{request.path}?{query.urlencode()}"
