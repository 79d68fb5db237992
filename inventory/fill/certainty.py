"""How far a fill can be from the best one (cutting model, section 9)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

import numpy as np

from inventory.core.allowances import Allowances
from inventory.cutting.costs import Preference, age_weight
from inventory.cutting.rack_table import build_table
from inventory.fill.plan import Fill


@dataclass(frozen=True)
class Certainty:
    """Whether no better fill exists, and the optimality gap of the first cost, as a share of the lower bound.

    A gap of 0 without `proven` leaves only ties open: the second cost may not be the least.
    The gap is None where the bound is 0 and says nothing: a better fill might cost nothing at all.
    """

    proven: bool
    gap: Fraction | None

    @property
    def percent(self) -> str | None:
        """The gap in percent with one decimal, rounded up so that "at most" stays true."""
        if self.gap is None:
            return None
        tenths = -(-1000 * self.gap.numerator // self.gap.denominator)
        return f"{tenths / 10:.1f}"


def certainty_of(fill: Fill, on: date) -> Certainty:
    """How sure it is that no better fill exists; `on` is the day up to which the days on the rack count."""
    cost = primary_cost(fill, on)
    if fill.proven or cost <= fill.bound:
        return Certainty(fill.proven, Fraction(0))
    return Certainty(False, Fraction(cost - fill.bound, fill.bound) if fill.bound > 0 else None)


def costs_of(fill: Fill, on: date) -> tuple[int, int]:
    """Both costs of the fill by its own preference, in the order in which they are minimized."""
    by_pieces = fill.prefer in (Preference.BEST_USE, Preference.LEAST_WASTE, Preference.OLDEST_FIRST)
    return primary_cost(fill, on), fill.pieces if by_pieces else fill.worth_lost


def primary_cost(fill: Fill, on: date) -> int:
    """What the fill's own preference minimizes first: worth, mm³ or offcuts, in the unit of `bound`.

    `on` is the day up to which the days on the rack count.
    """
    match fill.prefer:
        case Preference.BEST_USE:
            return fill.worth_lost
        case Preference.LEAST_WASTE:
            return fill.loss
        case Preference.FEWEST_PIECES:
            return fill.pieces
        case Preference.LEAST_MILLING:
            return fill.milling
        case Preference.OLDEST_FIRST:
            # A piece with a part of a length has its whole worth in one of its two cuts.
            days = build_table([cut.offcut for cut in fill.cuts]).arrays(Allowances(), on).days
            worth_lost = np.array([cut.worth_lost for cut in fill.cuts], dtype=np.int64)
            return int((worth_lost * age_weight(days) // 1000).sum())
