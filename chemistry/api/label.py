"""Labels of vessels: what is in it at what strength, until when, what it can do, and how to find it here."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from accounts.acts import Act
from accounts.gate import ActView, unseen
from accounts.models import Membership
from chemistry.commands import hazards, standing
from chemistry.models import Batch, Vessel, VesselState
from chemistry.science import caution
from chemistry.science.formula import Form
from chemistry.science.hazard.summary import Summary
from chemistry.science.hazard.table import Table
from darkroom_service import clock
from darkroom_service.api.printing import DRAWN, MOST_LABELS, LabelQuery, LabelsQuery, address, printed
from darkroom_service.drawing.label import Label
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres

UNKNOWN = "Not all of it is known: treat it as hazardous."
NO_CLASS = "No hazard class at this strength by calculation; still not for drinking, skin or eyes."
BASIS = "Calculated, not tested; the supplier's sheet and local law prevail."


class VesselLabelView(ActView):
    """The label of one vessel."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="vessels_label", parameters=[LabelQuery], responses=DRAWN)
    def get(self, request: Request, slug: str, id: UUID) -> HttpResponse:
        """Draw a vessel's label: for a roll, or for a sheet from a place still free."""
        rows: Any = Vessel.objects.filter(darkroom=self.darkroom)
        row = self.find(rows.with_contents(), id)
        query = LabelQuery.read(request.query_params.dict())
        now = clock.now()
        return printed(_labels([row], self.member, now), query, f"Label {row.code}", now)


class BatchLabelsView(ActView):
    """The labels of all vessels that hold some of a batch."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="batches_labels", parameters=[LabelsQuery], responses=DRAWN)
    def get(self, request: Request, slug: str, id: UUID) -> HttpResponse:
        """Draw a label for every vessel that holds some of the batch, in the order of their codes."""
        batch = self.find(Batch.objects.filter(darkroom=self.darkroom), id)
        query = LabelsQuery.read(request.query_params.dict())
        rows: Any = Vessel.objects.filter(darkroom=self.darkroom, batch=batch, contents__gt=0)
        found = list(rows.with_contents().select_related("owner__person").order_by("code")[:MOST_LABELS])
        if not found:
            raise unseen()
        now = clock.now()
        return printed(_labels(found, self.member, now), query, f"Labels {batch.code}", now)


def _labels(rows: Iterable[Vessel], viewer: Membership, now: datetime) -> list[Label]:
    table = hazards.substances_of(viewer.darkroom)
    return [label_of(row, viewer, table, now) for row in rows]


def label_of(row: Vessel, viewer: Membership, table: Table, now: datetime) -> Label:
    """Return what a vessel's label says; ``row`` brings its batch, formula and owner along."""
    darkroom = viewer.darkroom
    common: dict[str, Any] = {
        "title": row.name,
        "code": row.code,
        "address": address(darkroom.slug, row.code),
        "holds_ml": float(millilitres(row.nominal)),
    }
    owned = _owned(row, viewer, now)
    if row.batch is None or not row.contents:
        blanks = (("Holds: ____________________", False), ("Mixed: __________  Use by: __________", False))
        return Label(**common, lines=(("Empty", True), *owned, *blanks), basis=darkroom.name)
    version = row.batch.formula_version
    found = hazards.at_strength(version, row.batch.dilution, substances=table)
    what = (f"{version.formula.name}, {row.batch.dilution}", False)
    allergy = caution.allergy({part.cas for part in version.rules.composition})
    apart = (*allergy, caution.PREVAILS)
    floor = [each.hazard for each in caution.handling(version.rules, Form.LIQUID) if each not in apart]
    return Label(
        **common,
        lines=(what, *owned, *_dates(row, row.batch, darkroom.zone, now)),
        signal=found.signal,
        pictograms=found.pictograms,
        statements=_statements(found),
        cautions=(*(() if found.known else (UNKNOWN,)), *(each.hazard for each in allergy)),
        advice=(*floor, *(words for _, words in found.precautionary)),
        basis=BASIS,
    )


def _owned(row: Vessel, viewer: Membership, now: datetime) -> tuple[tuple[str, bool], ...]:
    if row.owner is None:
        return ()
    leave = f", to be taken away by {_day(row.leave_by)}" if row.leave_by else ""
    return ((f"Own bottle of {row.owner.name_for(viewer, now)}{leave}", True),)


def _dates(row: Vessel, batch: Batch, zone: str, now: datetime) -> tuple[tuple[str, bool], ...]:
    found = standing.assess(row, now, zone)
    made = row.made_at or batch.mixed_at or row.filled_at
    mixed = f"Batch {batch.code} · mixed {_day(day_of(made, zone))}" if made else f"Batch {batch.code}"
    until = f"Use by {_day(found.use_by)}" if found.use_by else "No keeping time promised: test before use"
    stopped = (("STOPPED: do not use", True),) if found.state == VesselState.STOPPED else ()
    return ((mixed, False), (until, True), *stopped)


def _statements(found: Summary) -> tuple[str, ...]:
    """Return what it can do. What is not known stands among the cautions, which no small label leaves out."""
    said = tuple(words for _, words in (*found.statements, *found.supplementary))
    return said or ((NO_CLASS,) if found.known else ())


def _day(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else ""


urls = [
    path("vessels/<uuid:id>/label", VesselLabelView.as_view()),
    path("batches/<uuid:id>/labels", BatchLabelsView.as_view()),
]
