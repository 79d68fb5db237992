"""The costs of an alternative by each preference (cutting model, section 9)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from inventory.core.allowances import Allowances
from inventory.core.worth import LENGTH_SHARE, WIDTH_SHARE
from inventory.cutting.offcut_arrays import IntArray, box_volumes


class Preference(Enum):
    """What a fill minimizes first; the values are the contract's words."""

    BEST_USE = "best-use"
    LEAST_WASTE = "least-waste"
    FEWEST_PIECES = "fewest-pieces"
    LEAST_MILLING = "least-milling"
    OLDEST_FIRST = "oldest-first"

    @classmethod
    def _missing_(cls, value: object) -> Preference | None:
        return cls.OLDEST_FIRST if value == FORMER_OLDEST_FIRST else None


FORMER_OLDEST_FIRST = "clear-out"
"""The name of oldest-first before; it is still read."""

MAX_AGE_DAYS = 730
"""Days on the rack after which a piece gets no cheaper by `oldest-first`."""


@dataclass(frozen=True)
class CutCosts:
    """What alternatives cost, as arrays: `loss` and `milling` in whole mm³, `worth_lost` in thousandths of a mm³.

    `loss` is the wood that leaves the rack, `milling` what is planed away of it.
    """

    loss: IntArray
    worth_lost: IntArray
    milling: IntArray


def age_weight(days: IntArray) -> IntArray:
    """The weight of `oldest-first`: 1000 for a piece of today, 250 after two years."""
    weight: IntArray = 1000 - 750 * np.minimum(days, MAX_AGE_DAYS) // MAX_AGE_DAYS
    return weight


def costs(preference: Preference, figures: CutCosts, days: IntArray) -> tuple[IntArray, IntArray]:
    """By alternative, the first and the second cost; the preference minimizes their sums in this order."""
    one = np.ones(len(figures.loss), dtype=np.int64)
    match preference:
        case Preference.BEST_USE:
            return figures.worth_lost, one
        case Preference.LEAST_WASTE:
            return figures.loss, one
        case Preference.FEWEST_PIECES:
            return one, figures.worth_lost
        case Preference.LEAST_MILLING:
            return figures.milling, figures.worth_lost
        case Preference.OLDEST_FIRST:
            return figures.worth_lost * age_weight(days) // 1000, one


def worths(length: IntArray, width: IntArray, thickness: IntArray, allowances: Allowances) -> IntArray:
    """The worth of each box, as `core.worth` has it; 0 where a size is 0 or less."""
    a = allowances
    long, wide = np.clip(length, 0, a.prime_length), np.clip(width, 0, a.prime_width)
    by_length = LENGTH_SHARE + (1000 - LENGTH_SHARE) * long // a.prime_length
    by_width = WIDTH_SHARE + (1000 - WIDTH_SHARE) * wide // a.prime_width
    total: IntArray = box_volumes(length, width, thickness) * by_length * by_width // 1000
    return total


def volumes_at_most(length: IntArray, width: IntArray, thickness: IntArray) -> IntArray:
    """An upper bound of the volumes of boxes that does not step with the width, in mm³; widths below 0 count as 0."""
    whole = length.astype(np.float64) * np.maximum(width, 0) * thickness / 1e18
    bound: IntArray = (whole * (1 + 1e-12)).astype(np.int64) + 1
    return bound


def worths_at_most(length: IntArray, width: IntArray, thickness: IntArray, allowances: Allowances) -> IntArray:
    """An upper bound of `worths` that does not step with the width: what it is without rounding, and a little more.

    Floats are enough for a bound; the margin is a thousand times their error.
    """
    a = allowances
    wide = np.maximum(width, 0).astype(np.float64)
    by_length = LENGTH_SHARE + (1000 - LENGTH_SHARE) * np.clip(length, 0, a.prime_length) // a.prime_length
    by_width = WIDTH_SHARE + (1000 - WIDTH_SHARE) * np.minimum(wide, a.prime_width) / a.prime_width
    whole = length.astype(np.float64) * wide * thickness * by_length * by_width / 1e21
    bound: IntArray = (whole * (1 + 1e-12)).astype(np.int64) + 1
    return bound
