"""The first look at a task: both costs joined in one number, and what a cover may cost.

Knows how two costs compared in order become one whole number, and when that number
would not fit 64 bits. Knows nothing of how the best cover is found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import min_item_count
from inventory.solver.greedy import cheapest_rows, greedy_solutions, promising_alternatives
from inventory.solver.problem import Alternatives, Cost, IntArray, Problem, Solution
from inventory.solver.reduction import Cutoff

MANY_ITEMS = 100
"""Hardly ever are so many pieces in one cover."""
FEW_NARROW = 256
"""So many of the narrowest pieces nearly always reach a target together."""
MAX_JOINT_COST = 1 << 57
"""What a cover may cost, so that every sum that a search forms fits 64 bits."""


@dataclass(frozen=True)
class Presolved:
    """A task as it is first seen.

    `problem` is without the choices that cost more than a cover may; `likely` are those of
    the others that look best. `incumbents` are a few good covers.
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
    """The first look at a task that can be filled; None where both costs together do not fit 64 bits.

    `fewest` says that the first cost counts pieces. `limit` is what the last of the
    `count` best covers is known to cost at most; where it is not known, covers by hand are found.
    `likely` choices are found where they are not given.
    """
    incumbents = [] if limit is not None else heuristic_solutions(problem, count)
    if len(incumbents) == count:
        limit = max(each.cost for each in incumbents)
    seen = problem
    if limit is not None:
        # No cover of interest has a first cost above this one, nor has any choice in it.
        seen = replace(
            problem, alternatives=problem.alternatives.subset_unless_most(problem.alternatives.first <= limit[0])
        )
    scale, most = _joint_scale(seen, count, limit)
    if most > MAX_JOINT_COST:
        return None
    joint_cost = None if limit is None else most
    alternatives = seen.alternatives
    if promising is None:
        alternative_cost = (alternatives.first * scale + alternatives.second).astype(np.float64)
        promising = promising_alternatives(alternatives, problem.multiplicity, problem.target, alternative_cost)
    least = min_item_count(problem.alternatives, problem.multiplicity, problem.target) if fewest_items else None
    return Presolved(seen, promising, Cutoff(scale, joint_cost, least, most), incumbents)


def _joint_scale(problem: Problem, count: int, limit: Cost | None) -> tuple[int, int]:
    """One more than the second cost of any cover that the search can call best, and what such a cover costs at most."""
    if limit is not None:
        scale = 1 + _quick_max_second(problem, count)
        if limit[0] * scale + limit[1] <= MAX_JOINT_COST:
            return scale, limit[0] * scale + limit[1]
    most_first, most_second = _max_costs(problem, count)
    scale = 1 + most_second
    return scale, most_first * scale + most_second if limit is None else limit[0] * scale + limit[1]


def _quick_max_second(problem: Problem, count: int) -> int:
    """At least what `_max_costs` says of the second cost: every piece the narrowest and the dearest."""
    alternatives, continuous_items = problem.alternatives, problem.continuous_items
    narrowest = int(alternatives.adds.min(initial=problem.target))
    dearest = int(alternatives.second.max(initial=0))
    if continuous_items is not None:
        dearest = max(dearest, int(continuous_items.breakpoints[-1].second.max(initial=0)))
    return _max_items_per_solution(-(-problem.target // narrowest), count) * dearest


def _max_items_per_solution(without_spare: int, count: int) -> int:
    """How many pieces one of `count` best covers has at most, if one without a piece to spare has so many.

    Of a cover with pieces to spare, those without one or another of them are better, and differ.
    """
    return without_spare + 1 + count


def heuristic_solutions(problem: Problem, count: int) -> list[Solution]:
    """Up to `count` covers by a greedy hand."""
    promising = promising_alternatives(
        problem.alternatives,
        problem.multiplicity,
        problem.target,
        _alternative_cost(problem.alternatives, _approximate_scale(problem)),
    )
    return greedy_solutions(problem, promising, _alternative_cost(promising, _approximate_scale(problem)), count)


def likely_rows(problem: Problem, wanted: int) -> IntArray:
    """So many rows or more that look best for their width, in no order."""
    return cheapest_rows(
        problem.alternatives,
        problem.multiplicity,
        problem.target,
        _alternative_cost(problem.alternatives, _approximate_scale(problem)),
        wanted,
    )


def _approximate_scale(problem: Problem) -> float:
    """A scale by which the first cost outweighs the second one of a whole cover, hardly ever too small."""
    return MANY_ITEMS * (1.0 + int(problem.alternatives.second.max()))


def _alternative_cost(alternatives: Alternatives, scale: float) -> NDArray[np.float64]:
    alternative_cost: NDArray[np.float64] = alternatives.first.astype(np.float64)
    alternative_cost *= scale
    alternative_cost += alternatives.second
    return alternative_cost


def _max_costs(problem: Problem, count: int) -> tuple[int, int]:
    """At least the first and the second cost of any cover that the search can call best."""
    alternatives, multiplicity = problem.alternatives, problem.multiplicity
    pieces = _max_items_per_solution(_max_items(problem), count)
    dearest = [np.zeros(len(multiplicity), dtype=np.int64) for _ in range(2)]
    np.maximum.at(dearest[0], alternatives.row, alternatives.first)
    np.maximum.at(dearest[1], alternatives.row, alternatives.second)
    continuous_items = problem.continuous_items
    if continuous_items is not None:
        widest = continuous_items.breakpoints[-1]
        np.maximum.at(dearest[0], continuous_items.row, widest.first)
        np.maximum.at(dearest[1], continuous_items.row, widest.second)
    return _max_total(dearest[0], multiplicity, pieces), _max_total(dearest[1], multiplicity, pieces)


def _max_items(problem: Problem) -> int:
    """How many of the narrowest pieces reach the target together, or would with as many as it takes of the last."""
    alternatives, starts = problem.alternatives, problem.alternatives.starts
    if not len(alternatives):
        # Free strips alone are left, of which a cover has one.
        return 0
    adds, many = np.minimum(alternatives.adds[starts], problem.target), problem.multiplicity[alternatives.row[starts]]
    few = FEW_NARROW
    while True:
        order = np.argpartition(adds, few)[:few] if few < len(adds) else np.arange(len(adds))
        order = order[np.argsort(adds[order])]
        reached = np.cumsum(adds[order] * many[order])
        if few >= len(adds) or reached[-1] >= problem.target:
            break
        few *= 4
    last = min(int(np.searchsorted(reached, problem.target)), len(order) - 1)
    narrow = int(adds[order[last]])
    before = int(reached[last]) - narrow * int(many[order[last]])
    return int(many[order[:last]].sum()) + -(-(problem.target - before) // narrow)


def _max_total(dearest: IntArray, multiplicity: IntArray, pieces: int) -> int:
    """What so many pieces cost at most."""
    order = np.argpartition(-dearest, pieces)[:pieces] if pieces < len(dearest) else np.arange(len(dearest))
    order = order[np.argsort(-dearest[order])]
    enough = np.clip(pieces - (np.cumsum(multiplicity[order]) - multiplicity[order]), 0, multiplicity[order])
    some = np.flatnonzero(enough)
    return sum(cost * many for cost, many in zip(dearest[order[some]].tolist(), enough[some].tolist(), strict=True))
