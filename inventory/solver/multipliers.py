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

from inventory.solver.problem import Choices, Ints

MOST_STEPS = 24
"""Enough for a price that is right to the last digit, nearly always."""
TOLL_STEPS = 10
CLOSE_ENOUGH = 1e-9

Floats = NDArray[np.float64]


def best_price(target: int, choices: Choices, copies: Ints, cost: Floats) -> float:
    """The price (a float, cost for each nanometre) at which the bound is about highest; 0 for no choices."""
    if not len(choices):
        return 0.0
    return _Relaxed(target, choices, copies, cost).climbed(0.0)[1].at


def best_price_and_toll(
    target: int, most_pieces: int, choices: Choices, copies: Ints, cost: Floats
) -> tuple[float, float]:
    """As `best_price`, with a toll on every piece, for covers of at most `most_pieces`."""
    if not len(choices):
        return 0.0, 0.0
    relaxed = _Relaxed(target, choices, copies, cost)
    prices: dict[float, float] = {}

    def at(toll: float) -> _Point:
        pieces, best = relaxed.climbed(toll)
        prices[toll] = best.at
        return _Point(toll, best.value - toll * most_pieces, pieces - most_pieces)

    best = _highest(at, float(cost.max()), TOLL_STEPS)
    return prices[best.at], best.at


@dataclass(frozen=True)
class _Point:
    """A concave function at one place: its value, and how it goes on from there."""

    at: float
    value: float
    slope: float


class _Relaxed:
    """The choices, ready to be priced many times."""

    def __init__(self, target: int, choices: Choices, copies: Ints, cost: Floats) -> None:
        self._target = target
        self._starts = choices.starts
        self._owner = np.repeat(np.arange(len(self._starts)), choices.ends - choices.starts + 1)
        self._many = copies[choices.row[self._starts]].astype(np.float64)
        self._adds = np.minimum(choices.adds, target).astype(np.float64)
        self._cost = cost
        self._dearest = float((cost / self._adds).max()) * 1.01 + 1e-9
        self._narrowest = float(self._adds.min())

    def climbed(self, toll: float) -> tuple[float, _Point]:
        """The pieces taken at the best price with this toll, and the bound there, the toll not yet given back."""
        pieces: dict[float, float] = {}

        def at(price: float) -> _Point:
            saved, width, pieces[price] = self._taken(price, toll)
            return _Point(price, price * self._target + saved, self._target - width)

        best = _highest(at, self._dearest + 1.01 * toll / self._narrowest, MOST_STEPS)
        return pieces[best.at], best

    def _taken(self, price: float, toll: float) -> tuple[float, float, float]:
        """What is saved at this price and toll, the width that is then taken, and in how many pieces."""
        reduced = self._cost - price * self._adds
        least = np.minimum.reduceat(reduced, self._starts)
        many = np.where(least + toll < 0, self._many, 0.0)
        best = np.where(reduced == least[self._owner], self._adds, 0.0)
        width = np.maximum.reduceat(best, self._starts)
        return float((least + toll) @ many), float(width @ many), float(many.sum())


def _highest(at: Callable[[float], _Point], most: float, steps: int) -> _Point:
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
        if ceiling - here.value <= CLOSE_ENOUGH * abs(ceiling) or not here.slope:
            break
        low, high = (here, high) if here.slope > 0 else (low, here)
    return best
