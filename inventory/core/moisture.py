"""Wood and the air around it: how moist it becomes, and how much wider or narrower.

Moisture content is in percent of the oven-dry weight, relative humidity in percent, temperature in °C; no float
takes part.

Source: Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), chapter 4, and FPL-GTR-190 (2010), chapter
13.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from inventory.core.lengths import Length

EMC_SOURCE = "Wood Handbook, FPL-GTR-282 (2021), equation 4-5"

# The equation stands for the table of equilibrium moisture content (FPL-GTR-282, table 4-2): 5 to 90 % relative
# humidity; its part from -1 °C to 54 °C was seen.
MIN_HUMIDITY, MAX_HUMIDITY = 5, 90
MIN_CELSIUS, MAX_CELSIUS = Fraction(0), Fraction(50)

# FPL-GTR-190, chapter 13: the coefficients of equation 13-2 hold from 6 to 14 % moisture content.
COEFFICIENTS_MIN, COEFFICIENTS_MAX = 6, 14

# FPL-GTR-282, equation 4-9: shrinkage is calculated on a straight line from this moisture content down.
FIBER_SATURATION = Fraction(30)


@dataclass(frozen=True)
class Coefficient:
    """Of its own size, what a wood moves across the grain for each percent of moisture content."""

    per_percent: Fraction


@dataclass(frozen=True)
class TotalShrinkage:
    """Of its green size, the percentage that a wood loses across the grain until it is oven-dry.

    `fiber_saturation` is the moisture content below which it shrinks.
    """

    percent: Fraction
    fiber_saturation: Fraction = FIBER_SATURATION

    def at(self, moisture: Fraction | int) -> Fraction:
        """The percentage lost from green down to this moisture content: equation 4-9.

        >>> float(TotalShrinkage(Fraction("8.6")).at(8))
        6.306666666666667
        """
        return self.percent * (1 - min(Fraction(moisture), self.fiber_saturation) / self.fiber_saturation)


MovementModel = Coefficient | TotalShrinkage
"""How much a wood moves in one direction across the grain, by the one method or the other."""


@lru_cache(maxsize=64)
def equilibrium_moisture(humidity: Fraction | int, celsius: Fraction | int) -> Fraction:
    """The moisture content that wood comes to in air of this relative humidity: equation 4-5 (Simpson 1973).

    To a millionth of a percent, one figure for every species: a given wood differs a
    little. Another model of the same handbook (equation 4-6) gives about 0.2 more at
    21 °C and 50 %.

    >>> round(float(equilibrium_moisture(50, 21)), 1)
    9.2
    """
    t, h = Fraction(celsius), Fraction(humidity) / 100
    w = 349 + Fraction("1.29") * t + Fraction("0.0135") * t**2
    k = Fraction("0.805") + Fraction("0.000736") * t - Fraction("0.00000273") * t**2
    k1 = Fraction("6.27") - Fraction("0.00938") * t - Fraction("0.000303") * t**2
    k2 = Fraction("1.91") + Fraction("0.0407") * t - Fraction("0.000293") * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return round(1800 / w * (kh / (1 - kh) + bound), 6)


def relative_change(moves: MovementModel, before: Fraction | int, after: Fraction | int) -> Fraction:
    """The share of its size at `before` by which wood grows until `after`; negative where it shrinks.

    With a coefficient equation 13-2, which holds between 6 and 14 %: see
    `coefficients_valid`. From total shrinkage the straight line of equation 4-9,
    which is what equation 13-3 says as well.

    >>> float(relative_change(Coefficient(Fraction("0.00369")), 8, 12))
    0.01476
    """
    match moves:
        case Coefficient():
            return moves.per_percent * (Fraction(after) - Fraction(before))
        case TotalShrinkage():
            was, becomes = moves.at(before), moves.at(after)
            return (was - becomes) / (100 - was)


def change(size: Length, moves: MovementModel, before: Fraction | int, after: Fraction | int) -> Length:
    """How much longer a size across the grain becomes, to the nearest nanometer; negative where it shrinks.

    >>> change(Length(300_000_000), Coefficient(Fraction("0.00369")), 8, 12)
    4428000
    """
    return Length(round(size * relative_change(moves, before, after)))


def coefficients_valid(moisture: Fraction | int) -> bool:
    """Whether coefficients hold at this moisture content."""
    return COEFFICIENTS_MIN <= moisture <= COEFFICIENTS_MAX
