"""Presolve: joins both costs in one number, finds the first incumbents, and sets the cutoff.

Method: costs in order become one whole number, first * scale + second, with a scale above the second cost of every
solution that can be among the k best. What every solution pays for the only item of a mandatory class is left out, so
that the number stays small. Cost: a few passes over the alternatives.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import min_item_count
from inventory.solver.greedy import greedy_solutions, promising_alternatives
from inventory.solver.problem import Alternatives, Cost, IntArray, Problem, Solution
from inventory.solver.reduction import Cutoff

MANY_ITEMS = 100
"""More items than solutions usually have."""
FIRST_SORTED = 256
"""So many of the narrowest items nearly always reach a target together."""
MAX_JOINT_COST = 1 << 57
"""The most a solution may cost, so that every sum of the search fits 64 bits."""


@dataclass(frozen=True)
class Presolved:
    """A problem with its cutoff and first incumbents.

    `problem` is without alternatives that cost more than the cutoff; `promising` are those of low cost for their width.
    """

    problem: Problem
    promising: Alternatives
    cutoff: Cutoff
    incumbents: list[Solution]


def presolve(
    problem: Problem,
    count: int,
    *,
    fewest_items: bool,
    limit: Cost | None = None,
    promising: Alternatives | None = None,
) -> Presolved | None:
    """Presolves a problem that reaches its target; None where the joined costs do not fit 64 bits.

    `fewest_items` says that the first cost counts items. `limit` is a known upper bound of the cost of the `count`-th
    best solution; without it heuristic solutions are found. So are `promising` alternatives that are not given.
    """
    incumbents = [] if limit is not None else heuristic_solutions(problem, count)
    if len(incumbents) == count:
        limit = max(each.cost for each in incumbents)
    min_items = min_item_count(problem) if fewest_items else None
    if limit is not None:
        # No solution of interest has a higher first cost, so neither has any alternative in it.
        affordable = problem.alternatives.first <= limit[0]
        problem = replace(problem, alternatives=problem.alternatives.subset_unless_most(affordable))
    scale, max_cost = _joint_scale(problem, count, limit)
    if max_cost > MAX_JOINT_COST:
        return None
    alternatives = problem.alternatives
    if promising is None:
        joint_cost = (alternatives.first * scale + alternatives.second).astype(np.float64)
        promising = promising_alternatives(problem, joint_cost)
    cutoff = Cutoff(scale, None if limit is None else max_cost, min_items, max_cost)
    return Presolved(problem, promising, cutoff, incumbents)


def without_fixed_costs(problem: Problem, *, fewest_items: bool) -> tuple[Problem, Cost]:
    """The problem without the costs that every solution has, and these costs.

    Every solution pays at least the cheapest alternative of the only item of a mandatory class. A first cost that
    counts items (`fewest_items`) stays.
    """
    rows = problem.mandatory[problem.multiplicity[problem.mandatory] == 1]
    if not len(rows):
        return problem, (0, 0)
    alternatives, items = problem.alternatives, problem.continuous_items
    fixed = []
    for name in ("first", "second"):
        least = np.full(len(problem.multiplicity), np.iinfo(np.int64).max, dtype=np.int64)
        np.minimum.at(least, alternatives.row, getattr(alternatives, name))
        if items is not None:
            for each in items.breakpoints:
                np.minimum.at(least, items.row, getattr(each, name))
        own = np.zeros(len(least), dtype=np.int64)
        own[rows] = 0 if name == "first" and fewest_items else least[rows]
        fixed.append(own)
    first, second = fixed
    without = replace(
        problem,
        alternatives=replace(
            alternatives,
            first=alternatives.first - first[alternatives.row],
            second=alternatives.second - second[alternatives.row],
        ),
        continuous_items=None if items is None else items.cheaper_by(first[items.row], second[items.row]),
    )
    return without, (int(first.sum()), int(second.sum()))


def heuristic_solutions(problem: Problem, count: int) -> list[Solution]:
    """Up to `count` greedy solutions of different signatures."""
    promising = promising_alternatives(problem, approximate_cost(problem, problem.alternatives))
    return greedy_solutions(problem, promising, approximate_cost(problem, promising), count)


def approximate_cost(problem: Problem, alternatives: Alternatives) -> NDArray[np.float64]:
    """Both costs of some of the problem's alternatives in one float, the first one outweighing the second."""
    cost: NDArray[np.float64] = alternatives.first.astype(np.float64)
    cost *= MANY_ITEMS * (1.0 + int(problem.alternatives.second.max()))
    cost += alternatives.second
    return cost


def _joint_scale(problem: Problem, count: int, limit: Cost | None) -> tuple[int, int]:
    """A scale above the second cost of the `count` best solutions, and the most that one of them costs."""
    if limit is not None:
        scale = 1 + _quick_max_second(problem, count)
        if limit[0] * scale + limit[1] <= MAX_JOINT_COST:
            return scale, limit[0] * scale + limit[1]
    max_first, max_second = _max_costs(problem, count)
    scale = 1 + max_second
    return scale, max_first * scale + max_second if limit is None else limit[0] * scale + limit[1]


def _quick_max_second(problem: Problem, count: int) -> int:
    """An upper bound of the second cost, looser than that of `_max_costs`: all items both narrowest and costliest."""
    alternatives, continuous_items = problem.alternatives, problem.continuous_items
    narrowest = int(alternatives.adds.min(initial=problem.target))
    costliest = int(alternatives.second.max(initial=0))
    if continuous_items is not None:
        costliest = max(costliest, int(continuous_items.max_second.max(initial=0)))
    return _max_items_of_best(problem, -(-problem.target // narrowest), count) * costliest


def _max_costs(problem: Problem, count: int) -> Cost:
    """Upper bounds of the first and the second cost of any of the `count` best solutions."""
    alternatives, multiplicity = problem.alternatives, problem.multiplicity
    items = _max_items_of_best(problem, _max_items(problem), count)
    first, second = (np.zeros(len(multiplicity), dtype=np.int64) for _ in range(2))
    np.maximum.at(first, alternatives.row, alternatives.first)
    np.maximum.at(second, alternatives.row, alternatives.second)
    continuous_items = problem.continuous_items
    if continuous_items is not None:
        np.maximum.at(first, continuous_items.row, continuous_items.max_first)
        np.maximum.at(second, continuous_items.row, continuous_items.max_second)
    return _max_total(first, multiplicity, items), _max_total(second, multiplicity, items)


def _max_items_of_best(problem: Problem, minimal: int, count: int) -> int:
    """The most items of one of the `count` best solutions, if one without an item to spare has `minimal` at most.

    Of a solution with items to spare, those without one or another of them are better, and have other signatures. One
    item of each mandatory class can't be spared, whatever the others add.
    """
    return minimal + 1 + count + len(problem.mandatory)


def _max_items(problem: Problem) -> int:
    """The most items of a solution without an item to spare: how many of the narrowest reach the target."""
    alternatives, starts = problem.alternatives, problem.alternatives.starts
    if not len(alternatives):
        # Only continuous items are left, of which a solution has one.
        return 0
    adds = np.minimum(alternatives.adds[starts], problem.target)
    available = problem.multiplicity[alternatives.row[starts]]
    sorted_count = FIRST_SORTED
    while True:
        order = np.argpartition(adds, sorted_count)[:sorted_count] if sorted_count < len(adds) else np.arange(len(adds))
        order = order[np.argsort(adds[order])]
        reached = np.cumsum(adds[order] * available[order])
        if sorted_count >= len(adds) or reached[-1] >= problem.target:
            break
        sorted_count *= 4
    last = min(int(np.searchsorted(reached, problem.target)), len(order) - 1)
    width = int(adds[order[last]])
    before = int(reached[last]) - width * int(available[order[last]])
    return int(available[order[:last]].sum()) + -(-(problem.target - before) // width)


def _max_total(cost: IntArray, multiplicity: IntArray, items: int) -> int:
    """The most that so many items cost."""
    order = np.argpartition(-cost, items)[:items] if items < len(cost) else np.arange(len(cost))
    order = order[np.argsort(-cost[order])]
    taken = np.clip(items - (np.cumsum(multiplicity[order]) - multiplicity[order]), 0, multiplicity[order])
    some = np.flatnonzero(taken)
    return sum(each * many for each, many in zip(cost[order[some]].tolist(), taken[some].tolist(), strict=True))
