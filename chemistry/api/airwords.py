"""What is asked about a room's air and what is answered: shapes, and figures put into them."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from accounts.api.darkroom import AirChanges, RoomVolume, Volume
from chemistry.api.mixing import CautionOut
from chemistry.science.air import Cloud
from darkroom_service.api.fields import DecimalText, Flag, Id, QuantityField, Shape, Text, Whole
from darkroom_service.quantity import Dimension

CAS = 12
MOST_MG = 10**12


class RoomIn(Shape):
    """A room; what is left out is taken from the darkroom's settings."""

    room_volume = RoomVolume(required=False)
    air_changes = AirChanges(required=False)


class DustIn(RoomIn):
    """So much powder raised as dust: of a formula's packet, of a substance, or of any kind."""

    raised = QuantityField(Dimension.MASS, positive=True, help_text="How much hangs in the air, not how much is used.")
    formula = Id(required=False)
    substance = Text(max_length=CAS, required=False, help_text="By its CAS number.")


class BathIn(Shape):
    """A bath with sulfite in it: a formula at a strength, or so much sodium sulfite in so much liquid."""

    volume = Volume(positive=True)
    formula = Id(required=False)
    dilution = Text(max_length=12, required=False, help_text="stock or 1+n; stock, if left out.")
    sulfite = QuantityField(Dimension.MASS, required=False, help_text="Sodium sulfite without water, in all of it.")


class AcidIn(Shape):
    """The acid that gets into it: a stop bath carried over, or so much acetic acid."""

    volume = Volume(positive=True)
    formula = Id(required=False)
    dilution = Text(max_length=12, required=False, help_text="stock or 1+n; stock, if left out.")
    acetic_acid = QuantityField(Dimension.MASS, required=False, help_text="Pure acetic acid, in all of it.")


class SulfiteIn(RoomIn):
    """Acid that meets sulfite, the air shut in above it, and the room."""

    bath = BathIn()
    acid = AcidIn()
    headspace = Volume(default=0, help_text="The air shut in above the liquid.")


class ClearanceIn(RoomIn):
    """How much may be left: 5 % unless told."""

    left_percent = DecimalText(low="0.01", high=99, places=2, default=Decimal(5))


class RoomOut(serializers.Serializer):
    """The room that was reckoned with."""

    room_volume = RoomVolume(allow_null=True)
    air_changes = AirChanges()
    from_settings = serializers.ListField(child=Text(max_length=20), help_text="What came from the settings.")


class PointOut(serializers.Serializer):
    """What hangs in the air so many minutes after the release."""

    minute = Whole(low=0, high=10_000)
    mg_m3 = DecimalText(high=MOST_MG)


class LimitOut(serializers.Serializer):
    """One limit, what the room reaches averaged over its time, and the release that would just reach it."""

    agent = Text(max_length=120)
    body = Text(max_length=120, help_text="Whose limit it is.")
    kind = Text(max_length=20, help_text="mean, short or ceiling.")
    minutes = Whole(low=0, high=1440, help_text="Averaged over so many; 0: at any moment.")
    fraction = Text(max_length=20, help_text="Of the dust, where the limit is set for one.")
    limit = DecimalText()
    reached = DecimalText(high=MOST_MG)
    unit = Text(max_length=10)
    over = Flag()
    reaching = QuantityField(Dimension.MASS)
    origin = Text(max_length=400, help_text="Where the limit stands.")
    how = Text(max_length=20, help_text="How the limit got here: read at its source, or from memory.")


class CloudOut(serializers.Serializer):
    """What a release does in the room."""

    released = QuantityField(Dimension.MASS)
    peak_mg_m3 = DecimalText(high=MOST_MG)
    curve = PointOut(many=True)
    limits = LimitOut(many=True)
    clear_after_minutes = DecimalText(allow_null=True, help_text="Until 5 % are left; null: never, without fresh air.")


class Reckoned(serializers.Serializer):
    """How it was reckoned; every answer says so."""

    rule = Text(max_length=500)
    assumptions = serializers.ListField(child=Text(max_length=400))
    cautions = CautionOut(many=True)
    prevails = Text(max_length=200)


class DustOut(Reckoned):
    """Dust in a room against every limit."""

    room = RoomOut()
    of = Text(max_length=160)
    without_limit = serializers.ListField(child=Text(max_length=120), help_text="Judged as dust of any kind only.")
    cloud = CloudOut()


class FumesOut(Reckoned):
    """Sulfur dioxide from acid in sulfite: two bounds, and each of them let into the room."""

    room = RoomOut()
    ph = DecimalText(high=14)
    sulfite = QuantityField(Dimension.MASS)
    acetic_acid = QuantityField(Dimension.MASS)
    headspace_ppm = DecimalText(high=MOST_MG, help_text="In air shut in above it, at equilibrium.")
    in_headspace = CloudOut(help_text="What that air holds, let into the room at once.")
    at_most = CloudOut(help_text="All the gas this much acid could ever free, at once: it cannot be more.")
    not_balanced = serializers.ListField(child=Text(max_length=60), help_text="In it too; there may be more gas.")


class ShareOut(serializers.Serializer):
    """Minutes until so much is left."""

    left_percent = DecimalText()
    minutes = DecimalText(allow_null=True)


class ClearanceOut(Reckoned):
    """How long the room takes to clear."""

    room = RoomOut()
    left_percent = DecimalText()
    minutes = DecimalText(allow_null=True, help_text="null: never, without fresh air.")
    others = ShareOut(many=True)


def cloud_words(grams: Decimal, found: Cloud) -> dict[str, Any]:
    """Return a cloud as an answer shows it."""
    return {
        "released": grams,
        "peak_mg_m3": found.peak_mg_m3,
        "curve": [{"minute": minute, "mg_m3": figure} for minute, figure in found.curve],
        "limits": [
            {
                "agent": each.agent,
                **{name: getattr(each.limit, name) for name in ("body", "kind", "minutes", "fraction", "unit")},
                "limit": each.limit.value,
                "reached": each.reached,
                "over": each.over,
                "reaching": each.reaching_g,
                "origin": each.limit.origin.title,
                "how": each.limit.origin.how.value,
            }
            for each in found.against
        ],
        "clear_after_minutes": found.clear_after_min,
    }
