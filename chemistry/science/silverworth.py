"""Silver in spent fixer: by the roll, by the container, and whether somebody would take it for what it is worth."""

from dataclasses import dataclass
from decimal import Decimal

ROLL_M2 = Decimal("0.0516")  # 80 in², one roll unit of film
COATED = (Decimal(3), Decimal(5), Decimal(7))  # g/m² of black-and-white negative film: low, usual, high; from memory
DISSOLVED = Decimal("0.8")  # up to 80 % of it ends in the fixer: a published pollution-prevention sheet, read
PRACTICAL_G_PER_L = {"sodium": Decimal(2), "ammonium": Decimal(4)}  # a printers' compliance guide, read
FARADAY, SILVER = Decimal("96485.33"), Decimal("107.868")
IRON_SILVER = Decimal("55.845") / (2 * SILVER)  # g Fe for a gram of Ag: 2 Ag+ + Fe
RECOVERED = Decimal("0.9")  # metal exchange or current reach 90 % and more, not always; read
NOTES = (
    "Coating weights differ between films by more than a factor of two and are from memory: replace the figure by a"
    " measured one (test paper, laboratory) wherever there is one.",
    "What clings to film and paper takes 5 to 10 % of it along, from memory, and is not taken off here.",
    "Recovery is work for somebody licensed: silver waste is hazardous waste until a licensed recoverer has it.",
)
_STEP = Decimal("0.0001")


@dataclass(frozen=True)
class Range:
    """Grams of silver: low, usual, high."""

    low_g: Decimal
    usual_g: Decimal
    high_g: Decimal


@dataclass(frozen=True)
class Worth:
    """What the silver would fetch in the currency of the price, less what recovery costs: low, usual, high."""

    low: Decimal
    usual: Decimal
    high: Decimal

    @property
    def words(self) -> str:
        """Say whether recovery pays, on what is known."""
        if self.low > 0:
            return "worth recovering even at the low end"
        return "not worth recovering for the money" if self.high <= 0 else "not certain: measure the silver first"


def of_rolls(rolls: Decimal) -> Range:
    """Return grams of silver so many roll units give to the fixer: rolls x 0.0516 m² x g/m² x 0.8.

    0.206 g for a roll (0.124 to 0.289). Rolls from 0 up. Source: weights from memory, share read.
    """
    if rolls < 0:
        raise ValueError("rolls are from 0 up")
    return Range(*(silver(rolls, weight) for weight in COATED))


def silver(rolls: Decimal, g_per_m2: Decimal, share: Decimal = DISSOLVED, m2_per_roll: Decimal = ROLL_M2) -> Decimal:
    """Return grams of silver: rolls x area x coated weight x share dissolved. Source: derived."""
    return (rolls * m2_per_roll * g_per_m2 * share).quantize(_STEP)


def iron(silver_g: Decimal) -> Decimal:
    """Return grams of iron that metal exchange takes at least, 0.259 to a gram; 3 to 5 times that in practice."""
    return (silver_g * IRON_SILVER).quantize(_STEP)


def by_current(ampere_hours: Decimal) -> Decimal:
    """Return grams of silver a current plates at best: A h x 3600 x 107.868 / 96485, 4.025 g for one. Faraday's law."""
    return (ampere_hours * 3600 * SILVER / FARADAY).quantize(_STEP)


def worth(found: Range, price_per_g: Decimal, cost: Decimal = Decimal(0)) -> Worth:
    """Return what recovery brings: grams x 0.9 recovered x price - cost, all from 0 up. The price is the asker's."""
    brings = [
        (grams * RECOVERED * price_per_g - cost).quantize(Decimal("0.01"))
        for grams in (found.low_g, found.usual_g, found.high_g)
    ]
    return Worth(*brings)
