"""What a tank plan and a check-in have in common: films, tank, way of use, and how it is developed."""

from typing import Any

from rest_framework import serializers

from accounts.api.darkroom import Volume
from chemistry.commands.run import USES, Film, Loading
from chemistry.science.film import MOST_COUNT
from chemistry.science.formula import Process
from chemistry.science.tank import Conditions
from darkroom_service.api.fields import Code, Flag, QuantityField, Shape, Text, Whole
from darkroom_service.quantity import Dimension

SECONDS = 60
MOST_FILMS = 50
PARTS = ("base_time", "temperature", "agitation", "push")


class FilmIn(Shape):
    """So many films or sheets of one format."""

    format = Code(max_length=40, help_text="Such as 135-36, 120, 4x5, paper-8x10, or paper-203.2x305mm.")
    count = Whole(low=1, high=MOST_COUNT, default=1)
    process = serializers.ChoiceField(
        [each.value for each in Process], required=False, help_text="The film's own process, if not the line's."
    )


class ConditionsIn(Shape):
    """How the film is developed."""

    base_time = QuantityField(
        Dimension.DURATION, positive=True, required=False, help_text="From the film's or the developer's own sheet."
    )
    temperature = QuantityField(Dimension.TEMPERATURE, required=False)
    agitation = Text(max_length=40, required=False, help_text="One of the formula's own names.")
    push = Text(max_length=10, required=False, help_text="Stops, as the formula names them, such as +1.")
    compensate = Flag(required=False, help_text="Whether reused developer gets longer times, roll by roll.")


class TankIn(ConditionsIn):
    """What goes into the tank."""

    films = serializers.ListField(child=FilmIn(), min_length=1, max_length=MOST_FILMS)
    tank = Volume(positive=True, help_text="The working volume poured into the tank.")
    use = serializers.ChoiceField(list(USES))
    dilution = Text(max_length=12, help_text="stock, or 1+n.")


class FilmOut(serializers.Serializer):
    """So many films of one format, with the process they were taken for."""

    format = Text(max_length=40)
    count = Whole(low=1, high=MOST_COUNT)
    process = serializers.ChoiceField([each.value for each in Process])


def conditions(given: dict[str, Any]) -> Conditions:
    """Take the conditions out of what was given."""
    base_s, temperature, agitation, push = (given.pop(name, None) for name in PARTS)
    return Conditions(None if base_s is None else base_s / SECONDS, temperature, agitation, push)


def films(given: dict[str, Any]) -> tuple[Film, ...]:
    """Take the films out of what was given."""
    return tuple(Film(each["format"], each["count"], each.get("process", "")) for each in given.pop("films", ()))


def loading(given: dict[str, Any]) -> Loading:
    """Take the loaded tank out of what was given."""
    return Loading(
        films(given), given.pop("tank"), given.pop("use"), given.pop("dilution"), given.pop("compensate", False)
    )
