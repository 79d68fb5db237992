"""How sure a fill is: how far from the best there can be it is at most (cutting model, section 9).

Knows what each preference minimises first, read off a fill alone. Knows nothing of
how the bound was found.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import numpy as np

from inventory.core.offcuts import Allowances
from inventory.cutting.costs import Preference, costs
from inventory.cutting.offcut_arrays import arrays_of
from inventory.fill.plan import Fill


def primary_cost(fill: Fill, on: date) -> int:
    """What the fill's own preference minimises first: mm³, offcuts or mm², as `bound` is told.

    `on` is the day from which the days on the rack are counted.
    """
    match fill.prefer:
        case Preference.LEAST_WASTE:
            return fill.loss
        case Preference.FEWEST_PIECES:
            return fill.pieces
        case Preference.LEAST_MILLING:
            return fill.milling_area
        case Preference.CLEAR_OUT:
            # A piece with a closing strip has its whole loss in one of its two cuts.
            arrays = arrays_of([cut.offcut for cut in fill.cuts], Allowances(), on)
            loss = np.array([cut.loss for cut in fill.cuts], dtype=np.int64)
            weighed, _ = costs(fill.prefer, loss, np.zeros_like(loss), arrays.days)
            return int(weighed.sum())


def optimality_gap(fill: Fill, on: date) -> Fraction | None:
    """How far the fill is from the best there can be at most, as a share of that best; 0 where it is the best.

    None where the bound is 0 and says nothing: a better one might cost nothing at all.
    """
    cost = primary_cost(fill, on)
    if fill.proven or cost <= fill.bound:
        return Fraction(0)
    return Fraction(cost - fill.bound, fill.bound) if fill.bound > 0 else None
