"""The best covers of a task, proven (cutting model, section 9).

Method: (1) a few good covers by a greedy hand give a budget; (2) guides, which are
Lagrangian bounds, leave out every choice that can be in no cover within it; (3) an
exact sweep over the kinds of pieces that are left finds the cheapest, and those next
best that differ from it and from each other in at least one piece. Proven: every cover,
unless the sweep had to cut its list. Cost: one pass over all choices, then a sweep over the
few kinds left, whose lists grow with the covers that are wanted.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inventory.solver.cardinality import rows_for_few_items
from inventory.solver.core_problem import MAX_STATES
from inventory.solver.k_best import solve_core
from inventory.solver.local_search import local_search
from inventory.solver.presolve import Presolved, heuristic_solutions, likely_rows, presolve
from inventory.solver.problem import ContinuousItems, Cost, IntArray, Problem, Solution, Solutions
from inventory.solver.reduction import Prepared, ReducedProblem, lagrangian_bound, prepare, reduce_problem

FEW_ROWS = 6
"""So many rows are swept at once; where more are left, a look around the guide's own choice tightens the budget."""
MIN_PROMISING, MAX_PROMISING, PROMISING_SHARE = 256, 1024, 20
"""So many promising rows of a large rack (at least, at most, one in so many) seldom miss one of the best covers."""
COARSER_BITS = 8


def best_solutions(
    problem: Problem, count: int, *, fewest_items: bool = False, max_states: int = MAX_STATES, limit: Cost | None = None
) -> Solutions:
    """The `count` best covers of the task, best first; fewer where there are no more.

    Covers differ in how many pieces of some kind they take. `fewest` says that the
    first cost counts pieces, which earns a second, sharper guide. `limit` is what the last of
    these covers costs at most, where that is known: it saves the looking for a budget.
    """
    if not problem.is_feasible():
        return Solutions((), 0, True)
    presolved = presolve(problem, count, fewest_items=fewest_items, limit=limit)
    if presolved is None:
        return _solve_coarser(problem, count, fewest_items, max_states)
    scale = presolved.cutoff.scale
    left, incumbents = _reduce(presolved, count, known=limit is not None)
    prepared = prepare(left)
    solutions, complete = solve_core(prepared, count, max_states)
    if complete:
        return Solutions(solutions, solutions[0].first, True)
    solutions = _merged(solutions, incumbents or nearby_solutions(problem, count, fewest_items=fewest_items), count)
    return Solutions(solutions, _bound(prepared, scale, solutions), False)


def nearby_solutions(problem: Problem, count: int, *, fewest_items: bool) -> list[Solution]:
    """Up to `count` good covers that differ, found without a sweep, best first; for a budget."""
    presolved = presolve(problem, count, fewest_items=fewest_items) if problem.is_feasible() else None
    if presolved is None:
        return []
    return list(_merged((), _reduce(presolved, count, known=False)[1], count))


def _reduce(presolved: Presolved, count: int, *, known: bool) -> tuple[ReducedProblem, list[Solution]]:
    """What the guides leave, and the covers by hand; those near the guide's own tighten a budget not `known`."""
    left, incumbents = (
        reduce_problem(presolved.problem, presolved.promising, presolved.cutoff),
        list(presolved.incumbents),
    )
    if not known and len(left.rows) > FEW_ROWS and not presolved.problem.equality:
        scale = presolved.cutoff.scale
        incumbents += local_search(left.problem, scale, left.multiplier, count)
        tighter = _limit(incumbents, scale, count)
        if tighter is not None:
            left = left.within(tighter)
    return left, incumbents


def _limit(solutions: list[Solution], scale: int, count: int) -> int | None:
    """What the last of `count` covers that differ costs; None where there are not so many."""
    by_pieces: dict[frozenset[tuple[int, int]], int] = {}
    for each in solutions:
        cost = each.first * scale + each.second
        by_pieces[each.signature] = min(cost, by_pieces.get(each.signature, cost))
    return sorted(by_pieces.values())[count - 1] if len(by_pieces) >= count else None


def _merged(solutions: tuple[Solution, ...], incumbents: list[Solution], count: int) -> tuple[Solution, ...]:
    """Where sweeps were cut short: the covers found, and those of the greedy hand that differ from them."""
    different = {each.signature: each for each in (*incumbents, *solutions)}
    return tuple(sorted(different.values(), key=lambda each: (each.first, each.second))[:count])


def promising_rows(problem: Problem, *, fewest_items: bool) -> IntArray:
    """Rows that alone are likely to hold the best covers, in order."""
    wanted = min(max(len(problem.multiplicity) // PROMISING_SHARE, MIN_PROMISING), MAX_PROMISING)
    rows = likely_rows(problem, wanted)
    if fewest_items:
        rows = np.concatenate((rows, rows_for_few_items(problem, wanted)))
    return np.unique(rows)


def rows_within(
    problem: Problem, limit: Cost, count: int, promising_alternatives: IntArray, *, fewest_items: bool
) -> IntArray:
    """The rows that can be in one of `count` best covers within the limit, in order.

    The guides' prices are found from the `promising` rows.
    """
    chosen = np.zeros(len(problem.multiplicity), dtype=np.bool_)
    chosen[promising_alternatives] = True
    presolved = presolve(
        problem,
        count,
        fewest_items=fewest_items,
        limit=limit,
        promising=problem.alternatives.subset(chosen[problem.alternatives.row]),
    )
    if presolved is None:
        return np.arange(len(problem.multiplicity))
    return reduce_problem(presolved.problem, presolved.promising, presolved.cutoff).rows


def lower_bound(problem: Problem, continuous_items: int) -> int:
    """What no cover of the task with up to so many free strips undercuts in the first cost."""
    presolved = presolve(problem, 1, fewest_items=False) if problem.is_feasible() else None
    if presolved is None:
        return 0
    scale = presolved.cutoff.scale
    return max(
        -(-(lagrangian_bound(problem, presolved.promising, presolved.cutoff, continuous_items) - (scale - 1)) // scale),
        0,
    )


def _bound(prepared: Prepared, scale: int, solutions: tuple[Solution, ...]) -> int:
    """The first cost that no cover undercuts, from the guide's floor."""
    lower_bound = max(-(-(prepared.lower_bound - (scale - 1)) // scale), 0)
    return min([lower_bound, *(each.first for each in solutions)])


def _solve_coarser(problem: Problem, count: int, fewest_items: bool, max_states: int) -> Solutions:
    """Where both costs together do not fit 64 bits: the second one in coarser steps, and nothing called proven."""
    if not int(problem.alternatives.second.max()):
        # The first cost alone does not fit 64 bits: what was found by hand must do.
        return Solutions(tuple(sorted(heuristic_solutions(problem, count), key=lambda each: each.first)), 0, False)
    coarse = replace(
        problem,
        alternatives=replace(problem.alternatives, second=problem.alternatives.second >> COARSER_BITS),
        continuous_items=None if problem.continuous_items is None else _coarser_continuous(problem.continuous_items),
    )
    return replace(best_solutions(coarse, count, fewest_items=fewest_items, max_states=max_states), proven=False)


def _coarser_continuous(continuous_items: ContinuousItems) -> ContinuousItems:
    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        first, second = continuous_items.cost_at(index, widths)
        return first, second >> COARSER_BITS

    return replace(
        continuous_items,
        cost_at=cost_at,
        breakpoints=tuple(replace(each, second=each.second >> COARSER_BITS) for each in continuous_items.breakpoints),
    )
