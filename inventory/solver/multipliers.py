"""Solves the Lagrangian dual: the multipliers whose lower bound is about highest.

Method: the dual function is concave and piecewise linear. It is maximized on a line by cutting planes, each next
multiplier at the intersection of the tangents on either side (J. E. Kelley, Journal of SIAM 8(4), 1960; from memory).
With an item multiplier as well, the one-dimensional search is nested in another. Cost: some tens of passes over the
alternatives. Floats are safe here, since every multiplier gives a valid bound; a better one gives a higher bound.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, Problem

MAX_STEPS = 24
"""Nearly always enough for the last digit of a float."""
ITEM_MULTIPLIER_STEPS = 10
RELATIVE_TOLERANCE = 1e-9

Floats = NDArray[np.float64]


def best_multiplier(problem: Problem, alternatives: Alternatives, cost: Floats) -> float:
    """The multiplier (cost per unit of width) whose bound is about the highest; 0 for no alternatives.

    `alternatives` are some of the problem's, `cost` is one cost for each of them.
    """
    if not len(alternatives):
        return 0.0
    return _DualFunction(problem, alternatives, cost).maximize(0.0)[1].at


def best_multiplier_pair(
    problem: Problem, max_items: int, alternatives: Alternatives, cost: Floats
) -> tuple[float, float]:
    """As `best_multiplier`, with a second multiplier for the constraint of at most `max_items` items to a solution."""
    if not len(alternatives):
        return 0.0, 0.0
    dual = _DualFunction(problem, alternatives, cost)
    multipliers: dict[float, float] = {}

    def at(item_multiplier: float) -> _Point:
        items, best = dual.maximize(item_multiplier)
        multipliers[item_multiplier] = best.at
        return _Point(item_multiplier, best.value - item_multiplier * max_items, items - max_items)

    best = _maximize_concave(at, float(cost.max()), ITEM_MULTIPLIER_STEPS)
    return multipliers[best.at], best.at


@dataclass(frozen=True)
class _Point:
    """The value of a concave function and a slope (a supergradient) at one argument."""

    at: float
    value: float
    slope: float


class _DualFunction:
    """The Lagrangian dual function of the alternatives, in floats."""

    def __init__(self, problem: Problem, alternatives: Alternatives, cost: Floats) -> None:
        self._target = problem.target
        self._starts = alternatives.starts
        self._owner = np.repeat(np.arange(len(self._starts)), alternatives.ends - alternatives.starts + 1)
        rows = alternatives.row[self._starts]
        self._multiplicity = problem.multiplicity[rows].astype(np.float64)
        self._least_items = problem.is_mandatory[rows].astype(np.float64)
        self._adds = problem.useful_adds(alternatives).astype(np.float64)
        self._cost = cost
        self._max_multiplier = float((cost / self._adds).max()) * 1.01 + 1e-9
        self._narrowest = float(self._adds.min())

    def maximize(self, item_multiplier: float) -> tuple[float, _Point]:
        """The items taken, and the maximum over the width multiplier, the constant of the item constraint left out."""
        items: dict[float, float] = {}

        def at(multiplier: float) -> _Point:
            saving, width, items[multiplier] = self._evaluate(multiplier, item_multiplier)
            return _Point(multiplier, multiplier * self._target + saving, self._target - width)

        best = _maximize_concave(at, self._max_multiplier + 1.01 * item_multiplier / self._narrowest, MAX_STEPS)
        return items[best.at], best

    def _evaluate(self, multiplier: float, item_multiplier: float) -> tuple[float, float, float]:
        """The minimum of the relaxed problem at these multipliers, and the width and items of its solution."""
        reduced = self._cost - multiplier * self._adds
        best = np.minimum.reduceat(reduced, self._starts)
        taken = np.where(best + item_multiplier < 0, self._multiplicity, self._least_items)
        width = np.maximum.reduceat(np.where(reduced == best[self._owner], self._adds, 0.0), self._starts)
        return float((best + item_multiplier) @ taken), float(width @ taken), float(taken.sum())


def _maximize_concave(at: Callable[[float], _Point], upper: float, steps: int) -> _Point:
    """About the highest point of a concave function whose maximum is between 0 and `upper`."""
    low, high = at(0.0), at(upper)
    best = max(low, high, key=lambda point: point.value)
    for _ in range(steps):
        if low.slope <= 0 or high.slope >= 0:
            break
        # The tangents intersect above the maximum.
        crossing = (high.value - low.value + low.slope * low.at - high.slope * high.at) / (low.slope - high.slope)
        if not low.at < crossing < high.at:
            break
        here = at(crossing)
        if here.value > best.value:
            best = here
        ceiling = low.value + low.slope * (crossing - low.at)
        if ceiling - here.value <= RELATIVE_TOLERANCE * abs(ceiling) or not here.slope:
            break
        low, high = (here, high) if here.slope > 0 else (low, here)
    return best
