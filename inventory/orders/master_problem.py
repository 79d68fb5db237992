"""The restricted master LP of column generation: how often each pattern is used, in fractions.

A pattern is how many strips of each width fill one glue-up; the LP maximizes the patterns used within
the counts of strips. Method: revised simplex with an explicit inverse (G. Dantzig, Linear Programming
and Extensions, 1963; from memory). It computes in floats, so its result is a proposal: patterns are
rounded down, and `orders.dual_prices` checks prices in whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ZERO_TOLERANCE = 1e-9
REDUCED_COST_TOLERANCE = 1e-8
PERTURBATION = 1e-7
"""The counts are perturbed by about so much against cycling in degenerate steps."""
REFACTOR_AFTER = 250
"""The inverse is refactored after so many steps, since errors accumulate."""
STEPS_PER_ROW = 40


class MasterProblem:
    """The patterns found so far and their best use; more may be added at any time."""

    def __init__(self, counts: Sequence[int]) -> None:
        self._capacities = np.array(counts, dtype=np.float64)
        rows = len(self._capacities)
        self._capacities += PERTURBATION * (1 + np.arange(rows) * 0.618034 % 1)
        self._inverse: Floats = np.eye(rows)
        self._basic_values = self._capacities.copy()
        self._basis_costs: Floats = np.zeros(rows)
        # A pattern by its number; the slack of a row by −1 less the row.
        self._basis = [-1 - row for row in range(rows)]
        self._patterns: Floats = np.zeros((64, rows))
        self._known: dict[tuple[int, ...], int] = {}
        self._since_inverted = 0

    def add(self, pattern: Sequence[int]) -> bool:
        """Adds a pattern; whether it is new."""
        key = tuple(pattern)
        if key in self._known:
            return False
        if len(self._known) == len(self._patterns):
            self._patterns = np.concatenate([self._patterns, np.zeros_like(self._patterns)])
        self._patterns[len(self._known)] = key
        self._known[key] = len(self._known)
        return True

    def solve(self) -> None:
        """Solves the LP, or stops at the step limit close to the optimum."""
        for _ in range(STEPS_PER_ROW * len(self._capacities)):
            if not self._step():
                return

    @property
    def prices(self) -> Floats:
        """The dual prices: what one more strip of each width is worth, in glue-ups."""
        return np.maximum(self._basis_costs @ self._inverse, 0.0)

    @property
    def value(self) -> float:
        """The objective: how many glue-ups the patterns fill."""
        return float(self._basis_costs @ self._basic_values)

    def rounded_down(self) -> list[tuple[tuple[int, ...], int]]:
        """The patterns and how often each is used, rounded down."""
        patterns = list(self._known)
        uses = [
            (number, int(value + 2e-6)) for number, value in zip(self._basis, self._basic_values.tolist(), strict=True)
        ]
        return [(patterns[number], often) for number, often in uses if number >= 0 and often > 0]

    def _step(self) -> bool:
        """Enters one pattern or slack into the basis; False at the optimum."""
        worth = self._basis_costs @ self._inverse
        row = int(worth.argmin())
        if worth[row] < -ZERO_TOLERANCE:
            column = np.zeros(len(worth))
            column[row] = 1.0
            return self._enter(column, 0.0, -1 - row)
        if not self._known:
            return False
        gains = 1.0 - self._patterns[: len(self._known)] @ worth
        number = int(gains.argmax())
        return bool(gains[number] > REDUCED_COST_TOLERANCE) and self._enter(self._patterns[number], 1.0, number)

    def _enter(self, column: Floats, gain: float, number: int) -> bool:
        change = self._inverse @ column
        falls = change > ZERO_TOLERANCE
        if not falls.any():
            return False
        room = np.full(len(change), np.inf)
        room[falls] = self._basic_values[falls] / change[falls]
        leaves = int(room.argmin())
        self._basic_values = np.maximum(self._basic_values - room[leaves] * change, 0.0)
        self._basic_values[leaves] = room[leaves]
        pivot = self._inverse[leaves] / change[leaves]
        self._inverse -= np.outer(change, pivot)
        self._inverse[leaves] = pivot
        self._basis_costs[leaves] = gain
        self._basis[leaves] = number
        self._since_inverted += 1
        if self._since_inverted >= REFACTOR_AFTER:
            self._invert()
        return True

    def _invert(self) -> None:
        rows = len(self._capacities)
        basis = np.zeros((rows, rows))
        for place, number in enumerate(self._basis):
            if number < 0:
                basis[-1 - number, place] = 1.0
            else:
                basis[:, place] = self._patterns[number]
        self._inverse = np.linalg.inv(basis).astype(np.float64)
        self._basic_values = np.maximum(self._inverse @ self._capacities, 0.0)
        self._since_inverted = 0
