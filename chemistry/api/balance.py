"""The balance: where every millilitre of a batch is, what it has done and who bears its cost."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import SignedVolume
from accounts.gate import ActView
from chemistry.api.money import MoneyOut, money
from chemistry.api.planwords import VesselRef
from chemistry.commands import advice, balance
from chemistry.commands.balance import Balance
from chemistry.models import Batch, BatchState, Origin, Place
from chemistry.science.load import text as load_text
from darkroom_service.api import paging
from darkroom_service.api.fields import Id, Text, Whole
from darkroom_service.api.query import QueryShape
from darkroom_service.api.schema import PAGE, page_of


class BalanceFilter(QueryShape):
    """Which batch; left out, all that are live."""

    batch = Id(required=False)


class BatchRef(serializers.Serializer):
    """The batch a balance is of."""

    id = Id()
    code = Text(max_length=12)
    formula = Text(max_length=60)
    dilution = Text(max_length=12)
    origin = serializers.ChoiceField(Origin.choices)
    state = serializers.ChoiceField(BatchState.choices)


class HeldOut(serializers.Serializer):
    """What one vessel holds of it."""

    vessel = VesselRef()
    contents = SignedVolume()


class RunsOut(serializers.Serializer):
    """Tanks: drawn + water + found = poured_back + carried_out + containers + drain + unaccounted."""

    drawn = SignedVolume(help_text="From vessels.")
    water = SignedVolume(help_text="Added in the tank.")
    found = SignedVolume(help_text="More was poured out than went in; it counts against unaccounted.")
    poured_back = SignedVolume(help_text="Into vessels.")
    carried_out = SignedVolume(help_text="Clung to the film.")
    containers = SignedVolume(help_text="Into waste containers.")
    drain = SignedVolume(help_text="Down the drain.")
    unaccounted = SignedVolume(help_text="Nobody said where it went.")


class LoadOut(serializers.Serializer):
    """Roll units."""

    done = Text(max_length=20, help_text="Film and paper that went through it, one-shot too.")
    done_units = Whole(low=0, high=10**15)
    in_vessels = Text(max_length=20, help_text="On what stands in vessels now; the rest went with the liquid.")
    in_vessels_units = Whole(low=0, high=10**15)


class CostOut(serializers.Serializer):
    """total = members + batches + darkroom + not_borne."""

    total = MoneyOut(help_text="What went into it.")
    members = MoneyOut(help_text="Borne by who used it.")
    batches = MoneyOut(help_text="Passed on to batches made from it.")
    darkroom = MoneyOut(help_text="Borne by the darkroom, once it is used up.")
    not_borne = MoneyOut(help_text="Of what still stands in vessels.")


class BalanceOut(serializers.Serializer):
    """Everything that came in = everything that went on, went away or stands in vessels; runs are counted in these.

    made + water + from_batches - into_batches - in_vessels - carried_out - containers - drain - spilled - evaporated
    - unaccounted = difference, which is nothing while the record holds.
    """

    batch = BatchRef()
    made = SignedVolume(help_text="From packs.")
    water = SignedVolume(help_text="Added to dilute it, in vessels and in tanks.")
    from_batches = SignedVolume(help_text="From other batches: diluted from them, blended with them.")
    into_batches = SignedVolume(help_text="Into other batches.")
    vessels = HeldOut(many=True)
    in_vessels = SignedVolume(help_text="In all vessels now.")
    runs = RunsOut()
    carried_out = SignedVolume(help_text="Clung to film and paper.")
    containers = SignedVolume(help_text="Into waste containers, from tanks and vessels.")
    drain = SignedVolume(help_text="Down the drain.")
    spilled = SignedVolume()
    evaporated = SignedVolume()
    unaccounted = SignedVolume(help_text="Went missing, less what was found.")
    difference = SignedVolume()
    load = LoadOut()
    cost = CostOut()


class BalanceView(ActView):
    """The balance."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.BALANCE_READ}

    @extend_schema(operation_id="balance_read", parameters=[BalanceFilter, *PAGE], responses=page_of(BalanceOut))
    def get(self, request: Request, slug: str) -> Response:
        """Draw up the balance of one batch, or of every batch that is not used up yet, the latest first."""
        given = BalanceFilter.read_query(request)
        rows = Batch.objects.filter(darkroom=self.darkroom).select_related("formula_version__formula")
        wanted = given.get("batch")
        rows = rows.filter(public_id=wanted) if wanted else rows.filter(made__gt=0, closed_at=None)
        return paging.page(request, rows, lambda found: [self._shown(each) for each in balance.drawn_up(found)])

    def _shown(self, found: Balance) -> dict[str, Any]:
        batch, places = found.batch, found.places
        facts = {
            "batch": {"id": batch.public_id, "formula": batch.formula_version.formula.code} | _named(batch),
            "made": found.made,
            "water": found.water,
            "from_batches": found.from_batches,
            "into_batches": found.into_batches,
            "vessels": [{"vessel": advice.named(each), "contents": each.contents} for each in found.vessels],
            "in_vessels": found.in_vessels,
            "runs": _runs(found),
            "carried_out": places[Place.CARRIED_OUT],
            "containers": places[Place.CONTAINER],
            "drain": places[Place.DRAIN],
            "spilled": places[Place.SPILLED],
            "evaporated": places[Place.EVAPORATED],
            "unaccounted": places[Place.UNACCOUNTED],
            "difference": found.difference,
            "load": _load(found),
            "cost": {name: money(minor, self.darkroom) for name, minor in _cost(found).items()},
        }
        return dict(BalanceOut(facts).data)


def _named(batch: Batch) -> dict[str, str]:
    return {name: getattr(batch, name) for name in ("code", "dilution", "origin", "state")}


def _runs(found: Balance) -> dict[str, int]:
    came, went = found.runs_in, found.runs_out
    return {
        "drawn": came[Place.VESSEL],
        "water": came[Place.WATER],
        "found": came[Place.UNACCOUNTED],
        "poured_back": went[Place.VESSEL],
        "carried_out": went[Place.CARRIED_OUT],
        "containers": went[Place.CONTAINER],
        "drain": went[Place.DRAIN],
        "unaccounted": went[Place.UNACCOUNTED],
    }


def _load(found: Balance) -> dict[str, Any]:
    done, standing = found.load_done, found.load_standing
    return {
        "done": load_text(done),
        "done_units": done,
        "in_vessels": load_text(standing),
        "in_vessels_units": standing,
    }


def _cost(found: Balance) -> dict[str, int]:
    shares = {name: found.borne[name] for name in ("members", "batches", "darkroom")}
    return {"total": found.batch.cost_minor, **shares, "not_borne": found.not_borne}


urls = [path("balance", BalanceView.as_view())]
