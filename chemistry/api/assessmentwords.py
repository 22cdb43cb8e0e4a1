"""What an assessment answers; the figures are computed in ``chemistry.science``."""

from rest_framework import serializers

from chemistry.api.mixing import CautionOut
from darkroom_service.api.fields import DecimalText, Flag, Id, Text

CAS = 12
FIGURE = 10**15


class AssessmentSourceOut(serializers.Serializer):
    """Where a figure comes from, and whether it was read there or is from memory."""

    of = Text(max_length=200)
    source = Text(max_length=400)  # type: ignore[assignment]
    status = Text(max_length=40, help_text="read, from memory, computed, or told by this darkroom.")


class Assessed(serializers.Serializer):
    """What every assessment says of itself. Nothing was written down."""

    basis = Text(max_length=40, help_text="Always: computed, not measured.")
    rule = Text(max_length=500)
    assumptions = serializers.ListField(child=Text(max_length=500))
    cautions = CautionOut(many=True)
    sources = AssessmentSourceOut(many=True)
    prevails = Text(max_length=300)


class BleachDemandOut(serializers.Serializer):
    """Litres of that bleach until the sulfite is gone, and until the developing agents are quinones."""

    before_agents_l = DecimalText(high=FIGURE)
    to_quinones_l = DecimalText(high=FIGURE)
    heat_kj = DecimalText(high=FIGURE)
    rise_k = DecimalText(high=FIGURE)


class PhWindowOut(serializers.Serializer):
    """The pH each liquid has to keep: bleach above the first, sulfite baths above the second, alarm at the third."""

    bleach_lowest = DecimalText()
    sulfite_lowest = DecimalText()
    sulfite_alarm = DecimalText()


class BleachOut(Assessed):
    """What the bleach does; shares from 0 to 1, temperature rise if no heat is lost."""

    verdict = Text(max_length=40, help_text="Always not_a_treatment: bleach is never recommended.")
    words = Text(max_length=500)
    hypochlorite_mol = DecimalText(high=FIGURE)
    sulfite_share = DecimalText()
    thiosulfate_share = DecimalText()
    hydroquinone_share = DecimalText()
    metol_share = DecimalText()
    most_to_hydroquinone = DecimalText(allow_null=True, help_text="Share of the bleach, at most, while sulfite lasts.")
    left_over_mol = DecimalText(high=FIGURE)
    heat_kj = DecimalText(high=FIGURE)
    rise_k = DecimalText(high=FIGURE)
    demand = BleachDemandOut()
    ph_window = PhWindowOut()
    chlorine_ppm = DecimalText(high=FIGURE, allow_null=True, help_text="In closed air over that bleach at that pH.")
    warnings = serializers.ListField(child=Text(max_length=300))
    if_done = serializers.ListField(child=Text(max_length=300), help_text="What to do and write down if it happened.")


class SouredOut(Assessed):
    """What the acid does in the developer."""

    verdict = Text(max_length=40, help_text="keep_apart, or never once sulfur dioxide comes off in earnest.")
    words = Text(max_length=500)
    ph = DecimalText(high=14)
    headspace_ppm = DecimalText(high=FIGURE, help_text="Sulfur dioxide in closed air at equilibrium.")
    most_g = DecimalText(high=FIGURE, help_text="All the gas that much acid could free.")
    acid_mol = DecimalText(high=FIGURE)
    sulfite_mol = DecimalText(high=FIGURE)
    break_point_l = DecimalText(high=FIGURE, help_text="Litres of stop bath at which acid equals sulfite.")


class BaseOut(serializers.Serializer):
    """One base: grams, the gas it sets free, and the rise where it is known."""

    name = Text(max_length=60)
    formula = Text(max_length=20)
    grams = DecimalText(high=FIGURE)
    carbon_dioxide_l = DecimalText(high=FIGURE)
    rise_k = DecimalText(high=FIGURE, allow_null=True)


class NeutralisationOut(Assessed):
    """How acid it is and what would take the acid."""

    ph = DecimalText(high=14)
    share = DecimalText(help_text="Of the acid, taken at the target pH.")
    bases = BaseOut(many=True)


class OxygenShareOut(serializers.Serializer):
    """One substance and the oxygen it takes."""

    cas = Text(max_length=CAS)
    name = Text(max_length=120)
    grams_per_l = DecimalText(high=FIGURE)
    oxygen_per_l = DecimalText(high=FIGURE)


class ElsewhereOut(serializers.Serializer):
    """A published limit somewhere, and how many times over it this is."""

    where = Text(max_length=120)
    mg_per_l = DecimalText(high=FIGURE)
    times = DecimalText(high=FIGURE)


class OxygenDemandOut(Assessed):
    """Oxygen demand, substance by substance."""

    shares = OxygenShareOut(many=True)
    total_g_per_l = DecimalText(high=FIGURE)
    total_g = DecimalText(high=FIGURE, help_text="Of the volume given.")
    uncounted = serializers.ListField(child=Text(max_length=CAS), help_text="Not known here, by CAS number.")
    elsewhere = ElsewhereOut(many=True)


class WorthOut(serializers.Serializer):
    """What recovery would bring, in the currency of the price, and the word for it."""

    low = DecimalText(low=-FIGURE, high=FIGURE)
    usual = DecimalText(low=-FIGURE, high=FIGURE)
    high = DecimalText(low=-FIGURE, high=FIGURE)
    words = Text(max_length=120)


class SilverOut(Assessed):
    """Silver as a range in grams, its concentration in a container, and whether it pays."""

    low_g = DecimalText(high=FIGURE)
    usual_g = DecimalText(high=FIGURE)
    high_g = DecimalText(high=FIGURE)
    mg_per_l = DecimalText(high=FIGURE, allow_null=True, help_text="Usual figure over what stands in the container.")
    us_code = Text(max_length=10, help_text="D011 at 5.0 mg/L and more; nothing where it is below or not known.")
    least_iron_g = DecimalText(high=FIGURE)
    worth = WorthOut(allow_null=True)


class AgainstOut(serializers.Serializer):
    """One figure against one threshold."""

    name = Text(max_length=120)
    cas = Text(max_length=CAS)
    place = Text(max_length=20, help_text="river, plant (sewage works) or sewer (the site's own limit).")
    threshold_mg_per_l = DecimalText(high=FIGURE)
    before_mg_per_l = DecimalText(high=FIGURE)
    after_mg_per_l = DecimalText(high=FIGURE)
    over = Flag()
    dilution_needed = DecimalText(high=10**30, help_text="How many times the volume would have to grow.")
    litres_needed = DecimalText(high=10**30, help_text="Of water. Shown to be seen, never as a way out.")
    source = Text(max_length=400)  # type: ignore[assignment]
    status = Text(max_length=40)


class DischargeOut(Assessed):
    """What goes down, against every threshold known. ``unknown`` has none: that does not make it harmless."""

    verdict = Text(max_length=40, help_text="over, or within_what_is_known; the drain rule decides, not this.")
    words = Text(max_length=500)
    fold = DecimalText(high=FIGURE)
    against = AgainstOut(many=True)
    unknown = serializers.ListField(child=Text(max_length=CAS))
    ph_words = Text(max_length=200)
    drain_rule = Id(allow_null=True, help_text="The rule in force today whose limits were taken; null: there is none.")
