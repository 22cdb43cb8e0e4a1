"""The shape of what a plan answers."""

from rest_framework import serializers

from accounts.api.darkroom import Volume
from chemistry.api.hazardwords import CautionOut, HazardBriefOut
from chemistry.api.money import MoneyOut
from chemistry.commands.run import USES
from chemistry.models import StepRole
from darkroom_service.api.fields import DecimalText, Id, Text


class VesselRef(serializers.Serializer):
    """A vessel by id and label code."""

    id = Id()
    code = Text(max_length=12)


class FactorOut(serializers.Serializer):
    """One multiplier of the base time and the fact it comes from."""

    name = Text(max_length=40)
    value = DecimalText()
    why = Text(max_length=300)


class TimeOut(serializers.Serializer):
    """The time in the developer: base time x factors; no minutes where no base time was told."""

    base_min = DecimalText(allow_null=True)
    minutes = DecimalText(allow_null=True)
    factors = FactorOut(many=True)


class BenchOut(serializers.Serializer):
    """Stock and water as a bench measure shows them, to 10 mL."""

    stock = Volume()
    water = Volume()


class TankPourOut(serializers.Serializer):
    """What fills the tank, to 0.1 mL."""

    stock = Volume()
    water = Volume()
    shown = BenchOut()


class ChargeOut(TankPourOut):
    """What one vessel of the line will be charged."""

    role = serializers.ChoiceField(StepRole.choices)
    vessel = VesselRef()
    use = serializers.ChoiceField(list(USES))
    dilution = Text(max_length=12)
    comes_back = serializers.BooleanField()
    leaves = Volume()
    load = Text(max_length=20)
    container = Id(allow_null=True)


class AdviceOut(TankPourOut):
    """What a tank needs, and what to mind."""

    vessel = VesselRef()
    time = TimeOut()
    warnings = serializers.ListField(child=Text(max_length=1000))
    cautions = CautionOut(many=True)
    hazards = HazardBriefOut(many=True, help_text="Of each liquid as it stands in its vessel, and as it is used.")
    others = VesselRef(many=True, help_text="Other vessels that would do.")
    charges = ChargeOut(many=True)
    cost = MoneyOut()
    compensate = serializers.BooleanField()
