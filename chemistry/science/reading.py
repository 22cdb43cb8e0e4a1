"""Formulas in from plain JSON and out again: closed keys, figures as decimal strings, exact both ways."""

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from types import MappingProxyType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

from chemistry.science.formula import Rules
from chemistry.science.soundness import LIMITS, faults

MOST_ITEMS = 50
MOST_CHARACTERS = 300
_DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,5})(?:\.[0-9]{1,4})?")
_COUNT = re.compile(r"[1-9][0-9]{0,2}")


class RuleFault(ValueError):
    """A formula cannot be read: ``pointer`` (RFC 6901, from the rules object) says where, ``message`` why."""

    def __init__(self, pointer: str, message: str) -> None:
        super().__init__(f"{pointer or '(the whole)'}: {message}")
        self.pointer = pointer
        self.message = message


@dataclass(frozen=True)
class _Spot:
    """Where the reader stands, and the limits of the figures from here on down."""

    pointer: str
    lowest: Decimal = Decimal(0)
    highest: Decimal = Decimal(0)

    def down(self, key: object, limits: tuple[str, str] | None = None) -> "_Spot":
        pointer = f"{self.pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"
        lowest, highest = map(Decimal, limits) if limits else (self.lowest, self.highest)
        return _Spot(pointer, lowest, highest)

    def fault(self, message: str) -> RuleFault:
        return RuleFault(self.pointer, message)


def read_rules(data: Mapping[str, object]) -> Rules:
    """Return the rules a JSON object holds, or raise RuleFault at the first unknown, missing or absurd member."""
    rules: Rules = _read(Rules, data, _Spot(""))
    for pointer, message in faults(rules):
        raise RuleFault(pointer, message)
    return rules


def as_data(rules: Rules) -> dict[str, Any]:
    """Return the rules as plain JSON, every member written out; ``read_rules`` gives the very same rules back."""
    data: dict[str, Any] = _write(rules)
    return data


def source_of(sources: Mapping[str, str], pointer: str) -> str | None:
    """Return the source of the figure at a JSON Pointer: the entry with the longest whole part of it, or None."""
    parts = pointer.split("/")
    starts = ("/".join(parts[:length]) for length in range(len(parts), 0, -1))
    return next((sources[start] for start in starts if start in sources), None)


def _write(value: Any) -> Any:
    if is_dataclass(value):
        return {each.name: _write(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _write(each) for key, each in value.items()}
    if isinstance(value, tuple):
        return [_write(each) for each in value]
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.value if isinstance(value, StrEnum) else value


def _read(shape: Any, value: object, spot: _Spot) -> Any:
    """Read one value by the type its field is declared with, so that a field added to a formula is closed too."""
    origin = get_origin(shape)
    if origin is UnionType:
        return None if value is None else _read(get_args(shape)[0], value, spot)
    if origin is tuple:
        return _read_list(get_args(shape), value, spot)
    if origin is Mapping:
        return _read_mapping(get_args(shape), value, spot)
    if is_dataclass(shape):
        return _read_record(shape, value, spot)
    if issubclass(shape, StrEnum):
        return _read_member(shape, value, spot)
    return _PLAIN[shape](value, spot)


def _read_record(shape: Any, value: object, spot: _Spot) -> Any:
    members = _members(value, spot)
    known = {each.name: each for each in fields(shape)}
    for name in members:
        if name not in known:
            raise spot.down(name).fault(f"not known here; known are {', '.join(known)}")
    for name, each in known.items():
        if name not in members and _required(each):
            raise spot.down(name).fault("missing")
    shapes = _shapes(shape)
    return shape(
        **{
            name: _read(shapes[name], each, spot.down(name, LIMITS.get((shape.__name__, name))))
            for name, each in members.items()
        }
    )


@cache
def _shapes(record: type) -> dict[str, Any]:
    return get_type_hints(record)


def _required(each: Field[Any]) -> bool:
    return each.default is MISSING and each.default_factory is MISSING


def _read_mapping(shapes: tuple[Any, ...], value: object, spot: _Spot) -> Mapping[Any, Any]:
    key_shape, each_shape = shapes
    members = _members(value, spot)
    found = {
        _read_key(key_shape, name, spot.down(name)): _read(each_shape, each, spot.down(name))
        for name, each in members.items()
    }
    return MappingProxyType(found)


def _read_key(shape: type, name: str, spot: _Spot) -> object:
    if shape is not int:
        return _read_text(name, spot)
    if not _COUNT.fullmatch(name):
        raise spot.fault("the name is a whole number from 1 to 999")
    return int(name)


def _read_list(shapes: tuple[Any, ...], value: object, spot: _Spot) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple) or len(value) > MOST_ITEMS:
        raise spot.fault(f"a list of at most {MOST_ITEMS}")
    if shapes[-1] is Ellipsis:
        shapes = shapes[:1] * len(value)
    if len(shapes) != len(value):
        raise spot.fault(f"a list of exactly {len(shapes)}")
    pairs = zip(shapes, value, strict=True)
    return tuple(_read(shape, each, spot.down(index)) for index, (shape, each) in enumerate(pairs))


def _members(value: object, spot: _Spot) -> Mapping[str, object]:
    if not isinstance(value, Mapping) or len(value) > MOST_ITEMS:
        raise spot.fault(f"an object of at most {MOST_ITEMS} members")
    return value


def _read_member(shape: type[StrEnum], value: object, spot: _Spot) -> StrEnum:
    if not isinstance(value, str) or value not in set(shape):
        raise spot.fault(f"one of {', '.join(shape)}")
    return shape(value)


def _read_text(value: object, spot: _Spot) -> str:
    if not isinstance(value, str):
        raise spot.fault("a text")
    if not 0 < len(value) <= MOST_CHARACTERS or value != value.strip() or not value.isprintable():
        raise spot.fault(f"1 to {MOST_CHARACTERS} printable characters, no space at either end")
    return value


def _read_decimal(value: object, spot: _Spot) -> Decimal:
    if not isinstance(value, str) or not _DECIMAL.fullmatch(value):
        raise spot.fault('a plain decimal written as text, at most four decimals, such as "2.5"')
    return _within(Decimal(value), spot)


def _read_whole(value: object, spot: _Spot) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise spot.fault("a whole number")
    _within(Decimal(value), spot)
    return value


def _within(number: Decimal, spot: _Spot) -> Decimal:
    if not spot.lowest <= number <= spot.highest:
        raise spot.fault(f"{spot.lowest} to {spot.highest}")
    return number


def _read_flag(value: object, spot: _Spot) -> bool:
    if not isinstance(value, bool):
        raise spot.fault("true or false")
    return value


_PLAIN: dict[type, Callable[[object, _Spot], object]] = {
    Decimal: _read_decimal,
    int: _read_whole,
    str: _read_text,
    bool: _read_flag,
}
