"""What a request may contain, as closed grammars: nothing is guessed, nothing unknown is passed over."""

import re
import unicodedata
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from darkroom_service import quantity
from darkroom_service.quantity import Dimension, QuantityFault

INSTANT = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?(?:Z|[+-]\d\d:\d\d)",
    re.ASCII,
)
DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
CODE = re.compile(r"[a-z0-9]+(?:[-_.][a-z0-9]+)*", re.ASCII)
ID = re.compile(r"[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}", re.ASCII)
YEARS = range(1950, 2200)
# Marks that reorder the text around them could make a label read as something else.
REORDERING = {chr(point) for point in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))}


def fault(code: str, message: str) -> ValidationError:
    """Return a shape error with our own code."""
    return ValidationError([ErrorDetail(message, code=code)])


class Shape(serializers.Serializer):
    """A JSON object with exactly the fields written out in the class; an unknown name is an error, not a shrug."""

    @classmethod
    def read(cls, data: Any) -> dict[str, Any]:
        """Return what ``data`` says, or raise with every fault in it."""
        shape = cls(data=data)
        shape.is_valid(raise_exception=True)
        values: dict[str, Any] = shape.validated_data
        return values

    def to_internal_value(self, data: Any) -> Any:
        """Read the object and report every fault in it at once."""
        unknown = self._unknown(data)
        try:
            values = super().to_internal_value(data)
        except ValidationError as found:
            raise ValidationError(
                {**found.detail, **unknown} if isinstance(found.detail, dict) else found.detail
            ) from None
        if unknown:
            raise ValidationError(unknown)
        return values

    def _unknown(self, data: Any) -> dict[str, list[ErrorDetail]]:
        if not isinstance(data, Mapping):
            return {}
        known = [str(field.field_name) for field in self._writable_fields]
        words = f"unknown field; the fields are {', '.join(known)}" if known else "unknown field; send an empty object"
        return {str(name): [ErrorDetail(words, code="field.unknown")] for name in data if name not in known}


class Text(serializers.CharField):
    """Words of a person: composed (NFC), trimmed, without control characters; ``multiline`` allows line breaks."""

    def __init__(self, *, max_length: int, multiline: bool = False, **options: Any) -> None:
        self.multiline = multiline
        super().__init__(max_length=max_length, **options)

    def to_internal_value(self, data: Any) -> str:
        """Return the text in its composed form."""
        if not isinstance(data, str):
            raise fault("text.not_text", "this is a string of words")
        text = unicodedata.normalize("NFC", data).strip()
        allowed = {"\n", "\t"} if self.multiline else set()
        if any(letter not in allowed and _unprintable(letter) for letter in text):
            raise fault(
                "text.unprintable", "leave out control characters" + ("" if self.multiline else " and line breaks")
            )
        return super().to_internal_value(text)


class Grammar(serializers.Field):
    """A field that reads one closed grammar; ``schema.py`` describes each kind."""


class Code(Grammar):
    """A short name for programs: small letters, digits, and single - _ . between them."""

    def __init__(self, *, max_length: int = 60, **options: Any) -> None:
        self.max_length = max_length
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> str:
        """Return the code as given."""
        if not isinstance(data, str) or not CODE.fullmatch(data) or len(data) > self.max_length:
            raise fault(
                "code.malformed", "a code has small letters and digits, with single - _ or . between, like fixer-1"
            )
        return data

    def to_representation(self, value: Any) -> str:
        """Return the code as given."""
        return str(value)


class Id(Grammar):
    """A UUID as text."""

    def to_internal_value(self, data: Any) -> UUID:
        """Return the UUID."""
        if not isinstance(data, str) or not ID.fullmatch(data):
            raise fault("id.malformed", "an id looks like 6f1d0c9e-2b1a-4c57-9d0e-0d6a4f6b7c11")
        return UUID(data)

    def to_representation(self, value: Any) -> str:
        """Return the UUID in its usual spelling."""
        return str(value)


class Flag(Grammar):
    """True or false, said as JSON says it."""

    def to_internal_value(self, data: Any) -> bool:
        """Return the truth value."""
        if not isinstance(data, bool):
            raise fault("flag.malformed", "say true or false, without quotes")
        return data

    def to_representation(self, value: Any) -> bool:
        """Return the truth value."""
        return bool(value)


class Whole(Grammar):
    """A whole number within stated bounds, as a bare JSON number."""

    def __init__(self, *, low: int, high: int, **options: Any) -> None:
        self.low, self.high = low, high
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> int:
        """Return the number."""
        if isinstance(data, bool) or not isinstance(data, int) or not self.low <= data <= self.high:
            raise fault("count.malformed", f"a whole number from {self.low} to {self.high}, without quotes")
        return data

    def to_representation(self, value: Any) -> int:
        """Return the number."""
        return int(value)


class DecimalText(Grammar):
    """An exact number written as a string, within stated bounds and decimal places."""

    def __init__(self, *, low: str | int = 0, high: str | int = 10**12 - 1, places: int = 9, **options: Any) -> None:
        self.low, self.high, self.places = Decimal(low), Decimal(high), places
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Decimal:
        """Return the number, exactly as written."""
        try:
            number = quantity.parse_decimal(data, signed=self.low < 0)
        except QuantityFault as found:
            raise fault(found.code, found.message) from None
        if not self.low <= number <= self.high:
            raise fault("number.out_of_range", f"a number from {self.low:f} to {self.high:f}")
        if -int(number.as_tuple().exponent) > self.places:
            raise fault("number.too_fine", f"at most {self.places} digits after the point")
        return number

    def to_representation(self, value: Any) -> str:
        """Return the number written out."""
        return f"{Decimal(value):f}"


class QuantityField(Grammar):
    """``{"value": "250.0", "unit": "mL"}`` in, an exact Decimal in the base unit inside, and back out."""

    def __init__(self, dimension: Dimension, *, positive: bool = False, **options: Any) -> None:
        self.dimension, self.positive = dimension, positive
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Decimal:
        """Return the amount in the base unit."""
        if not isinstance(data, dict) or data.keys() != {"value", "unit"}:
            example = f'{{"value": "250.0", "unit": "{quantity.base_unit(self.dimension)}"}}'
            raise fault("quantity.malformed", f"a {self.dimension} looks like {example}, with no other fields")
        try:
            amount = quantity.to_base(data["value"], data["unit"], self.dimension)
        except QuantityFault as found:
            part = "unit" if found.code.startswith("unit.") else "value"
            raise ValidationError({part: [ErrorDetail(found.message, code=found.code)]}) from None
        if self.positive and amount <= 0:
            raise ValidationError({"value": [ErrorDetail("more than zero is needed here", code="quantity.zero")]})
        return amount

    def to_representation(self, value: Any) -> dict[str, str]:
        """Return the amount in the base unit, written out."""
        return {"value": f"{Decimal(value):f}", "unit": quantity.base_unit(self.dimension)}


class InstantField(Grammar):
    """A moment as RFC 3339 writes it; the offset is needed, so that no summer-time hour is read two ways."""

    def to_internal_value(self, data: Any) -> datetime:
        """Return the moment in UTC."""
        example = "2026-11-25T18:30:00+01:00"
        if not isinstance(data, str) or not INSTANT.fullmatch(data):
            raise fault("instant.malformed", f"a moment with its offset from UTC, such as {example}, or with Z")
        try:
            moment = datetime.fromisoformat(data)
        except ValueError:
            raise fault("instant.impossible", f"no clock ever shows that; a moment looks like {example}") from None
        if moment.year not in YEARS:
            raise fault("instant.impossible", f"the year lies between {YEARS[0]} and {YEARS[-1]}")
        return moment.astimezone(UTC)

    def to_representation(self, value: Any) -> str:
        """Return the moment in UTC, with Z."""
        moment: datetime = value.astimezone(UTC)
        return moment.isoformat().replace("+00:00", "Z")


class DayField(Grammar):
    """A calendar day, such as a best-before date."""

    def to_internal_value(self, data: Any) -> date:
        """Return the day."""
        if not isinstance(data, str) or not DAY.fullmatch(data):
            raise fault("day.malformed", "a day looks like 2026-11-25")
        try:
            day = date.fromisoformat(data)
        except ValueError:
            raise fault("day.impossible", "no calendar has that day; a day looks like 2026-11-25") from None
        if day.year not in YEARS:
            raise fault("day.impossible", f"the year lies between {YEARS[0]} and {YEARS[-1]}")
        return day

    def to_representation(self, value: Any) -> str:
        """Return the day."""
        day: date = value
        return day.isoformat()


def _unprintable(letter: str) -> bool:
    return unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} or letter in REORDERING
