"""Mixing: its start, its end, a batch found mixed, and the sheet to mix by."""

from decimal import Decimal
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.commands.entry import Answer
from accounts.gate import ActView
from accounts.models import Darkroom
from chemistry.api.batch import StepView, made
from chemistry.api.batchwords import BatchChanged, brief
from chemistry.api.hazardwords import CautionOut, HazardBriefOut, ProtectionOut, protected
from chemistry.commands import formula, hazards, mixing
from chemistry.commands.batch import judge_request
from chemistry.commands.judgement import insist
from chemistry.models import Batch, Formula, FormulaVersion
from chemistry.science import mixing as science
from chemistry.science.formula import Form
from chemistry.science.hazard.protect import Activity
from chemistry.science.hazard.strength import POWDER, STOCK
from chemistry.science.verdict import Verdict
from darkroom_service.api.fields import DecimalText, Id, InstantField, QuantityField, Shape, Text, Whole
from darkroom_service.quantity import Dimension, millilitres, tenths

SWITCH = ("true", "false")
HALF = Decimal("0.5")


class StartIn(Shape):
    """The beginning of mixing."""

    water = QuantityField(
        Dimension.TEMPERATURE, required=False, source="water_c", help_text="Of the water the powder goes into."
    )
    occurred_at = InstantField(required=False, help_text="When it began, if not now.")
    on_behalf_of = Id(required=False, help_text="The mixer, written down by a technician or instructor.")


class FinishIn(Shape):
    """The end of mixing: made up to the mark."""

    vessel = Id(help_text="The vessel it rests in.")
    made = Volume(positive=True)
    occurred_at = InstantField(required=False, help_text="When it was made up, if not now.")
    on_behalf_of = Id(required=False)


class FoundIn(Shape):
    """A batch mixed without approval or sign-off, as far as is known."""

    formula = Id()
    vessel = Id()
    made = Volume(positive=True)
    packs = serializers.ListField(child=Id(), max_length=20, default=list, help_text="The packs it was made of.")
    mixed_by = Id(required=False, help_text="Who mixed it, if that is known.")
    note = Text(max_length=500, allow_blank=True, default="")
    occurred_at = InstantField(required=False, help_text="When it was mixed, as well as can be told.")


class SheetQuery(Shape):
    """What the room has. Temperatures in degrees Celsius, volumes in millilitres."""

    hot = DecimalText(low=0, high=100, places=1, help_text="The hot tap, °C.")
    cold = DecimalText(low=0, high=100, places=1, help_text="The cold tap, °C.")
    room = DecimalText(low=5, high=40, places=1, default=Decimal(20), help_text="The room, °C.")
    kettle = serializers.ChoiceField(SWITCH, default="false", help_text="Whether water can be boiled.")
    ice = serializers.ChoiceField(SWITCH, default="false", help_text="Whether there is ice.")


class FormulaSheetQuery(SheetQuery):
    """What the room has, and what one packet makes."""

    makes = DecimalText(low=100, high=1_000_000, places=1, help_text="What one whole packet makes, mL.")


class PourOut(serializers.Serializer):
    """So much from one source."""

    water = Text(max_length=20, help_text="cold tap, hot tap, kettle or ice.")
    volume = Volume()


class WaterOut(serializers.Serializer):
    """The water to start with; where the room has none warm or cold enough, why, and what would do."""

    feasible = serializers.BooleanField()
    parts = PourOut(many=True)
    reason = Text(max_length=300)
    offers = serializers.ListField(child=Text(max_length=300))


class WindowOut(serializers.Serializer):
    """The lowest and highest start temperature."""

    low = QuantityField(Dimension.TEMPERATURE)
    high = QuantityField(Dimension.TEMPERATURE)


class SheetOut(serializers.Serializer):
    """The mixing sheet, to be read top to bottom."""

    makes = Volume()
    packet = Text(max_length=300)
    required_topics = serializers.ListField(child=Text(max_length=40))
    cautions = CautionOut(many=True)
    hazards = HazardBriefOut(many=True, help_text="Of the powder, if it is one, and of the stock it becomes.")
    protections = ProtectionOut(many=True, help_text="What handling the powder and mixing ask for.")
    start = Volume()
    window = WindowOut()
    water = WaterOut()
    steps = serializers.ListField(child=Text(max_length=500))
    to_the_mark = Text(max_length=500)
    rest_hours = Whole(low=0, high=168)
    closing = Text(max_length=500)
    warnings = serializers.ListField(child=Text(max_length=500))


def sheet(version: FormulaVersion, makes_ml: Decimal, given: dict[str, Any], room: Darkroom) -> dict[str, Any]:
    """Return the mixing sheet of one packet, or refuse where nothing is mixed."""
    rules = version.rules
    found = science.sheet(
        rules, makes_ml, given["hot"], given["cold"], given["room"],
        kettle=given["kettle"] == "true", ice=given["ice"] == "true",
    )  # fmt: skip
    if isinstance(found, Verdict):
        insist(found)
        raise AssertionError("a verdict in place of a sheet is a no")
    low, high = found.window_c
    parts = [{"water": source, "volume": tenths(volume)} for source, volume in found.water.parts]
    water = {**vars(found.water), "parts": parts}
    facts = {**vars(found), "window": {"low": low, "high": high}, "water": water}
    facts |= {"makes": tenths(found.makes_ml), "start": tenths(found.start_ml)}
    packet = f"One packet, whole. {judge_request(rules, HALF).reason}"
    facts |= _guarded(version, room)
    return SheetOut({**facts, "packet": packet, "required_topics": rules.required_topics}).data


def _guarded(version: FormulaVersion, room: Darkroom) -> dict[str, Any]:
    """Return the hazards of what is handled and made, and what to wear while it is."""
    table = hazards.substances_of(room)
    forms = (POWDER, STOCK) if version.rules.form is Form.POWDER else (STOCK,)
    asked = hazards.at_strength(version, STOCK, substances=table).protections
    worn = [each for each in asked if each.activity in {Activity.POWDER, Activity.MIXING}]
    found = hazards.liquids(((version, form) for form in forms), table)
    return {"hazards": found, "protections": protected(worn)}


class MixingStarted(BatchChanged):
    """A batch whose mixing has begun, and what to mind while it is mixed."""

    cautions = CautionOut(many=True)


class StartView(StepView):
    """The beginning of mixing."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_MIX}
    shape = StartIn
    command = staticmethod(mixing.start)

    @extend_schema(operation_id="batches_mix", request=StartIn, responses={200: MixingStarted})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Begin to mix an approved batch; the packs are opened."""
        return self.take(request, id)

    def worded(self, row: Batch) -> Answer:
        """Word the beginning: what is in the packs is about to be touched."""
        version = row.formula_version
        return Answer(200, {**brief(row), "cautions": hazards.floor([version], version.rules.form)})


class FinishView(StepView):
    """The end of mixing."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_MIX}
    shape = FinishIn
    command = staticmethod(mixing.finish)

    @extend_schema(operation_id="batches_finish", request=FinishIn, responses={200: BatchChanged})
    def post(self, request: Request, slug: str, id: UUID) -> Response:
        """Write down that it is made up to the mark; its rest begins."""
        return self.take(request, id)


class FoundView(ActView):
    """Batches that were mixed before anybody was asked."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.BATCH_FIND}

    @extend_schema(operation_id="batches_find", request=FoundIn, responses={201: BatchChanged})
    def post(self, request: Request, slug: str) -> Response:
        """Write down a batch mixed without approval or sign-off; its release decides."""
        given = FoundIn.read(request.data)
        ask = self.ask(request, word=made, occurred_at=given.pop("occurred_at", None))
        return self.answer(mixing.find(ask, **given))


class FormulaSheetView(ActView):
    """The mixing sheet of a formula."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_mixing_sheet", parameters=[FormulaSheetQuery], responses=SheetOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read how one packet is mixed with this room's water."""
        row = self.find(Formula.objects.filter(darkroom=self.darkroom), id)
        given = FormulaSheetQuery.read(request.query_params.dict())
        return Response(sheet(formula.current(row), given["makes"], given, self.darkroom))


class BatchSheetView(ActView):
    """The mixing sheet of a batch."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BATCH_READ}

    @extend_schema(operation_id="batches_mixing_sheet", parameters=[SheetQuery], responses=SheetOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Read how this batch is mixed with this room's water."""
        row = self.find(Batch.objects.filter(darkroom=self.darkroom).select_related("formula_version__formula"), id)
        given = SheetQuery.read(request.query_params.dict())
        made_ml = millilitres(row.wanted or row.made)
        return Response(sheet(row.formula_version, made_ml, given, self.darkroom))


urls = [
    path("batches/found", FoundView.as_view()),
    path("batches/<uuid:id>/mixing", StartView.as_view()),
    path("batches/<uuid:id>/mixing/finish", FinishView.as_view()),
    path("batches/<uuid:id>/mixing-sheet", BatchSheetView.as_view()),
    path("formulas/<uuid:id>/mixing-sheet", FormulaSheetView.as_view()),
]
