"""What a clip strip or two tell about a developer: temperature coefficients and first-order contrast."""

from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.verdict import Verdict, refused

GAS_CONSTANT = Decimal("8.314462618")  # J/(mol K), CODATA 2018, exact
KELVIN = Decimal("273.15")


@dataclass(frozen=True)
class Contrast:
    """Gamma against time: gamma = gamma_inf (1 - exp(-k t)), ``rate_per_min`` being k."""

    rate_per_min: Decimal
    gamma_inf: Decimal


def q10_from_ratio(time_ratio: Decimal, warmer_by_c: Decimal) -> Decimal:
    """Q10 = ratio^(-10 / dT): rate ratio for 10 °C from the time ratio for ``warmer_by_c`` (x0.7 for +4 °C is 2.44).

    Valid for a ratio above 0 and any dT but 0. Source: definition of Q10.
    """
    return (time_ratio ** (-10 / warmer_by_c)).quantize(Decimal("0.0001"))


def activation_energy(q10: Decimal, centre_c: Decimal = Decimal(20)) -> Decimal:
    """Ea = R ln(Q10) T1 T2 / (T2 - T1) in kJ/mol, for the 10 °C around ``centre_c``.

    Valid for Q10 above 0; 1.9 gives about 46 kJ/mol, 2.5 about 65. Source: Arrhenius; arithmetic.
    """
    cold, warm = centre_c - 5 + KELVIN, centre_c + 5 + KELVIN
    return (GAS_CONSTANT * q10.ln() * cold * warm / (warm - cold) / 1000).quantize(Decimal("0.01"))


def rate_from_two_gammas(gamma_t: Decimal, gamma_2t: Decimal, t_min: Decimal) -> Contrast | Verdict:
    """Rate k = -ln(g2/g1 - 1)/t per minute and gamma_inf = g1/(1 - exp(-k t)), from strips at t and 2t minutes.

    Valid when g1 < g2 < 2 g1: otherwise contrast is not approaching a limit and nothing follows. Source: first-order
    development, Sheppard and Mees, from memory.
    """
    if not (t_min > 0 and 0 < gamma_t < gamma_2t < 2 * gamma_t):
        return refused(
            "strip.unusable",
            f"Contrast {gamma_t} at {t_min} min and {gamma_2t} at twice that do not level off.",
            "run both strips again: the longer must have more contrast, but less than double",
        )
    left = gamma_2t / gamma_t - 1
    rate = -left.ln() / t_min
    return Contrast(rate.quantize(Decimal("0.000001")), (gamma_t / (1 - left)).quantize(Decimal("0.0001")))


def time_for_gamma(contrast: Contrast, target: Decimal) -> Decimal | Verdict:
    """Minutes t = -ln(1 - gamma/gamma_inf)/k that give the contrast ``target``.

    Valid for 0 < target < gamma_inf. Source: first-order development, Sheppard and Mees, from memory.
    """
    if not 0 < target < contrast.gamma_inf:
        return refused(
            "contrast.out_of_reach",
            f"This developer levels off at contrast {contrast.gamma_inf}; {target} cannot be reached.",
            f"choose a contrast above 0 and below {contrast.gamma_inf}",
        )
    return (-(1 - target / contrast.gamma_inf).ln() / contrast.rate_per_min).quantize(Decimal("0.0001"))
