"""What a formula costs, by the packs received of it: a litre, and a roll in each way of use."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar
from uuid import UUID

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.api.darkroom import Volume
from accounts.gate import ActView
from accounts.models import Darkroom
from chemistry.api.formula import formulas
from chemistry.api.money import MoneyOut, money
from chemistry.models import Formula, FormulaVersion, Pack, VersionState
from chemistry.science import cost
from chemistry.science.dilution import parse
from chemistry.science.formula import Material, Rules, Use
from darkroom_service.api.fields import DecimalText, Flag, Id, InstantField, Text
from darkroom_service.quantity import millilitres, tenths


class OneShotOut(serializers.Serializer):
    """A roll in a one-shot tank that holds the least stock the formula asks for."""

    dilution = Text(max_length=12)
    stock = Volume()
    tank = Volume(help_text="What that stock makes at this dilution: the smallest tank for one roll.")
    per_roll = MoneyOut()


class ReuseOut(serializers.Serializer):
    """A roll in a bath that is used until its capacity is reached."""

    material = serializers.ChoiceField([each.value for each in Material])
    use = serializers.ChoiceField([each.value for each in Use])
    dilution = Text(max_length=12)
    compensated = Flag(help_text="With times lengthened as the bath is used up.")
    rolls_per_litre = DecimalText(places=4)
    per_roll = MoneyOut()


class PriceOut(serializers.Serializer):
    """What one pack cost, and what that comes to."""

    pack = Id()
    received_at = InstantField()
    price = MoneyOut()
    per_litre = MoneyOut(help_text="Of stock, or of concentrate as it comes.")
    one_shot = OneShotOut(many=True)
    reuse = ReuseOut(many=True)


class SizeOut(serializers.Serializer):
    """Packs of one size: the latest received, and the cheapest ever."""

    makes = Volume()
    latest = PriceOut()
    cheapest = PriceOut()


class CheaperOut(serializers.Serializer):
    """By how much a litre from one size is cheaper than from another, by the latest prices."""

    makes = Volume()
    than = Volume()
    percent = DecimalText(places=1)


class FormulaCostOut(serializers.Serializer):
    """The computed cost of a formula; sizes from the smallest, nothing where no pack was received."""

    formula = Id()
    sizes = SizeOut(many=True)
    cheaper = CheaperOut(many=True)


class FormulaCostView(ActView):
    """The cost of one formula."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.FORMULA_READ}

    @extend_schema(operation_id="formulas_cost", responses=FormulaCostOut)
    def get(self, request: Request, slug: str, id: UUID) -> Response:
        """Compute what a litre and a roll cost, for each size of pack received, and which size is cheaper."""
        row = self.find(formulas(self.darkroom), id)
        packs = Pack.objects.filter(darkroom=self.darkroom, formula_version__formula=row)
        return Response(FormulaCostOut(_shown(row, list(packs.order_by("received_at", "id")), self.darkroom)).data)


def _shown(row: Formula, packs: list[Pack], room: Darkroom) -> dict[str, Any]:
    by_size: dict[int, list[Pack]] = {}
    for pack in packs:
        by_size.setdefault(pack.makes, []).append(pack)
    rules, sizes = _rules(row), sorted(by_size)
    cheapest = {makes: min(found, key=lambda pack: pack.price_minor) for makes, found in by_size.items()}
    latest = [by_size[makes][-1] for makes in sizes]
    items = [
        {
            "makes": pack.makes,
            "latest": _price(pack, rules, room),
            "cheapest": _price(cheapest[pack.makes], rules, room),
        }
        for pack in latest
    ]
    return {"formula": row.public_id, "sizes": items, "cheaper": list(_compared(latest))}


def _rules(row: Formula) -> Rules | None:
    """Return the figures of the version that is worked by; a draft promises nothing yet."""
    versions: list[FormulaVersion] = row.newest_last  # type: ignore[attr-defined]
    published = [each for each in versions if each.state == VersionState.PUBLISHED]
    return published[-1].rules if published else None


def _price(pack: Pack, rules: Rules | None, room: Darkroom) -> dict[str, Any]:
    price, makes = pack.price_minor, millilitres(pack.makes)
    return {
        "pack": pack.public_id,
        "received_at": pack.received_at,
        "price": money(price, room),
        "per_litre": money(round(cost.per_litre(price, makes)), room),
        "one_shot": list(_one_shot(price, makes, rules, room)) if rules else [],
        "reuse": list(_reuse(price, makes, rules, room)) if rules else [],
    }


def _one_shot(price: int, makes: Decimal, rules: Rules, room: Darkroom) -> Iterable[dict[str, Any]]:
    stock = rules.minimum_stock_ml
    if stock is None:
        return
    for dilution in rules.dilutions:
        tank = tenths(Decimal(round(Fraction(stock) / parse(dilution).stock_share * 10)).scaleb(-1))
        minor = round(cost.one_shot_per_roll(price, makes, stock))
        yield {"dilution": dilution, "stock": tenths(stock), "tank": tank, "per_roll": money(minor, room)}


def _reuse(price: int, makes: Decimal, rules: Rules, room: Darkroom) -> Iterable[dict[str, Any]]:
    for each in rules.capacity:
        figures = [(False, each.rolls_per_litre), (True, each.compensated)]
        for compensated, rolls in ((flag, figure) for flag, figure in figures if figure):
            minor = round(cost.reuse_per_roll(price, makes, rolls) * parse(each.dilution).stock_share)
            facts = {"material": each.material, "use": each.use, "dilution": each.dilution, "rolls_per_litre": rolls}
            yield facts | {"compensated": compensated, "per_roll": money(minor, room)}


def _compared(packs: list[Pack]) -> Iterable[dict[str, Any]]:
    """Yield by how much the cheapest size is cheaper than each other one."""
    rates = {pack.makes: cost.per_litre(pack.price_minor, millilitres(pack.makes)) for pack in packs}
    best = min(rates, key=lambda makes: rates[makes], default=0)
    for makes, rate in rates.items():
        if makes != best and rate:
            yield {"makes": best, "than": makes, "percent": cost.cheaper_percent(rates[best], rate)}


urls = [path("formulas/<uuid:id>/cost", FormulaCostView.as_view())]
