"""Covers of as few pieces as can be: how many that is, how wide so many are, and what goes best with what.

Bounds rest on what stands here. Knows nothing of guides, nor of how a cover is found.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, IntArray, Problem

FEW_GREATEST = 1024
INFINITE_COST = 1 << 60
"""More than any cover costs."""


def min_item_count(alternatives: Alternatives, multiplicity: IntArray, target: int) -> int:
    """The fewest pieces whose widest choices reach the target together."""
    widest = alternatives.adds[alternatives.ends]
    width, pieces = 0, 0
    for order in descending(widest):
        for adds, many in zip(
            widest[order].tolist(), multiplicity[alternatives.row[alternatives.ends[order]]].tolist(), strict=True
        ):
            needed = -(-(target - width) // adds)
            if needed <= many:
                return pieces + int(needed)
            width, pieces = width + adds * many, pieces + many
    raise ValueError("the pieces do not reach the target")


def max_width_of(problem: Problem, pieces: int) -> int:
    """The greatest width of so many pieces, or the target if that is less."""
    width = 0
    most = max_width_by_row(problem)
    for order in descending(most):
        for adds, many in zip(most[order].tolist(), problem.multiplicity[order].tolist(), strict=True):
            taken = min(many, pieces)
            width, pieces = width + adds * taken, pieces - taken
            if not pieces or width >= problem.target:
                return int(min(width, problem.target))
    return width


def max_width_by_row(problem: Problem) -> IntArray:
    """By row: the greatest width of one piece."""
    most = np.zeros(len(problem.multiplicity), dtype=np.int64)
    np.maximum.at(most, problem.alternatives.row, problem.alternatives.adds)
    if problem.continuous_items is not None:
        np.maximum.at(
            most, problem.continuous_items.row, problem.continuous_items.adds + problem.continuous_items.max_width
        )
    return most


def cost_with_partner(adds: IntArray, cost: IntArray, together: int) -> IntArray:
    """By choice: its cost and that of the cheapest choice with which it adds so much; FAR_TOO_MUCH for none."""
    order = np.argsort(adds)
    least = np.append(np.minimum.accumulate(cost[order][::-1])[::-1], INFINITE_COST)
    total = np.empty(len(adds), dtype=np.int64)
    total[order] = cost[order] + least[np.searchsorted(adds[order], together - adds[order])]
    return total


def rows_for_few_items(problem: Problem, wanted: int) -> IntArray:
    """Up to so many rows that with one more piece, and the widest there are, reach the target at the least second cost.

    The pieces are as few as can be; in no order.
    """
    pieces = min_item_count(problem.alternatives, problem.multiplicity, problem.target)
    alternatives = problem.alternatives.subset(
        problem.alternatives.adds >= problem.target - max_width_of(problem, pieces - 1)
    )
    total = alternatives.second
    if pieces > 1:
        total = cost_with_partner(
            alternatives.adds, alternatives.second, problem.target - max_width_of(problem, pieces - 2)
        )
    few = np.arange(len(total)) if len(total) <= wanted else np.argpartition(total, wanted)[:wanted]
    return alternatives.row[few[total[few] < INFINITE_COST]]


def descending(values: IntArray) -> Iterator[NDArray[np.intp]]:
    """Where the values stand, the greatest first: first a few of them, then, if those are not enough, all others."""
    few = np.arange(len(values))
    if len(values) > FEW_GREATEST:
        few = np.argpartition(-values, FEW_GREATEST)[:FEW_GREATEST]
    yield few[np.argsort(-values[few], kind="stable")]
    if len(few) < len(values):
        others = np.setdiff1d(np.arange(len(values)), few)
        yield others[np.argsort(-values[others], kind="stable")]
