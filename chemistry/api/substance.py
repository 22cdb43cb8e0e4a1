"""Substances: the table that ships with what this darkroom says instead, each cell with its source."""

from collections.abc import Sequence
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands.entry import Answer
from accounts.gate import ActView, Made, unseen
from chemistry.api.hazardwords import HOWS
from chemistry.api.substancein import OverrideIn, cells_of
from chemistry.commands import hazards, substance
from chemistry.models import SubstanceOverride
from chemistry.science.hazard import cas as numbers
from chemistry.science.hazard import cell
from chemistry.science.hazard.substance import Substance
from chemistry.science.hazard.table import Table
from darkroom_service.api import paging
from darkroom_service.api.fields import Flag, Id, InstantField, Shape, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of


class SubstanceFilter(QueryShape):
    """Which substances to list."""

    changed = serializers.ChoiceField(("true", "false"), required=False, help_text="Only those changed here, or not.")


class CellOut(serializers.Serializer):
    """One cell of a substance in words, where it comes from, and how it got here."""

    cell = Text(max_length=60)
    value = Text(max_length=400)
    source = Text(max_length=400)  # type: ignore[assignment]
    how = serializers.ChoiceField(HOWS, help_text="darkroom: this darkroom says so. memory, weak: nobody read it yet.")
    address = Text(max_length=400, allow_blank=True)


class SubstanceOut(serializers.Serializer):
    """A substance as hazards are computed with it here."""

    cas = Text(max_length=12)
    name = Text(max_length=120)
    changed_by = Text(max_length=300, allow_null=True, help_text="The source by which this darkroom changed it.")
    cells = CellOut(many=True)


class SubstanceOverrideOut(serializers.Serializer):
    """What a darkroom said of a substance, and whether it still counts: the latest version does, unless withdrawn."""

    id = Id(source="public_id")
    number = Whole(low=1, high=2**31 - 1)
    cells = serializers.DictField()
    source = Text(max_length=300)  # type: ignore[assignment]
    reason = Text(max_length=500)
    withdrawn = Flag(help_text="From this version on the table that ships counts again.")
    by = Id(source="by.public_id")
    occurred_at = InstantField()


class WithdrawalIn(Shape):
    """Why the table that ships counts again."""

    reason = Text(max_length=500, min_length=3)


class SubstancesView(ActView):
    """The table."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.SUBSTANCE_READ}

    @extend_schema(operation_id="substances_list", parameters=[SubstanceFilter, *PAGE], responses=page_of(SubstanceOut))
    def get(self, request: Request, slug: str) -> Response:
        """List the substances as this darkroom uses them, by CAS number."""
        given = SubstanceFilter.read_query(request)
        table = hazards.substances_of(self.darkroom)
        rows = [each for each in table.substances.values() if _asked(each, table, given.get("changed"))]
        return paging.page_of_table(request, rows, lambda found: _worded(found, table), number=_number)


class SubstanceView(ActView):
    """One substance."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.SUBSTANCE_READ}

    @extend_schema(operation_id="substances_read", responses=SubstanceOut)
    def get(self, request: Request, slug: str, cas: str) -> Response:
        """Read a substance as this darkroom uses it."""
        table = hazards.substances_of(self.darkroom)
        found = table.find(cas)
        if found is None:
            raise unseen()
        return Response(_worded([found], table)[0])


class InOverrides(ActView):
    """What every view of overrides looks among."""

    def overrides(self, cas: str) -> QuerySet[SubstanceOverride]:
        """Return what this darkroom said of a substance; what is no CAS number is nowhere."""
        if not numbers.is_sound(cas):
            raise unseen()
        return SubstanceOverride.objects.filter(darkroom=self.darkroom, cas=cas).select_related("by")


class OverridesView(InOverrides):
    """What a darkroom said of one substance."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.SUBSTANCE_READ, "POST": Act.SUBSTANCE_OVERRIDE}

    @extend_schema(operation_id="substance_overrides_list", parameters=PAGE, responses=page_of(SubstanceOverrideOut))
    def get(self, request: Request, slug: str, cas: str) -> Response:
        """List what this darkroom said of it, the latest first."""
        rows = self.overrides(cas)
        return paging.page(request, rows, lambda found: SubstanceOverrideOut(found, many=True).data)

    @extend_schema(operation_id="substance_overrides_create", request=OverrideIn, responses={201: Made})
    def post(self, request: Request, slug: str, cas: str) -> Response:
        """Say something else of a substance than the table, from a source; it replaces what was said before."""
        self.overrides(cas)
        given = OverrideIn.read(request.data)
        ask = self.ask(request, word=self._made)
        told = {"source": given["source"], "reason": given["reason"]}
        return self.answer(substance.override(ask, cas, cells=cells_of(given["cells"]), **told))

    def _made(self, row: SubstanceOverride) -> Answer:
        address = f"/api/v1/darkrooms/{self.darkroom.slug}/substances/{row.cas}/overrides"
        return Answer(201, {"id": str(row.public_id)}, address)


class WithdrawalView(InOverrides):
    """The withdrawal of an override."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.SUBSTANCE_OVERRIDE}

    @extend_schema(operation_id="substance_overrides_withdraw", request=WithdrawalIn, responses={201: Made})
    def post(self, request: Request, slug: str, cas: str, id: UUID) -> Response:
        """Let the table that ships count again."""
        row, given = self.find(self.overrides(cas), id), WithdrawalIn.read(request.data)
        return self.answer(substance.withdraw(self.ask(request), row, **given))


def _asked(found: Substance, table: Table, changed: str | None) -> bool:
    return changed is None or (found.cas in table.overridden) is (changed == "true")


def _number(found: Substance) -> int:
    """Return the CAS number without its hyphens: whole, and each substance's own."""
    return int(found.cas.replace("-", ""))


def _worded(found: Sequence[Substance], table: Table) -> list[dict[str, Any]]:
    rows = [
        {
            "cas": each.cas,
            "name": each.name,
            "changed_by": table.overridden.get(each.cas),
            "cells": [_cell(one) for one in (*cell.of_substance(each), *cell.in_air(table, each.cas))],
        }
        for each in found
    ]
    return list(SubstanceOut(rows, many=True).data)


def _cell(found: cell.Cell) -> dict[str, Any]:
    told = {"source": found.origin.title, "how": found.origin.how, "address": found.origin.address}
    return {"cell": found.cell, "value": found.value, **told}


urls = [
    path("substances", SubstancesView.as_view()),
    path("substances/<str:cas>", SubstanceView.as_view()),
    path("substances/<str:cas>/overrides", OverridesView.as_view()),
    path("substances/<str:cas>/overrides/<uuid:id>/withdrawal", WithdrawalView.as_view()),
]
