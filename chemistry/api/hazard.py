"""What a bath can still do to a hand, an eye, a lung or a river at the strength handled: computed, with trails."""

from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView
from chemistry.api.hazardin import HazardsIn, policy_of, recipe_of, refused
from chemistry.api.hazardwords import REGIMES, HazardOut, HazardsOut, assessed, protected
from chemistry.commands import formula, hazards
from chemistry.models import Formula
from chemistry.science import caution
from chemistry.science.formula import Form, Kind, Rules
from chemistry.science.hazard import assess as hazard
from chemistry.science.hazard import summary
from chemistry.science.hazard.composition import Recipe
from chemistry.science.hazard.fault import Faulty
from chemistry.science.hazard.mixture import Policy
from chemistry.science.hazard.strength import POWDER
from chemistry.science.hazard.table import Table
from darkroom_service.api.fields import Shape, Text
from darkroom_service.refusal import Malformed, Unworkable

OF_THE_FORM = ("strength.malformed", "powder.none", "dilution.without_stock")


class HazardRegime(Shape):
    """The rules applied."""

    regime = serializers.ChoiceField(list(REGIMES), default="EU", help_text="EU: CLP; UN: GHS, with Category 5.")


class HazardQuery(HazardRegime):
    """The form or strength that is handled."""

    form = Text(max_length=12, default="stock", help_text="powder, stock, or a dilution such as 1+1.")


class ComparedOut(serializers.Serializer):
    """Every strength side by side, from powder to the highest dilution."""

    items = HazardOut(many=True)


class OfFormula(ActView):
    """What every view of a formula's hazards looks up."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    def known(self, id: UUID) -> tuple[Rules, Recipe, Table]:
        """Return the figures, the recipe, and the substances as this darkroom uses them."""
        rules = formula.current(self.find(Formula.objects.filter(darkroom=self.darkroom), id)).rules
        table = hazards.substances_of(self.darkroom)
        return rules, hazard.recipe_of(rules), summary.with_unknown(rules.composition, table)


class HazardsView(OfFormula):
    """The hazards of a formula at one strength."""

    @extend_schema(operation_id="formulas_hazards", parameters=[HazardQuery], responses=HazardsOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Compute classes, label elements and protection at a strength; calculated, not tested."""
        rules, recipe, table = self.known(id)
        given = HazardQuery.read(request.query_params.dict())
        try:
            return Response(_answer(rules.kind, recipe, given["form"], table, policy_of(given)))
        except Faulty as faulty:
            raise _unjudged(faulty) from None


class ComparedView(OfFormula):
    """The hazards of a formula, strength by strength."""

    @extend_schema(operation_id="formulas_hazards_compare", parameters=[HazardRegime], responses=ComparedOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Set powder, stock and every dilution of the formula side by side."""
        rules, recipe, table = self.known(id)
        policy = policy_of(HazardRegime.read(request.query_params.dict()))
        try:
            found = hazard.compare(recipe, rules.dilutions, table, policy)
        except Faulty as faulty:
            raise _unjudged(faulty) from None
        return Response(ComparedOut({"items": [assessed(each) for each in found]}).data)


class PostedView(ActView):
    """The hazards of what somebody says is in it."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.FORMULA_READ}
    keyed = False

    @extend_schema(operation_id="hazards", request=HazardsIn, responses={200: HazardsOut})
    def post(self, request: Request, slug: str) -> Response:
        """Compute the hazards of a composition at a strength; writes nothing and needs no key."""
        given = HazardsIn.read(request.data)
        recipe, table = recipe_of(given), hazards.substances_of(self.darkroom)
        try:
            return Response(_answer(Kind(given["kind"]), recipe, given["form"], table, policy_of(given)))
        except Faulty as faulty:
            raise refused(faulty, given) from None


def _answer(kind: Kind, recipe: Recipe, form: str, table: Table, policy: Policy) -> dict[str, Any]:
    found = hazard.assess(recipe, form, table, policy)
    # What is worn does not hang on the regime: the EU's statements, which are the more, decide.
    protections = summary.guarded(kind, recipe, form, table)
    present = {each.cas for each in recipe.amounts}
    lines = caution.floor(kind, present, Form.POWDER if form == POWDER else Form.LIQUID)
    more = {"protections": protected(protections), "cautions": hazards.cautioned(lines)}
    return dict(HazardsOut({**assessed(found), **more}).data)


def _unjudged(faulty: Faulty) -> Exception:
    first = faulty.faults[0]
    if first.code in OF_THE_FORM:
        return Malformed(first.code, str(faulty), pointer="/form")
    words = f"{faulty} Its hazard is not known; the formula's composition would have to be put right in a new version."
    return Unworkable(first.code, words)


urls = [
    path("hazards", PostedView.as_view()),
    path("formulas/<uuid:id>/hazards", HazardsView.as_view()),
    path("formulas/<uuid:id>/hazards/compare", ComparedView.as_view()),
]
