"""How the API describes itself: the plumbing every operation shares is written in once, here."""

from functools import cache
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_bearer_security_scheme_object
from drf_spectacular.utils import OpenApiParameter, inline_serializer
from rest_framework import serializers

from darkroom_service import quantity
from darkroom_service.api import fields, paging

KEY = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "format": "uuid"},
    OpenApiParameter.HEADER,
    required=True,
    description="A new UUID for each act; the same one when the act is sent again.",
)
IF_MATCH = OpenApiParameter(
    "If-Match",
    {"type": "string", "minLength": 1},
    OpenApiParameter.HEADER,
    required=True,
    description="The ETag that was read.",
)
PAGE = [
    OpenApiParameter(
        "cursor", {"type": "string"}, OpenApiParameter.QUERY, description="Taken from a page's next link."
    ),
    OpenApiParameter(
        "limit",
        {"type": "integer", "minimum": 1, "maximum": paging.HIGHEST_LIMIT, "default": paging.DEFAULT_LIMIT},
        OpenApiParameter.QUERY,
        description="The most items in one page.",
    ),
]
FAULT = {
    "type": "object",
    "required": ["pointer", "code", "detail"],
    "properties": {
        "pointer": {"type": "string", "description": "JSON Pointer into the request's body; empty for the whole."},
        "code": {"type": "string"},
        "detail": {"type": "string"},
    },
}
PROBLEM = {
    "type": "object",
    "description": "A refusal or failure (RFC 9457). Branch on code; show detail to people.",
    "required": ["type", "title", "status", "detail", "code", "facts"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "code": {"type": "string", "description": "noun.adjective, such as batch.exhausted"},
        "facts": {"type": "object", "additionalProperties": True, "description": "What a program needs to do better."},
        "errors": {"type": "array", "items": FAULT},
    },
}
ANSWER = {
    "description": "A refusal or failure",
    "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
}


class Schema(AutoSchema):
    """Adds the headers our methods need; a view whose POST writes no ledger row says ``keyed = False``."""

    def get_override_parameters(self) -> list[Any]:
        """Return the headers of this operation."""
        if self.method == "POST" and getattr(self.view, "keyed", True):
            return [KEY]
        return [IF_MATCH] if self.method == "PATCH" else []

    def get_serializer_name(self, serializer: serializers.Serializer, direction: str) -> str:
        """Name a shape by its noun too: the reason of a batch is another shape than the reason of a container."""
        return shape_name(type(serializer))


def shape_name(shape: type[serializers.BaseSerializer]) -> str:
    """Return the name of a shape in the description: its class's, led by its module's noun unless it says that."""
    noun = shape.__module__.rsplit(".", 1)[-1]
    says_it = shape.__name__.lower().startswith(noun[:4])
    foreign = shape.__module__.startswith("rest_framework")
    return shape.__name__ if foreign or says_it else f"{noun.capitalize()}{shape.__name__}"


@cache  # one shape, one name: two of the same name would be an ambiguous description
def page_of(shape: type[serializers.Serializer]) -> serializers.Serializer:
    """Return the shape of one page of ``shape``; pair it with ``parameters=PAGE``."""
    name = f"{shape_name(shape).removesuffix('Out')}Page"
    return inline_serializer(
        name, {"items": shape(many=True), "next": serializers.CharField(allow_null=True, help_text="The next page.")}
    )


def add_plumbing(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """Write the problem document into the schema, as an answer of every operation."""
    components = result.setdefault("components", {})
    components.setdefault("schemas", {})["Problem"] = PROBLEM
    components.setdefault("responses", {})["Problem"] = ANSWER
    for operations in result["paths"].values():
        for operation in operations.values():
            for status in ("4XX", "5XX"):
                operation["responses"].setdefault(status, {"$ref": "#/components/responses/Problem"})
    return result


class TokenScheme(OpenApiAuthenticationExtension):
    """Tokens for programs."""

    target_class = "darkroom_service.api.token.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """Return the header that carries a token."""
        return build_bearer_security_scheme_object(header_name="Authorization", token_prefix="Token")  # noqa: S106


class FieldSchema(OpenApiSerializerFieldExtension):
    """Our closed grammars, said as patterns and bounds."""

    target_class = "darkroom_service.api.fields.Grammar"
    match_subclasses = True

    def get_name(self) -> str | None:
        """Name the shapes of amounts, so that each is described once: Volume, Mass, Area, Temperature, Duration."""
        return self.target.dimension.capitalize() if isinstance(self.target, fields.QuantityField) else None

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        """Return the JSON Schema of one field."""
        return next(write(self.target) for kind, write in GRAMMARS.items() if isinstance(self.target, kind))


def _quantity(field: fields.QuantityField) -> dict[str, Any]:
    signed = field.dimension is quantity.Dimension.TEMPERATURE
    return {
        "type": "object",
        "required": ["value", "unit"],
        "additionalProperties": False,
        "properties": {
            "value": {"type": "string", "pattern": _number_pattern(signed=signed), "examples": ["250.0"]},
            "unit": {"type": "string", "enum": list(quantity.UNITS[field.dimension])},
        },
    }


def _number_pattern(*, signed: bool) -> str:
    pattern = quantity.NUMBER.pattern if signed else quantity.NUMBER.pattern.removeprefix("-?")
    return f"^{pattern}$"


GRAMMARS: dict[type[serializers.Field], Any] = {
    fields.QuantityField: _quantity,
    fields.DecimalText: lambda field: {"type": "string", "pattern": _number_pattern(signed=field.low < 0)},
    fields.Whole: lambda field: {"type": "integer", "minimum": field.low, "maximum": field.high},
    fields.InstantField: lambda _: {"type": "string", "format": "date-time"},
    fields.DayField: lambda _: {"type": "string", "format": "date"},
    fields.Flag: lambda _: {"type": "boolean"},
    fields.Id: lambda _: {"type": "string", "format": "uuid"},
    fields.Code: lambda field: {
        "type": "string",
        "maxLength": field.max_length,
        "pattern": f"^{fields.CODE.pattern}$",
    },
}
