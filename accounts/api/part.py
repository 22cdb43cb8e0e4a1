"""Rows of which each reader sees a part."""

from typing import Any

from rest_framework import serializers


class Part(serializers.Serializer):
    """Writes out the fields that stand in the row given, a dict, and no others: hidden is absent, never null."""

    def to_representation(self, instance: dict[str, Any]) -> dict[str, Any]:
        """Return the part there is."""
        return {name: value for name, value in super().to_representation(instance).items() if name in instance}
