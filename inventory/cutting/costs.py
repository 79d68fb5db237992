"""The costs of an alternative by each preference (cutting model, section 9)."""

from __future__ import annotations

from enum import Enum

import numpy as np

from inventory.cutting.offcut_arrays import IntArray


class Preference(Enum):
    """What a fill minimizes first; the values are the contract's words."""

    LEAST_WASTE = "least-waste"
    FEWEST_PIECES = "fewest-pieces"
    LEAST_MILLING = "least-milling"
    CLEAR_OUT = "clear-out"


MAX_AGE_DAYS = 730
"""Days on the rack after which a piece gets no cheaper by `clear-out`."""


def age_weight(days: IntArray) -> IntArray:
    """The weight of `clear-out`: 1000 for a piece of today, 250 after two years."""
    weight: IntArray = 1000 - 750 * np.minimum(days, MAX_AGE_DAYS) // MAX_AGE_DAYS
    return weight


def costs(preference: Preference, loss: IntArray, milling_area: IntArray, days: IntArray) -> tuple[IntArray, IntArray]:
    """By alternative, the first and the second cost; the preference minimizes their sums in this order."""
    one = np.ones(len(loss), dtype=np.int64)
    match preference:
        case Preference.LEAST_WASTE:
            return loss, one
        case Preference.FEWEST_PIECES:
            return one, loss
        case Preference.LEAST_MILLING:
            return milling_area, loss
        case Preference.CLEAR_OUT:
            return loss * age_weight(days) // 1000, one
