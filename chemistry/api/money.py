"""Money at the edge: minor units of the darkroom's one currency, always named."""

from typing import Any

from rest_framework import serializers

from accounts.models import Darkroom
from darkroom_service.api.fields import Shape, Text, Whole
from darkroom_service.refusal import Malformed

MOST_MINOR = 10**9


class MoneyIn(Shape):
    """A sum of at most ten million of a currency."""

    minor = Whole(low=0, high=MOST_MINOR, help_text="In the smallest unit: 1200 is 12.00.")
    currency = Text(max_length=3)


class MoneyOut(serializers.Serializer):
    """A sum; below zero it was given back."""

    minor = Whole(low=-(10**15), high=10**15)
    currency = Text(max_length=3)


def money(minor: int, darkroom: Darkroom) -> dict[str, Any]:
    """Return a sum as an answer shows it."""
    return {"minor": minor, "currency": darkroom.currency}


def minor_of(given: dict[str, Any], darkroom: Darkroom, *, pointer: str) -> int:
    """Return the minor units of a sum, which is in the darkroom's currency or nothing."""
    if given["currency"] != darkroom.currency:
        words = f"This darkroom reckons in {darkroom.currency}. Convert the sum first."
        raise Malformed("currency.other", words, pointer=f"{pointer}/currency", currency=darkroom.currency)
    minor: int = given["minor"]
    return minor
