"""Formulas: read what stands, copy starters, begin one of one's own."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView
from accounts.models import Darkroom
from chemistry.api.version import VersionIn, VersionMade, VersionOut, brief, made
from chemistry.commands import formula, starter
from chemistry.models import Formula, FormulaVersion, VersionState
from darkroom_service.api import paging
from darkroom_service.api.fields import Code, Id, Shape, Text, fault
from darkroom_service.api.schema import PAGE, page_of


class FormulaIn(VersionIn):
    """A new formula."""

    code = Code(max_length=60)
    name = Text(max_length=120)

    def validate_code(self, code: str) -> str:
        """Keep to what other formulas can name as their replenisher."""
        if "." in code or "_" in code:
            raise fault("code.malformed", "a formula's code has small letters, digits and hyphens, like mq-borax")
        return code


class StarterIn(Shape):
    """Which starters to copy; left out, all of them."""

    codes = serializers.ListField(child=Code(max_length=60), max_length=50, allow_empty=False, required=False)


class StarterOut(serializers.Serializer):
    """A formula of the starter set."""

    code = Code(max_length=60)
    name = Text(max_length=120)


class StartersOut(serializers.Serializer):
    """The starter set."""

    items = StarterOut(many=True)


class VersionsMade(serializers.Serializer):
    """The versions that stand for the starters asked for."""

    items = VersionMade(many=True)


class FormulaOut(serializers.Serializer):
    """A formula with the version that is worked by, and the draft of the next where there is one."""

    id = Id(source="public_id")
    code = Code(max_length=60)
    name = Text(max_length=120)
    published = VersionOut(allow_null=True)
    draft = VersionOut(allow_null=True)


def formulas(darkroom: Darkroom) -> QuerySet[Formula]:
    """Return the formulas of a darkroom, each with its versions."""
    versions = FormulaVersion.objects.select_related("drafted_by", "published_by").order_by("number")
    ready = Prefetch("versions", versions, to_attr="newest_last")
    return Formula.objects.filter(darkroom=darkroom).prefetch_related(ready)


def shown(row: Formula) -> dict[str, Any]:
    """Return a formula with its newest published version and its draft."""
    versions: list[FormulaVersion] = row.newest_last  # type: ignore[attr-defined]
    latest = {each.state: each for each in versions}
    draft = latest.get(VersionState.DRAFT)
    facts = {"public_id": row.public_id, "code": row.code, "name": row.name}
    return FormulaOut({**facts, "published": latest.get(VersionState.PUBLISHED), "draft": draft}).data


def _copied(versions: list[FormulaVersion]) -> Answer:
    return Answer(201, {"items": [brief(each) for each in versions]})


class FormulasView(ActView):
    """All formulas."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ, "POST": Act.FORMULA_DRAFT}

    @extend_schema(operation_id="formulas_list", parameters=PAGE, responses=page_of(FormulaOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the formulas."""
        return paging.page(request, formulas(self.darkroom), lambda rows: [shown(row) for row in rows])

    @extend_schema(operation_id="formulas_create", request=FormulaIn, responses={201: VersionMade})
    def post(self, request: Request, slug: str) -> Response:
        """Begin a formula as a draft."""
        given = FormulaIn.read(request.data)
        return self.answer(formula.draft(self.ask(request, word=made), **given))


class StarterView(ActView):
    """The starter set."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ, "POST": Act.FORMULA_PUBLISH}

    @extend_schema(operation_id="formulas_starter_list", responses=StartersOut)
    def get(self, request: Request, slug: str) -> Response:
        """List what the starter set holds."""
        return Response({"items": StarterOut(starter.starters().values(), many=True).data})

    @extend_schema(operation_id="formulas_starter_copy", request=StarterIn, responses={201: VersionsMade})
    def post(self, request: Request, slug: str) -> Response:
        """Copy starters into the darkroom, published; where the set has changed since, the new version."""
        codes = StarterIn.read(request.data).get("codes", list(starter.starters()))
        return self.answer(starter.copy_starter(self.ask(request, word=_copied), codes=codes))


class FormulaView(ActView):
    """One formula."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_read", responses=FormulaOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read a formula."""
        return Response(shown(self.find(formulas(self.darkroom), id)))


urls = [
    path("formulas", FormulasView.as_view()),
    path("formulas/starter", StarterView.as_view()),
    path("formulas/<uuid:id>", FormulaView.as_view()),
]
