"""What is said and answered of pickups."""

from rest_framework import serializers

from accounts.api.darkroom import Volume
from accounts.gate import Made
from darkroom_service.api.fields import DayField, Flag, Id, InstantField, QuantityField, Shape, Text
from darkroom_service.quantity import Dimension
from waste.models import PickupState, Way


class ItemIn(Shape):
    """A container to take along."""

    container = Id()
    volume = Volume(positive=True, required=False, allow_null=True, help_text="A part of it; left out, all of it.")
    stays = Flag(default=False, help_text="Only the liquid goes; the container is used again.")


class PickupEdit(Shape):
    """What may be said of an open pickup; what is left out stays."""

    way = serializers.ChoiceField(Way.choices, required=False)
    planned_for = DayField(required=False)
    items = serializers.ListField(child=ItemIn(), required=False, max_length=100)
    carrier = Text(max_length=120, required=False, allow_blank=True)
    carrier_authorisation = Text(max_length=120, required=False, allow_blank=True)
    destination = Text(max_length=200, required=False, allow_blank=True)
    destination_authorisation = Text(max_length=120, required=False, allow_blank=True)
    document_number = Text(max_length=60, required=False, allow_blank=True, help_text="Of the note or manifest.")
    transport = Text(max_length=120, required=False, allow_blank=True)
    treatment = Text(max_length=120, required=False, allow_blank=True)
    frequency = Text(max_length=60, required=False, allow_blank=True)
    note = Text(max_length=500, required=False, allow_blank=True)


class PickupIn(PickupEdit):
    """A new pickup."""

    way = serializers.ChoiceField(Way.choices)
    planned_for = DayField()
    items = serializers.ListField(child=ItemIn(), max_length=100)


class LeftIn(Shape):
    """What really left one container."""

    container = Id()
    volume = Volume(required=False, help_text="Left out, what was planned.")
    emptied = Flag(required=False, help_text="Nothing is left in it, whatever the record says.")
    mass = QuantityField(Dimension.MASS, required=False)


class PreparationIn(Shape):
    """When it stood ready."""

    occurred_at = InstantField(required=False)


class ConfirmationIn(Shape):
    """When it left, and what was not as planned."""

    collected_at = InstantField(required=False)
    left = serializers.ListField(child=LeftIn(), required=False, max_length=100)
    document_number = Text(max_length=60, required=False)
    reason = Text(max_length=500, required=False, allow_blank=True)


class CorrectionIn(Shape):
    """What really left, and why it was written otherwise."""

    left = serializers.ListField(child=LeftIn(), min_length=1, max_length=100)
    reason = Text(max_length=500)


class CancellationIn(Shape):
    """Why it does not take place."""

    reason = Text(max_length=500)


class CopyIn(Shape):
    """The day the signed copy or receipt came back."""

    returned_on = DayField()


class ItemOut(serializers.Serializer):
    """A container taken along."""

    container = Id(source="container.public_id")
    code = Text(max_length=12, source="container.code")
    stream = Text(max_length=40, source="container.stream.code")
    volume = Volume(allow_null=True)
    stays = Flag()


class PickupOut(serializers.Serializer):
    """A pickup; people by their ids."""

    id = Id(source="public_id")
    code = Text(max_length=12)
    way = serializers.ChoiceField(Way.choices)
    state = serializers.ChoiceField(PickupState.choices)
    planned_for = DayField()
    items = ItemOut(many=True, source="items.all")
    carrier = Text(max_length=120)
    carrier_authorisation = Text(max_length=120)
    destination = Text(max_length=200)
    destination_authorisation = Text(max_length=120)
    document_number = Text(max_length=60)
    transport = Text(max_length=120)
    treatment = Text(max_length=120)
    frequency = Text(max_length=60)
    note = Text(max_length=500)
    flags = serializers.ListField(child=serializers.CharField())
    reason = Text(max_length=500)
    planned_by = Id(source="planned_by.public_id")
    prepared_by = Id(source="prepared_by.public_id", allow_null=True)
    prepared_at = InstantField(allow_null=True)
    confirmed_by = Id(source="confirmed_by.public_id", allow_null=True)
    collected_at = InstantField(allow_null=True)
    returned_due = DayField(allow_null=True)
    returned_on = DayField(allow_null=True)


class PickupMoved(Made):
    """The state a pickup is in now, and the rules it broke."""

    state = serializers.ChoiceField(PickupState.choices)
    flags = serializers.ListField(child=serializers.CharField())
