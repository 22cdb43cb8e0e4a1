"""The versions of a formula: read, draft, change a draft, publish it."""

from functools import partial
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView, unseen
from chemistry.commands import formula
from chemistry.models import Formula, FormulaVersion, VersionState
from darkroom_service.api import etag, paging
from darkroom_service.api.fields import Id, InstantField, Shape, Text, Whole, fault
from darkroom_service.api.schema import PAGE, page_of

MOST_SOURCES = 100
HIGHEST_NUMBER = 32767


class Figures(serializers.DictField):
    """The rules of a formula; ``chemistry.science.reading`` reads them and says what is wrong where."""

    def __init__(self, **options: Any) -> None:
        super().__init__(help_text='The figures; a decimal is a string, such as "0.10".', **options)


class Sources(serializers.DictField):
    """Where figures come from, by the JSON Pointer of each."""

    def __init__(self, **options: Any) -> None:
        words = 'Where each figure comes from, by its JSON Pointer in the rules: {"/capacity": "common practice"}.'
        super().__init__(child=Text(max_length=500), help_text=words, **options)

    def to_internal_value(self, data: Any) -> Any:
        """Return the sources, of which there are only so many figures to speak of."""
        if isinstance(data, dict) and len(data) > MOST_SOURCES:
            raise fault("source.too_many", f"at most {MOST_SOURCES} sources")
        return super().to_internal_value(data)


class VersionEdit(Shape):
    """What may change while a version is a draft; what is left out stays."""

    rules = Figures(required=False)
    sources = Sources(required=False)


class VersionIn(Shape):
    """The figures of a new version."""

    rules = Figures()
    sources = Sources(default=dict)


class VersionMade(serializers.Serializer):
    """A version made or changed, and its formula."""

    id = Id(help_text="Of the version.")
    formula = Id()
    number = Whole(low=1, high=HIGHEST_NUMBER)
    state = serializers.ChoiceField(VersionState.choices)


class VersionOut(serializers.Serializer):
    """The figures of a formula, with the source of each by its JSON Pointer."""

    id = Id(source="public_id")
    number = Whole(low=1, high=HIGHEST_NUMBER)
    state = serializers.ChoiceField(VersionState.choices)
    rules = Figures(source="rules_data")
    sources = Sources()
    drafted_by = Id(source="drafted_by.public_id")
    published_by = Id(source="published_by.public_id", default=None)
    published_at = InstantField(allow_null=True)


def made(version: FormulaVersion, status: int = 201) -> Answer:
    """Word a version made or changed."""
    return Answer(status, brief(version))


def brief(version: FormulaVersion) -> dict[str, Any]:
    """Return the ids, number and state of a version."""
    ids = {"id": version.public_id, "formula": version.formula.public_id}
    return VersionMade({**ids, "number": version.number, "state": version.state}).data


def found(view: ActView, id: UUID, number: int) -> FormulaVersion:
    """Return one version of a formula of the darkroom, or 404."""
    rows = FormulaVersion.objects.select_related("formula", "drafted_by", "published_by")
    here = rows.filter(formula__darkroom=view.darkroom, formula__public_id=id)
    if number <= HIGHEST_NUMBER and (row := here.filter(number=number).first()):
        return row
    raise unseen()


class VersionsView(ActView):
    """The versions of a formula."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ, "POST": Act.FORMULA_DRAFT}

    @extend_schema(operation_id="formula_versions_list", parameters=PAGE, responses=page_of(VersionOut))
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """List the versions of a formula, newest first."""
        row = self.find(Formula.objects.filter(darkroom=self.darkroom), id)
        rows = row.versions.select_related("drafted_by", "published_by")
        return paging.page(request, rows, lambda found: VersionOut(found, many=True).data, column="-number")

    @extend_schema(operation_id="formula_versions_create", request=VersionIn, responses={201: VersionMade})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Begin the next version as a draft."""
        row = self.find(Formula.objects.filter(darkroom=self.darkroom), id)
        given = VersionIn.read(request.data)
        return self.answer(formula.draft_version(self.ask(request, word=made), row, **given))


class VersionView(ActView):
    """One version of a formula."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ, "PATCH": Act.FORMULA_DRAFT}

    @extend_schema(operation_id="formula_versions_read", responses=VersionOut)
    def get(self, request: Request, slug: str, id: UUID, number: int) -> Response:
        """Read a version."""
        row = found(self, id, number)
        return etag.answer(request, VersionOut(row).data, row.public_id, row.version)

    @extend_schema(operation_id="formula_versions_edit", request=VersionEdit, responses=VersionOut)
    def patch(self, request: Request, slug: str, id: UUID, number: int) -> Response:
        """Change a draft; a published version never changes."""
        row = found(self, id, number)
        changes = VersionEdit.read(request.data)
        unchanged = partial(etag.check, request, row.public_id)
        formula.edit(self.ask(request, word=partial(made, status=200)), row, changes, unchanged=unchanged)
        return self.get(request, slug, id, number)


class PublicationView(ActView):
    """The publication of a version."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.FORMULA_PUBLISH}

    @extend_schema(operation_id="formula_versions_publish", request=Shape, responses={200: VersionMade})
    def post(self, request: Request, slug: str, id: UUID, number: int) -> Response:
        """Publish a draft, for ever."""
        row = found(self, id, number)
        Shape.read(request.data)
        return self.answer(formula.publish(self.ask(request, word=partial(made, status=200)), row))


urls = [
    path("formulas/<uuid:id>/versions", VersionsView.as_view()),
    path("formulas/<uuid:id>/versions/<int:number>", VersionView.as_view()),
    path("formulas/<uuid:id>/versions/<int:number>/publication", PublicationView.as_view()),
]
