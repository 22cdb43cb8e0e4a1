"""What each kind of transfer takes, as closed shapes."""

from typing import Any

from rest_framework import serializers

from accounts.api.darkroom import Volume
from chemistry.api.ofvessel import Claims
from chemistry.models import TransferKind
from chemistry.models.vessel import VesselMaterial
from darkroom_service.api.fields import Flag, Id, QuantityField, Shape, Text
from darkroom_service.quantity import Dimension
from darkroom_service.refusal import Malformed
from waste.api.drainwords import FigureIn, Ph


class TransferIn(Claims):
    """``check`` true asks what the rules would say and writes nothing; it needs no key."""

    kind = serializers.ChoiceField([])
    check = Flag(default=False)

    def get_fields(self) -> dict[str, Any]:
        """Return the fields, the kind being the one that this shape is of."""
        kinds = [kind.value for kind, shape in SHAPES.items() if shape is type(self)]
        return super().get_fields() | {"kind": serializers.ChoiceField(kinds)}


class BetweenIn(TransferIn):
    """From vessel to vessel, so much or all there is."""

    source = Id()  # type: ignore[assignment]
    target = Id()
    volume = Volume(positive=True, required=False, allow_null=True, default=None)


class DecantIn(BetweenIn):
    """From vessel to vessel; ``warm`` is the liquid's temperature when the bottle was closed."""

    warm = QuantityField(Dimension.TEMPERATURE, required=False, source="warm_c")


class DiluteIn(TransferIn):
    """So much working solution made in an empty vessel from stock or concentrate, at a dilution such as 1+4."""

    source = Id()  # type: ignore[assignment]
    target = Id()
    volume = Volume(positive=True, help_text="Of the working solution.")
    dilution = Text(max_length=12)


class OpenIn(TransferIn):
    """A pack of liquid opened: its bottle becomes a vessel, or it is poured whole into one that is there."""

    pack = Id()
    target = Id(required=False)
    name = Text(max_length=120, required=False)
    material = serializers.ChoiceField(VesselMaterial.choices, required=False)
    nominal = Volume(positive=True, required=False)


class EmptyIn(TransferIn):
    """A vessel poured out to waste: all of it, or so much, the rest staying in it."""

    source = Id()  # type: ignore[assignment]
    container = Id()
    volume = Volume(positive=True, required=False, allow_null=True, default=None)


class SpillIn(TransferIn):
    """So much spilled; what was soaked up of it went with the absorbent into a container for contaminated solids."""

    source = Id()  # type: ignore[assignment]
    volume = Volume(positive=True)
    mopped = Volume(positive=True, required=False)
    container = Id(required=False)
    absorbent = Text(max_length=120, required=False)


class DrainIn(TransferIn):
    """A vessel, or so much of it, down the drain with so much water along, under the darkroom's drain rule."""

    source = Id()  # type: ignore[assignment]
    volume = Volume(positive=True, required=False, allow_null=True, default=None)
    water = Volume(required=False)
    ph = Ph(required=False, help_text="Measured, of what goes down.")
    figures = FigureIn(many=True, required=False)
    happened = Flag(default=True, help_text="True reports it, which is always written; false asks first.")


SHAPES: dict[TransferKind, type[TransferIn]] = {
    TransferKind.DECANT: DecantIn,
    TransferKind.TOP_UP: BetweenIn,
    TransferKind.COMBINE: BetweenIn,
    TransferKind.POUR_BACK: BetweenIn,
    TransferKind.DILUTE: DiluteIn,
    TransferKind.OPEN: OpenIn,
    TransferKind.EMPTY: EmptyIn,
    TransferKind.SPILL: SpillIn,
    TransferKind.DRAIN: DrainIn,
}


class _Kind(Shape):
    kind = serializers.ChoiceField([kind.value for kind in SHAPES])


def read(data: Any) -> dict[str, Any]:
    """Read a body by the shape of the kind it names."""
    if not isinstance(data, dict):
        raise Malformed("body.not_object", "send a JSON object", pointer="")
    kind = TransferKind(_Kind.read({name: value for name, value in data.items() if name == "kind"})["kind"])
    return SHAPES[kind].read(data) | {"kind": kind}
