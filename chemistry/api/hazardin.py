"""A composition as somebody posts it, and each fault of it at its place."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from accounts.api.darkroom import Volume
from chemistry.api.hazardwords import REGIMES
from chemistry.science import dilution
from chemistry.science.formula import Kind
from chemistry.science.hazard.composition import MOST_INGREDIENTS, Amount, Basis, Recipe
from chemistry.science.hazard.fault import Fault, Faulty
from chemistry.science.hazard.mixture import Policy, Rest
from chemistry.science.hazard.strength import POWDER, STOCK
from darkroom_service.api.fields import DecimalText, Flag, Shape, Text, fault
from darkroom_service.quantity import litres
from darkroom_service.refusal import Malformed

MOST = 10**9 - 1
RECEIVED = ("powder", "liquid")
BASES = [each.value for each in Basis]


class IngredientIn(Shape):
    """One ingredient: ``amount``, or a range from ``low`` to ``high``, in the unit of the basis."""

    cas = Text(max_length=40, help_text="Its CAS number; a hydrate has one of its own.")
    amount = DecimalText(low=-MOST, high=MOST, required=False)
    low = DecimalText(low=-MOST, high=MOST, required=False)
    high = DecimalText(low=-MOST, high=MOST, required=False)

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Ask for one figure or for a range, and not for both."""
        said = given.keys() & {"amount", "low", "high"}
        if said not in ({"amount"}, {"low", "high"}):
            raise fault("amount.untold", "give either amount, or both low and high")
        return given


class HazardsIn(Shape):
    """What is in it, and the form that is handled. Nothing is written."""

    ingredients = serializers.ListField(child=IngredientIn(), max_length=MOST_INGREDIENTS)
    basis = serializers.ChoiceField(
        BASES, help_text="g_per_l: grams in a litre of stock; percent: % by weight as received; grams: in the packet."
    )
    form = Text(max_length=12, default=STOCK, help_text="powder, stock, or a dilution such as 1+1.")
    received = serializers.ChoiceField(
        RECEIVED, required=False, help_text="Left out: a powder where powder is asked for or grams are given."
    )
    kind = serializers.ChoiceField(
        [each.value for each in Kind], default=Kind.DEVELOPER.value,
        help_text="Whose floor of protection holds; left out, that of a developer, which is the strictest.",
    )  # fmt: skip
    regime = serializers.ChoiceField(list(REGIMES), default="EU", help_text="EU: CLP; UN: GHS, with Category 5.")
    makes = Volume(positive=True, required=False, help_text="What the packet makes, for grams.")
    g_per_l = DecimalText(low=-MOST, high=MOST, required=False, help_text="Powder in a litre of stock, for percent.")
    density = DecimalText(low=-MOST, high=MOST, required=False, help_text="Of the stock, kg/l.")
    ph = DecimalText(low=-MOST, high=MOST, required=False, help_text="As measured.")
    ph_of = Text(max_length=12, required=False, help_text="Where: stock or a dilution; left out, the form asked for.")
    ph_shown_mild = Flag(default=False, help_text="Acid reserve and in-vitro tests both say harmless.")
    rest = serializers.ChoiceField(
        [each.value for each in Rest], default=Rest.UNKNOWN.value, help_text="What fills percentages up to 100."
    )


def policy_of(given: dict[str, Any]) -> Policy:
    """Return the regime asked for."""
    return Policy(REGIMES[given["regime"]])


def recipe_of(given: dict[str, Any]) -> Recipe:
    """Return the recipe a body tells."""
    basis, form = Basis(given["basis"]), given["form"]
    default = RECEIVED[0] if form == POWDER or basis is Basis.GRAMS else RECEIVED[1]
    makes = given.get("makes")
    return Recipe(
        tuple(_amount(each) for each in given["ingredients"]),
        basis,
        powder=given.get("received", default) == RECEIVED[0],
        g_per_l=given.get("g_per_l"),
        makes_l=None if makes is None else litres(makes),
        density=given.get("density"),
        ph=_ph(given),
        ph_shown_mild=(_ph_of(given),) if given["ph_shown_mild"] else (),
        rest=Rest(given["rest"]),
    )


def _amount(given: dict[str, Any]) -> Amount:
    exact = given.get("amount", Decimal(0))
    return Amount(given["cas"], given.get("low", exact), given.get("high", exact))


def _ph(given: dict[str, Any]) -> tuple[tuple[str, Decimal], ...]:
    if "ph" in given:
        return ((_ph_of(given), given["ph"]),)
    if "ph_of" in given or given["ph_shown_mild"]:
        pointer = "/ph_of" if "ph_of" in given else "/ph_shown_mild"
        raise Malformed("ph.untold", "Say what pH was measured, or leave this out.", pointer=pointer)
    return ()


def _ph_of(given: dict[str, Any]) -> str:
    usual = STOCK if given["form"] == POWDER else given["form"]
    told = str(given.get("ph_of", usual))
    try:
        return str(dilution.parse(told))
    except dilution.NotADilution as refused:
        if "ph_of" in given:
            raise Malformed("strength.malformed", str(refused), pointer="/ph_of") from None
        return told  # the form is judged in its own place


def refused(faulty: Faulty, given: dict[str, Any]) -> Exception:
    """Return what a body is refused with: every fault at its place, a single one under its own code."""
    placed = [(_place(each, given), each) for each in faulty.faults]
    if len(placed) == 1:
        [(place, only)] = placed
        return Malformed(only.code, only.words, pointer="".join(f"/{each}" for each in place))
    detail: dict[str, Any] = {}
    for place, each in placed:
        at = detail
        for token in place:
            at = at.setdefault(str(token), {})
        at.setdefault("non_field_errors", []).append(ErrorDetail(each.words, code=each.code))
    return ValidationError(detail)


def _place(found: Fault, given: dict[str, Any]) -> tuple[str | int, ...]:
    if found.index is not None:
        return "ingredients", found.index, _cell(found, given["ingredients"][found.index])
    noun = found.code.split(".")[0]
    if found.code == "dilution.without_stock":
        return ("makes" if given["basis"] == Basis.GRAMS else "g_per_l",)
    if found.code == "amount.not_positive":
        return ("g_per_l",)
    if noun == "ph":
        return ("ph",)
    return {"density": ("density",), "strength": ("form",), "powder": ("form",)}.get(noun, ("ingredients",))


def _cell(found: Fault, row: dict[str, Any]) -> str:
    if found.code.startswith("cas."):
        return "cas"
    if "amount" in row:
        return "amount"
    backwards = found.code == "range.reversed" or (found.code == "range.negative" and row["low"] < 0)
    return "low" if backwards else "high"
