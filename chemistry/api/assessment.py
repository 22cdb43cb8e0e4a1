"""Assessments of waste: computed from a composition, never measured, and nothing is written."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.commands import scope
from accounts.gate import ActView
from chemistry.api import assessmentask as asked
from chemistry.api import assessmentsaid as said
from chemistry.api import assessmentwords as words
from chemistry.commands import formula
from chemistry.models import Formula
from chemistry.science import bleach, dilution, discharge, neutralisation, oxygendemand, silverworth
from chemistry.science.hazard import cas
from darkroom_service import clock
from darkroom_service.localday import day_of
from darkroom_service.quantity import litres
from darkroom_service.refusal import Malformed, Unworkable
from waste.commands import accumulation
from waste.models import Container, DrainRule
from waste.science import generator


class AssessmentView(ActView):
    """Reckons and writes nothing, so it asks for no key."""

    acts: ClassVar[dict[str, Act]] = {"POST": Act.ASSESSMENT_READ}
    keyed = False

    def composition(self, given: Mapping[str, Any], pointer: str) -> dict[str, Decimal]:
        """Return CAS -> g/L of a liquid; a formula of another darkroom is like one that is not there."""
        if "composition" in given:
            return _told(given["composition"], pointer)
        wanted: UUID = given["formula"]
        known = Formula.objects.filter(darkroom=self.darkroom)
        row = scope.named(known, wanted, pointer=f"{pointer}/formula", noun="formula")
        try:
            share = dilution.parse(given.get("dilution", dilution.STOCK)).stock_share
        except dilution.NotADilution as found:
            raise Malformed("dilution.malformed", str(found), pointer=f"{pointer}/dilution") from None
        rows = formula.current(row).rules.composition
        return {each.cas: each.g_per_l * share.numerator / share.denominator for each in rows}


class BleachView(AssessmentView):
    """Bleach in a bath."""

    @extend_schema(operation_id="assessments_bleach", request=asked.BleachIn, responses={200: words.BleachOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon what hypochlorite poured into a bath really does. It is never recommended; writes nothing."""
        given = asked.BleachIn.read(request.data)
        agent, ph = given["bleach"], given.get("ph")
        held = bleach.bath(self.composition(given["bath"], "/bath"))
        mol = bleach.strength(agent["percent"], agent["density"])
        strong = {"mol_per_l": mol, "bleach_density": agent["density"]}
        bath_l = _litres(given["bath"])
        figures = vars(bleach.dose(held, bath_l, _litres(agent), **strong))
        figures |= {"demand": vars(bleach.demand(held, bath_l, **strong))}
        figures |= {"most_to_hydroquinone": bleach.agent_share(held, ph) if ph is not None else None}
        figures |= {"chlorine_ppm": bleach.chlorine(ph, mol, mol) if ph is not None else None}
        figures |= {"warnings": list(bleach.warnings(held, ph)), "ph_window": said.PH_WINDOW}
        figures |= {"verdict": bleach.VERDICT, "words": bleach.VERDICT_WORDS, "if_done": said.BLEACH_DONE}
        return Response(words.BleachOut(figures | said.BLEACH).data)


class SouredView(AssessmentView):
    """Stop bath in developer."""

    @extend_schema(operation_id="assessments_stop", request=asked.SouredIn, responses={200: words.SouredOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon pH and sulfur dioxide where an acetic stop bath gets into a developer; writes nothing."""
        given = asked.SouredIn.read(request.data)
        bath = self.composition(given["bath"], "/bath")
        stop = self.composition(given["stop"], "/stop")
        acid = stop.get(neutralisation.ACETIC)
        if acid is None or not set(bath) & set(bleach.SULFITES):
            raise _no_sum("Only acetic acid in a sulfite bath is reckoned, which does not make another mixture safe.")
        if bath.keys() & neutralisation.ACIDS or stop.keys() & bleach.SULFITES.keys():
            raise _no_sum("One of these is both acid and sulfite already; that mixture is not reckoned.")
        found = neutralisation.sour(
            bath, _litres(given["bath"]), acetic_g_per_l=acid, acid_l=_litres(given["stop"]),
            headspace_l=litres(given["headspace"]),
        )  # fmt: skip
        others = ", ".join(sorted(set(stop) - {neutralisation.ACETIC}))
        figures = {**vars(found), **vars(found.fumes), **said.soured(found, others)}
        return Response(words.SouredOut(figures).data)


class NeutralisationView(AssessmentView):
    """A stop bath neutralised."""

    @extend_schema(
        operation_id="assessments_neutralisation",
        request=asked.NeutralisationIn,
        responses={200: words.NeutralisationOut},
    )
    def post(self, request: Request, slug: str) -> Response:
        """Reckon what base a stop bath would take, with its gas and heat; writes nothing."""
        given = asked.NeutralisationIn.read(request.data)
        held = self.composition(given["bath"], "/bath")
        acids = sorted(held.keys() & neutralisation.ACIDS)
        if len(acids) != 1 or held.keys() & (bleach.SULFITES.keys() | bleach.THIOSULFATES.keys()):
            raise _no_sum("Only a stop bath with one acid, acetic or citric, and nothing of fixer in it is reckoned.")
        target = given.get("target_ph")
        if target is not None and target <= neutralisation.acid_ph(held[acids[0]], acids[0]):
            raise _no_sum("The bath is at that pH or above it already.")
        found = neutralisation.neutralise(held[acids[0]], _litres(given["bath"]), acid=acids[0], target=target)
        return Response(words.NeutralisationOut({**vars(found), **said.NEUTRALISED}).data)


class OxygenView(AssessmentView):
    """Oxygen demand."""

    @extend_schema(
        operation_id="assessments_oxygen_demand", request=asked.AssessedBathIn, responses={200: words.OxygenDemandOut}
    )
    def post(self, request: Request, slug: str) -> Response:
        """Reckon the theoretical oxygen demand of a bath; writes nothing."""
        given = asked.AssessedBathIn.read(request.data)
        found = oxygendemand.demand(self.composition(given["bath"], "/bath"))
        elsewhere = [
            {"where": where, "mg_per_l": most, "times": (found.total * 1000 / most).quantize(Decimal("0.1"))}
            for where, most in oxygendemand.PUBLISHED
        ]
        figures = {**vars(found), "total_g_per_l": found.total, "total_g": found.total * _litres(given["bath"])}
        return Response(words.OxygenDemandOut({**figures, "elsewhere": elsewhere, **said.OXYGEN}).data)


class SilverView(AssessmentView):
    """Silver."""

    @extend_schema(operation_id="assessments_silver", request=asked.SilverIn, responses={200: words.SilverOut})
    def post(self, request: Request, slug: str) -> Response:
        """Reckon the silver of so many rolls, or in a container, and whether it pays to recover; writes nothing."""
        given = asked.SilverIn.read(request.data)
        found, per_litre = self._found(given)
        price = given.get("price_per_g")
        worth = silverworth.worth(found, price, given["cost"]) if price is not None else None
        figures = {
            **vars(found),
            "mg_per_l": per_litre,
            "us_code": generator.BY_SILVER if per_litre and generator.is_toxic_by_silver(per_litre) else "",
            "least_iron_g": silverworth.iron(found.usual_g),
            "worth": worth and {**vars(worth), "words": worth.words},
        }
        return Response(words.SilverOut({**figures, **said.SILVER}).data)

    def _found(self, given: Mapping[str, Any]) -> tuple[silverworth.Range, Decimal | None]:
        if "rolls" in given:
            return silverworth.of_rolls(given["rolls"]), None
        mine = Container.objects.filter(darkroom=self.darkroom)
        held = scope.named(mine, given["container"], pointer="/container", noun="container")
        low, usual, high = (each / 1000 for each in accumulation.silver(held))
        volume = litres(held.contents)
        share = (usual * 1000 / volume).quantize(Decimal("0.1")) if volume > 0 else None
        return silverworth.Range(low, usual, high), share


class DischargeView(AssessmentView):
    """A bath down the drain, as a sum."""

    @extend_schema(operation_id="assessments_discharge", request=asked.DischargeIn, responses={200: words.DischargeOut})
    def post(self, request: Request, slug: str) -> Response:
        """Set what would go down against no-effect concentrations and the drain rule's limits; allows nothing."""
        given = asked.DischargeIn.read(request.data)
        today = day_of(clock.now(), self.darkroom.zone)
        rule = DrainRule.objects.on(self.darkroom, today)
        found = discharge.against(
            self.composition(given["bath"], "/bath"), _litres(given["bath"]), litres(given["water"]),
            limits=_limits(rule) if rule else None, silver_mg_per_l=given.get("silver_mg_per_l"), ph=given.get("ph"),
        )  # fmt: skip
        rows = [
            {**vars(each), **vars(each.threshold), "threshold_mg_per_l": each.threshold.mg_per_l}
            for each in found.against
        ]
        figures = {**vars(found), "against": rows, "drain_rule": rule and rule.public_id}
        return Response(words.DischargeOut({**figures, **said.discharged(found, ruled=rule is not None)}).data)


def _limits(rule: DrainRule) -> discharge.Limits:
    bars = {each["cas"]: Decimal(each["mg_per_l"]) for each in rule.limits if each.get("cas")}
    source = f"drain rule {rule.number}: {rule.reference}"
    return discharge.Limits(bars, None, Decimal(rule.ph_low), Decimal(rule.ph_high), source)


def _litres(given: Mapping[str, Any]) -> Decimal:
    return litres(given["volume"])


def _told(rows: list[dict[str, Any]], pointer: str) -> dict[str, Decimal]:
    """Return what was told, each CAS number sound and named once."""
    found: dict[str, Decimal] = {}
    for index, row in enumerate(rows):
        at, number = f"{pointer}/composition/{index}/cas", row["cas"]
        if not cas.is_sound(number):
            raise Malformed("cas.malformed", f"{number} is not a CAS number; one looks like 123-31-9.", pointer=at)
        if number in found:
            raise Malformed("cas.twice", f"{number} is named twice: add the two figures up.", pointer=at)
        found[number] = row["g_per_l"]
    if not found:
        raise Malformed("composition.empty", "Name at least one ingredient.", pointer=f"{pointer}/composition")
    return found


def _no_sum(why: str) -> Unworkable:
    allowed = "Give another liquid or its composition, or ask whoever answers for the waste before anything is mixed."
    return Unworkable("assessment.not_reckoned", f"{why} {allowed}")


urls = [
    path("assessments/bleach", BleachView.as_view()),
    path("assessments/stop-into-developer", SouredView.as_view()),
    path("assessments/neutralisation", NeutralisationView.as_view()),
    path("assessments/oxygen-demand", OxygenView.as_view()),
    path("assessments/silver", SilverView.as_view()),
    path("assessments/discharge", DischargeView.as_view()),
]
