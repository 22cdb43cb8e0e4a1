"""What is asked of an assessment: a liquid by its formula or by what is in it, and what else the sum needs."""

from decimal import Decimal

from accounts.api.darkroom import Volume
from darkroom_service.api.fields import DecimalText, Id, Shape, Text, fault

CAS = 12


class MeasuredIn(Shape):
    """One substance in the liquid."""

    cas = Text(max_length=CAS, help_text="Its CAS number, such as 123-31-9.")
    g_per_l = DecimalText(low="0.000001", high=5000)


class LiquidIn(Shape):
    """A liquid: a formula of this darkroom at a strength, or what is in a litre of it."""

    volume = Volume(positive=True)
    formula = Id(required=False)
    dilution = Text(max_length=12, required=False, help_text="stock or 1+n; stock, if left out.")
    composition = MeasuredIn(many=True, required=False)

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Ask for exactly one way of saying what it is."""
        if ("formula" in attrs) == ("composition" in attrs):
            raise fault("liquid.untold", "give either a formula or a composition, and not both")
        if "composition" in attrs and "dilution" in attrs:
            raise fault("dilution.without_formula", "a strength is of a formula; a composition is as it is poured")
        return attrs


class HypochloriteIn(Shape):
    """The bleach: how much, and how strong by its label."""

    volume = Volume(positive=True)
    percent = DecimalText(low="0.1", high=20, places=3, default=Decimal(5), help_text="NaOCl by weight.")
    density = DecimalText(low="0.9", high="1.4", places=4, default=Decimal("1.075"), help_text="kg/L")


class BleachIn(Shape):
    """A bath, and the bleach that was or would be poured into it."""

    bath = LiquidIn()
    bleach = HypochloriteIn()
    ph = DecimalText(low=0, high=14, places=2, required=False, help_text="Measured in the bath.")


class SouredIn(Shape):
    """A developer, the acid stop bath that gets into it, and the closed air above."""

    bath = LiquidIn()
    stop = LiquidIn()
    headspace = Volume(default=0)


class NeutralisationIn(Shape):
    """A stop bath, and the pH it should have; all of its acid when none is given."""

    bath = LiquidIn()
    target_ph = DecimalText(low=4, high=8, places=2, required=False)


class AssessedBathIn(Shape):
    """A bath."""

    bath = LiquidIn()


class SilverIn(Shape):
    """Roll units fixed, or a waste container by what was poured into it; a price is the asker's own."""

    rolls = DecimalText(low="0", high=10**6, places=4, required=False)
    container = Id(required=False)
    price_per_g = DecimalText(low="0", high=10**6, places=4, required=False, help_text="Of silver, today.")
    cost = DecimalText(low="0", high=10**9, places=2, default=Decimal(0), help_text="What recovery costs in all.")

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Ask for exactly one of the two."""
        if ("rolls" in attrs) == ("container" in attrs):
            raise fault("silver.untold", "give either rolls or a container, and not both")
        return attrs


class DischargeIn(Shape):
    """A bath, and the water that would go down the drain with it."""

    bath = LiquidIn()
    water = Volume(default=0)
    silver_mg_per_l = DecimalText(low="0", high=10**6, places=4, required=False)
    ph = DecimalText(low=0, high=14, places=2, required=False, help_text="Measured in what goes down.")
