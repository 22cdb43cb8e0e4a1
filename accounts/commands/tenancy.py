"""Does every row point only to rows of its own darkroom? Asked of all models there are, so that none is forgotten."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import F, ForeignKey, Model

from accounts.models import Darkroom


def differences(darkroom_id: int | None = None) -> Iterator[str]:
    """Yield a line for every pointer from one darkroom into another."""
    for model in apps.get_models():
        own = room(model)
        if own is None:
            continue
        for field in pointers(model):
            theirs = room(field.related_model)
            if theirs in {None, "pk"} or own == f"{field.name}__{theirs}":
                continue
            other = f"{field.name}__{theirs}"
            astray = model._default_manager.exclude(**{field.name: None}).exclude(**{own: F(other)})
            chosen = astray if darkroom_id is None else astray.filter(**{own: darkroom_id})
            for pk in chosen.order_by("pk").values_list("pk", flat=True):
                yield f"{model._meta.verbose_name} {pk}: its {field.verbose_name} is in another darkroom"


@cache
def room(model: Any) -> str | None:
    """Return the way from a row to its darkroom as a lookup; None for what belongs to no darkroom."""
    if model is Darkroom:
        return "pk"
    fields = pointers(model)
    by_name = {field.name: field for field in fields}
    if "darkroom" in by_name:
        return "darkroom"
    if "entry" in by_name:
        return "entry__darkroom"
    ways = ((field.name, room(field.related_model)) for field in fields if not field.null)
    return next((f"{name}__{way}" for name, way in ways if way), None)


def pointers(model: type[Model]) -> list[Any]:
    """Return the foreign keys of a model to others and to its own kind."""
    return [field for field in model._meta.fields if isinstance(field, ForeignKey)]
