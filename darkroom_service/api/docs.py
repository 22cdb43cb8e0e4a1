"""The API's own description and the pages that explain it; nothing is fetched from elsewhere."""

import re
from functools import cache
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiJsonRenderer, OpenApiYamlRenderer
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.permissions import AllowAny
from rest_framework.request import Request

PROBLEM_CODE = re.compile(r"[a-z][a-z0-9_-]{0,40}(?:\.[a-z][a-z0-9_-]{0,40}){0,2}", re.ASCII)


@extend_schema(exclude=True)
class SchemaView(SpectacularAPIView):
    """OpenAPI 3.1 as YAML, or as JSON when asked for."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    def get(self, request: Request) -> HttpResponse:
        """Return the description in the form asked for."""
        chosen = request.accepted_renderer
        return HttpResponse(rendered(chosen.format), content_type=chosen.media_type)


class DocsView(SpectacularSwaggerSplitView):
    """The description as a page to read and try; works without any other host."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    template_name = "docs.html"


@cache  # it takes seconds to make and does not change while the program runs
def described() -> dict[str, Any]:
    """Return the description, the same for everybody."""
    schema: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return schema


@cache
def rendered(form: str) -> str | bytes:
    """Return the description as ``yaml`` or ``json``."""
    renderer = OpenApiYamlRenderer() if form == "yaml" else OpenApiJsonRenderer()
    return renderer.render(described(), renderer_context={})


@require_safe
def explain_problem(request: HttpRequest, code: str) -> HttpResponse:
    """Explain how to read the problem whose type address was followed."""
    if not PROBLEM_CODE.fullmatch(code):
        raise Http404
    return render(request, "problem.html", {"code": code})
