"""Prices for width, and tolls on pieces, at which a guide bounds highest.

Knows floats: whatever is returned, a guide's bound is true, and the better the price
the sharper the bound. The bound is a concave function of price and toll, made of flat
pieces; it is climbed from both sides, each next price where the two tangents meet
(J. Kelley's cutting planes, SIAM Journal 8(4), 1960, on a line; from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, IntArray

MAX_STEPS = 24
"""Enough for a price that is right to the last digit, nearly always."""
ITEM_MULTIPLIER_STEPS = 10
RELATIVE_TOLERANCE = 1e-9

Floats = NDArray[np.float64]


def best_multiplier(target: int, alternatives: Alternatives, multiplicity: IntArray, cost: Floats) -> float:
    """The price (a float, cost for each nanometre) at which the bound is about highest; 0 for no choices."""
    if not len(alternatives):
        return 0.0
    return _DualFunction(target, alternatives, multiplicity, cost).maximize(0.0)[1].at


def best_multiplier_pair(
    target: int, max_items: int, alternatives: Alternatives, multiplicity: IntArray, cost: Floats
) -> tuple[float, float]:
    """As `best_multiplier`, with a toll on every piece, for covers of at most `most_pieces`."""
    if not len(alternatives):
        return 0.0, 0.0
    relaxed = _DualFunction(target, alternatives, multiplicity, cost)
    multipliers: dict[float, float] = {}

    def at(item_multiplier: float) -> _Point:
        pieces, best = relaxed.maximize(item_multiplier)
        multipliers[item_multiplier] = best.at
        return _Point(item_multiplier, best.value - item_multiplier * max_items, pieces - max_items)

    best = _maximize_concave(at, float(cost.max()), ITEM_MULTIPLIER_STEPS)
    return multipliers[best.at], best.at


@dataclass(frozen=True)
class _Point:
    """A concave function at one place: its value, and how it goes on from there."""

    at: float
    value: float
    slope: float


class _DualFunction:
    """The choices, ready to be priced many times."""

    def __init__(self, target: int, alternatives: Alternatives, multiplicity: IntArray, cost: Floats) -> None:
        self._target = target
        self._starts = alternatives.starts
        self._owner = np.repeat(np.arange(len(self._starts)), alternatives.ends - alternatives.starts + 1)
        self._multiplicity = multiplicity[alternatives.row[self._starts]].astype(np.float64)
        self._adds = np.minimum(alternatives.adds, target).astype(np.float64)
        self._cost = cost
        self._max_multiplier = float((cost / self._adds).max()) * 1.01 + 1e-9
        self._narrowest = float(self._adds.min())

    def maximize(self, item_multiplier: float) -> tuple[float, _Point]:
        """The pieces taken at the best price with this toll, and the bound there, the toll not yet given back."""
        pieces: dict[float, float] = {}

        def at(multiplier: float) -> _Point:
            saved, width, pieces[multiplier] = self._evaluate(multiplier, item_multiplier)
            return _Point(multiplier, multiplier * self._target + saved, self._target - width)

        best = _maximize_concave(at, self._max_multiplier + 1.01 * item_multiplier / self._narrowest, MAX_STEPS)
        return pieces[best.at], best

    def _evaluate(self, multiplier: float, item_multiplier: float) -> tuple[float, float, float]:
        """What is saved at this price and toll, the width that is then taken, and in how many pieces."""
        reduced = self._cost - multiplier * self._adds
        least = np.minimum.reduceat(reduced, self._starts)
        many = np.where(least + item_multiplier < 0, self._multiplicity, 0.0)
        best = np.where(reduced == least[self._owner], self._adds, 0.0)
        width = np.maximum.reduceat(best, self._starts)
        return float((least + item_multiplier) @ many), float(width @ many), float(many.sum())


def _maximize_concave(at: Callable[[float], _Point], most: float, steps: int) -> _Point:
    """Where a concave function that rises from 0 and falls before `most` is about highest."""
    low, high = at(0.0), at(most)
    best = max(low, high, key=lambda point: point.value)
    for _ in range(steps):
        if low.slope <= 0 or high.slope >= 0:
            break
        # Where the tangents of both ends meet, which is above the highest point.
        place = (high.value - low.value + low.slope * low.at - high.slope * high.at) / (low.slope - high.slope)
        if not low.at < place < high.at:
            break
        here = at(place)
        if here.value > best.value:
            best = here
        ceiling = low.value + low.slope * (place - low.at)
        if ceiling - here.value <= RELATIVE_TOLERANCE * abs(ceiling) or not here.slope:
            break
        low, high = (here, high) if here.slope > 0 else (low, here)
    return best
