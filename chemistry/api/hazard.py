"""What a formula can still do to a hand, an eye, a lung or a river at the strength handled: computed, with trails."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView
from chemistry.commands import formula
from chemistry.models import Formula
from chemistry.science.formula import Rules
from chemistry.science.hazard import assess as hazard
from chemistry.science.hazard.assess import Assessment
from chemistry.science.hazard.classify import CALCULATED
from chemistry.science.hazard.fault import Faulty
from chemistry.science.hazard.protect import Protection
from chemistry.science.hazard.strength import POWDER
from darkroom_service.api.fields import Flag, Shape, Text
from darkroom_service.refusal import Malformed


class HazardQuery(Shape):
    """The form or strength that is handled."""

    form = Text(max_length=12, default="stock", help_text="powder, stock, or a dilution such as 1+1.")


class CodedOut(serializers.Serializer):
    """A statement by its code and in words."""

    code = Text(max_length=40)
    words = Text(max_length=1000)


class TrailOut(serializers.Serializer):
    """One class that is given: by which rule, and the sum against its limit."""

    code = Text(max_length=60)
    statement = Text(max_length=20)
    rule = Text(max_length=400)
    verdict = Text(max_length=400)


class ProtectionOut(serializers.Serializer):
    """What one activity asks for."""

    activity = Text(max_length=40)
    worn = serializers.ListField(child=Text(max_length=60))
    topics = serializers.ListField(child=Text(max_length=60))
    words = serializers.ListField(child=Text(max_length=1000))


class HazardOut(serializers.Serializer):
    """Classes, label and protection at one strength. ``missing`` is what is not known; it never reads as harmless."""

    form = Text(max_length=12)
    summary = Text(max_length=4000)
    known = Flag()
    signal = Text(max_length=20)
    pictograms = serializers.ListField(child=Text(max_length=10))
    statements = CodedOut(many=True)
    precautions = CodedOut(many=True)
    supplements = CodedOut(many=True)
    classes = TrailOut(many=True)
    missing = CodedOut(many=True)
    doubts = serializers.ListField(child=Text(max_length=1000))
    prevails = Text(max_length=200)


class HazardsOut(HazardOut):
    """The same with what each activity asks for."""

    protections = ProtectionOut(many=True)


class ComparedOut(serializers.Serializer):
    """Every strength side by side, from powder to the highest dilution."""

    items = HazardOut(many=True)


class HazardsView(ActView):
    """The hazards of a formula at one strength."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_hazards", parameters=[HazardQuery], responses=HazardsOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Compute classes, label elements and protection at a strength; calculated, not tested."""
        rules = formula.current(self.find(Formula.objects.filter(darkroom=self.darkroom), id)).rules
        form = HazardQuery.read(request.query_params.dict())["form"]
        return Response(HazardsOut({**_words(_assess(rules, form)), "protections": _protections(rules, form)}).data)


class ComparedView(ActView):
    """The hazards of a formula, strength by strength."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_hazards_compare", responses=ComparedOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Set powder, stock and every dilution of the formula side by side."""
        rules = formula.current(self.find(Formula.objects.filter(darkroom=self.darkroom), id)).rules
        found = hazard.compare(hazard.recipe_of(rules), rules.dilutions)
        return Response(ComparedOut({"items": [_words(each) for each in found]}).data)


def _assess(rules: Rules, form: str) -> Assessment:
    try:
        return hazard.assess(hazard.recipe_of(rules), form)
    except Faulty as fault:
        first = fault.faults[0]
        raise Malformed(first.code, str(fault), pointer="/form") from None


def _protections(rules: Rules, form: str) -> list[dict[str, Any]]:
    stock = _assess(rules, "stock")
    powder = _assess(rules, POWDER) if hazard.recipe_of(rules).powder else None
    working = stock if form == POWDER else _assess(rules, form)
    return [_shown(each) for each in hazard.protections(rules.kind, powder=powder, stock=stock, working=working)]


def _shown(found: Protection) -> dict[str, Any]:
    worn = [each.gear.value for each in found.worn]
    return {"activity": found.activity.value, "worn": worn, "topics": found.topics, "words": found.words}


def _words(found: Assessment) -> dict[str, Any]:
    answer, label = found.classification, found.label
    return {
        "form": found.strength,
        "summary": answer.summary,
        "known": answer.known,
        "signal": label.signal,
        "pictograms": label.pictograms,
        "statements": _coded(label.statements),
        "precautions": _coded(label.precautions),
        "supplements": _coded(label.supplements),
        "classes": answer.worst.given,
        "missing": answer.missing,
        "doubts": [f"{name}: {flag.words}" for name, flag in answer.flags],
        "prevails": CALCULATED,
    }


def _coded(pairs: tuple[tuple[str, str], ...]) -> list[dict[str, str]]:
    return [{"code": code, "words": words} for code, words in pairs]


urls = [
    path("formulas/<uuid:id>/hazards", HazardsView.as_view()),
    path("formulas/<uuid:id>/hazards/compare", ComparedView.as_view()),
]
