"""JSON read strictly: what two readers could read two ways, or what only an attacker sends, is refused."""

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from rest_framework import status
from rest_framework.exceptions import APIException
from rest_framework.parsers import BaseParser

from darkroom_service.refusal import Malformed

HIGHEST_SIZE = 256 * 1024
HIGHEST_DEPTH = 20
MOST_NAMES = 5000
LONGEST_NUMBER = 24


class BodyTooLarge(APIException):
    """More was sent than any honest request holds."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "body.too_large"
    default_detail = f"A request holds at most {HIGHEST_SIZE // 1024} KiB; send the rest in further requests."


class StrictJSONParser(BaseParser):
    """Read ``application/json`` in UTF-8; bare numbers stay exact."""

    media_type = "application/json"

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        """Return the decoded body."""
        body: bytes = stream.read(HIGHEST_SIZE + 1)
        if len(body) > HIGHEST_SIZE:
            raise BodyTooLarge
        return read(body)


def read(body: bytes) -> Any:
    """Decode one JSON text: no duplicate names, NaN, exponents, lone surrogates, NUL or endless nesting."""
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        raise _unreadable("json.not_utf8", "the body is not UTF-8") from None
    try:
        value = json.loads(
            text, object_pairs_hook=_once, parse_float=_exact, parse_int=_whole, parse_constant=_no_constant
        )
    except RecursionError:
        raise _too_deep() from None
    except json.JSONDecodeError as found:
        where = f"line {found.lineno}, column {found.colno}"
        raise _unreadable("json.malformed", f"the body is not JSON: {found.msg} at {where}") from None
    if sum(1 for _ in _names(value, 1)) > MOST_NAMES:
        raise _unreadable("json.too_many_names", f"a request holds at most {MOST_NAMES} names")
    return value


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for name, value in pairs:
        if name in table:
            raise _unreadable("json.duplicate_name", f"the name {name[:60]!r} stands twice in one object")
        table[name] = value
    return table


def _exact(text: str) -> Decimal:
    if "e" in text.lower():
        raise _unreadable("json.exponent", "write numbers out, without an exponent")
    return Decimal(_short(text))


def _whole(text: str) -> int:
    return int(_short(text))


def _short(text: str) -> str:
    if len(text) > LONGEST_NUMBER:
        raise _unreadable("json.number_too_long", f"a number has at most {LONGEST_NUMBER} characters")
    return text


def _no_constant(name: str) -> Any:
    raise _unreadable("json.not_a_number", f"{name} is not a number in JSON")


def _names(value: Any, depth: int) -> Iterator[str]:
    """Walk the whole value, yield every name in it, and refuse what must not be inside."""
    if depth > HIGHEST_DEPTH:
        raise _too_deep()
    if isinstance(value, str):
        _check_text(value)
    elif isinstance(value, dict):
        for name, inner in value.items():
            _check_text(name)
            yield name
            yield from _names(inner, depth + 1)
    elif isinstance(value, list):
        for inner in value:
            yield from _names(inner, depth + 1)


def _check_text(text: str) -> None:
    if "\x00" in text:
        raise _unreadable("json.nul", "a string holds a NUL character")
    if any("\ud800" <= letter <= "\udfff" for letter in text):
        raise _unreadable("json.lone_surrogate", "a string holds half of a surrogate pair")


def _too_deep() -> Malformed:
    return _unreadable("json.too_deep", f"nested more than {HIGHEST_DEPTH} levels deep")


def _unreadable(code: str, message: str) -> Malformed:
    return Malformed(code, message, pointer="")
