"""The words of a release: what was measured of it, and what was computed."""

from rest_framework import serializers

from darkroom_service.api.fields import DecimalText, Flag, Shape, Text


class Ph(DecimalText):
    """A pH, as text, at most two decimals."""

    def __init__(self, **options: object) -> None:
        super().__init__(low=0, high=14, places=2, **options)


class FigureIn(Shape):
    """What was measured of one substance, before dilution."""

    cas = Text(max_length=12, help_text="Its CAS number; silver is 7440-22-4.")
    mg_per_l = DecimalText(high=10**7, places=6)


class ComparedOut(serializers.Serializer):
    """A substance against its limit in the drain rule, mg/L before and after dilution, and what dilution it would take.

    Null: nobody knows how much is in it.
    """

    cas = Text(max_length=12)
    name = Text(max_length=120)
    limit_mg_per_l = DecimalText()
    before_mg_per_l = DecimalText(allow_null=True)
    after_mg_per_l = DecimalText(allow_null=True)
    times_needed = serializers.IntegerField(allow_null=True)
    over = Flag()


class EffectOut(serializers.Serializer):
    """A substance against a concentration without effect, and how many times the volume it would take to reach it."""

    cas = Text(max_length=12)
    name = Text(max_length=120)
    place = Text(max_length=20)
    mg_per_l = DecimalText()
    before_mg_per_l = DecimalText()
    after_mg_per_l = DecimalText()
    times_needed = DecimalText()
    over = Flag()
    source = Text(max_length=300)  # type: ignore[assignment]


class ComputedOut(serializers.Serializer):
    """How many times its volume it became, and every comparison. Calculated, not tested; the sewer's keeper decides."""

    times = DecimalText()
    limits = ComparedOut(many=True)
    effects = EffectOut(many=True)
