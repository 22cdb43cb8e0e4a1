"""Keep the committed copy of the API's description in step with the code."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from drf_spectacular.drainage import GENERATOR_STATS
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiYamlRenderer
from drf_spectacular.validation import validate_schema

COPY = Path(settings.BASE) / "deploy" / "openapi.yaml"


class Command(BaseCommand):
    """Write or compare ``deploy/openapi.yaml``."""

    help = "Write the OpenAPI description to deploy/openapi.yaml, or check that the copy there is the present one."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take exactly one of the two."""
        choice = parser.add_mutually_exclusive_group(required=True)
        choice.add_argument("--write", action="store_true", help="write the copy")
        choice.add_argument("--check", action="store_true", help="fail when the copy is not the present description")

    def handle(self, *args: Any, **options: Any) -> None:
        """Generate, validate, then write or compare."""
        text = description()
        if options["write"]:
            COPY.write_bytes(text)
        elif not COPY.exists() or COPY.read_bytes() != text:
            raise CommandError(
                "deploy/openapi.yaml is not the present API; look at what changed, then run schema --write"
            )


def description() -> bytes:
    """Return the API's description as YAML, after validating it against OpenAPI 3.1."""
    GENERATOR_STATS.reset()
    schema = SchemaGenerator().get_schema(request=None, public=True)
    if GENERATOR_STATS:
        GENERATOR_STATS.emit_summary()
        raise CommandError("some operations are not described; the lines above say which")
    validate_schema(schema)
    text: bytes = OpenApiYamlRenderer().render(schema, renderer_context={})
    return text
