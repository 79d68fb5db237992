"""Bounds from the number of items: the fewest items of any solution, and the widest sum of so many.

They matter where the first cost counts items. A Lagrangian relaxation takes half of a wide item and half of a narrow
one, which says little of solutions of two or three items. Here a solution has the fewest items there can be, so each of
its items must reach the target with the widest others, and the cheapest partner is found by one sort.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import IntArray, Problem

FIRST_SORTED = 1024
INFINITE_COST = 1 << 60
"""More than any solution costs."""


def min_item_count(problem: Problem) -> int:
    """The fewest items, one of each mandatory class among them, whose widest alternatives reach the target.

    Raises ValueError if all items together do not.
    """
    alternatives = problem.alternatives
    rows = alternatives.row[alternatives.ends]
    widest, multiplicity = alternatives.adds[alternatives.ends], problem.multiplicity[rows]
    mandatory = problem.is_mandatory[rows]
    width, items = int(widest[mandatory].sum()), len(problem.mandatory)
    if width >= problem.target:
        return items
    multiplicity = multiplicity - mandatory
    for order in _descending(widest):
        for adds, available in zip(widest[order].tolist(), multiplicity[order].tolist(), strict=True):
            needed = -(-(problem.target - width) // adds)
            if needed <= available:
                return items + int(needed)
            width, items = width + adds * available, items + available
    raise ValueError("the items do not reach the target")


def max_width_of(problem: Problem, items: int) -> int:
    """The largest sum of so many items, or the target if that is less."""
    width = 0
    widest = _max_width_by_row(problem)
    for order in _descending(widest):
        for adds, available in zip(widest[order].tolist(), problem.multiplicity[order].tolist(), strict=True):
            taken = min(available, items)
            width, items = width + adds * taken, items - taken
            if not items or width >= problem.target:
                return int(min(width, problem.target))
    return width


def _max_width_by_row(problem: Problem) -> IntArray:
    """By item class: the largest width of one item."""
    widest = np.zeros(len(problem.multiplicity), dtype=np.int64)
    np.maximum.at(widest, problem.alternatives.row, problem.alternatives.adds)
    continuous_items = problem.continuous_items
    if continuous_items is not None:
        np.maximum.at(widest, continuous_items.row, continuous_items.adds + continuous_items.max_width)
    return widest


def cost_with_partner(adds: IntArray, cost: IntArray, width: int) -> IntArray:
    """By alternative: its cost plus that of the cheapest one that makes up `width` with it, else INFINITE_COST."""
    order = np.argsort(adds)
    cheapest_as_wide = np.append(np.minimum.accumulate(cost[order][::-1])[::-1], INFINITE_COST)
    total = np.empty(len(adds), dtype=np.int64)
    total[order] = cost[order] + cheapest_as_wide[np.searchsorted(adds[order], width - adds[order])]
    return total


def rows_for_few_items(problem: Problem, wanted: int) -> IntArray:
    """Up to `wanted` item classes for solutions of the fewest items, in no order.

    They reach the target with one partner and the widest others, at the least second cost of the pair.
    """
    items = min_item_count(problem)
    alternatives = problem.alternatives.subset(
        problem.alternatives.adds >= problem.target - max_width_of(problem, items - 1)
    )
    total = alternatives.second
    if items > 1:
        total = cost_with_partner(
            alternatives.adds, alternatives.second, problem.target - max_width_of(problem, items - 2)
        )
    cheapest = np.arange(len(total)) if len(total) <= wanted else np.argpartition(total, wanted)[:wanted]
    return alternatives.row[cheapest[total[cheapest] < INFINITE_COST]]


def _descending(values: IntArray) -> Iterator[NDArray[np.intp]]:
    """The indices by descending value: first those of the largest values, then, on demand, all others."""
    largest = np.arange(len(values))
    if len(values) > FIRST_SORTED:
        largest = np.argpartition(-values, FIRST_SORTED)[:FIRST_SORTED]
    yield largest[np.argsort(-values[largest], kind="stable")]
    if len(largest) < len(values):
        others = np.setdiff1d(np.arange(len(values)), largest)
        yield others[np.argsort(-values[others], kind="stable")]
