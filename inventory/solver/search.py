"""The k best solutions of a multiple-choice knapsack cover problem.

Method: (1) presolve finds incumbents and a cutoff; (2) Lagrangian relaxations fix every alternative that is in no
solution within it; (3) local search near the relaxed solution tightens the cutoff, and more is fixed; (4) a dynamic
program solves the core problem that is left (core, bounds and dynamic program: H. Kellerer, U. Pferschy and D.
Pisinger, Knapsack Problems, 2004, chapter 11; from memory). Cost: a few passes over all alternatives, then a dynamic
program whose lists grow with k. Mandatory classes are decided like all others: bounds count the best alternative of one
item, the dynamic program keeps no state without one. Optimal unless the work limit cut a list; else the relaxation's
lower bound holds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inventory.solver.cardinality import rows_for_few_items
from inventory.solver.core_problem import MAX_STATES
from inventory.solver.greedy import cheapest_rows
from inventory.solver.k_best import solve_core
from inventory.solver.local_search import local_search
from inventory.solver.presolve import Presolved, approximate_cost, heuristic_solutions, presolve, without_fixed_costs
from inventory.solver.problem import ContinuousItems, Cost, IntArray, ItemSet, Problem, Solution, Solutions
from inventory.solver.reduction import ReducedProblem, lagrangian_bound, reduce_problem

FEW_ROWS = 6
"""So few item classes need no local search before the dynamic program."""
MANY_ROWS, BEAM_STATES = 60, 300
"""Above so many item classes, a dynamic program with lists of so few states runs first, as a heuristic."""
MIN_PROMISING, MAX_PROMISING, PROMISING_SHARE = 256, 1024, 20
"""How many item classes of a large problem seldom miss one of the best solutions: one in 20 within these limits."""
COARSER_BITS = 8


def best_solutions(
    problem: Problem,
    count: int,
    *,
    fewest_items: bool = False,
    max_states: int = MAX_STATES,
    limit: Cost | None = None,
) -> Solutions:
    """The `count` best solutions of different signatures, best first; fewer where there are no more.

    `fewest_items` says that the first cost counts items, which adds a second, sharper relaxation. `limit` is a known
    upper bound of the cost of the last of these solutions, which saves the heuristics.
    """
    if problem.is_trivially_infeasible():
        return Solutions((), 0, True)
    problem, fixed = without_fixed_costs(problem, fewest_items=fewest_items)
    found = _best_solutions(problem, count, fewest_items, max_states, _less(limit, fixed))
    return Solutions(
        tuple(Solution(each.selections, each.first + fixed[0], each.second + fixed[1]) for each in found.solutions),
        found.lower_bound + fixed[0],
        found.proven,
    )


def _less(limit: Cost | None, fixed: Cost) -> Cost | None:
    return None if limit is None else (limit[0] - fixed[0], limit[1] - fixed[1])


def _best_solutions(problem: Problem, count: int, fewest_items: bool, max_states: int, limit: Cost | None) -> Solutions:
    presolved = presolve(problem, count, fewest_items=fewest_items, limit=limit)
    if presolved is None:
        return _solve_coarser(problem, count, fewest_items, max_states)
    scale = presolved.cutoff.scale
    reduced, incumbents = _reduce(presolved, count, known=limit is not None)
    solutions, complete = solve_core(reduced, count, max_states)
    if complete:
        # An equality-constrained sum may have no solution though the items reach the target.
        return Solutions(solutions, solutions[0].first if solutions else 0, True)
    if limit is not None:
        incumbents = _incumbents(problem, count, fewest_items)
    solutions = _merged(solutions, incumbents, count)
    bound = min([_first_cost_bound(reduced.lower_bound >> reduced.shift, scale), *(each.first for each in solutions)])
    return Solutions(solutions, bound, False)


def lower_bound(problem: Problem, continuous_items: int) -> int:
    """A lower bound of the first cost of every solution, if it may have so many continuous items."""
    presolved = presolve(problem, 1, fewest_items=False) if not problem.is_trivially_infeasible() else None
    if presolved is None:
        return 0
    bound = lagrangian_bound(problem, presolved.promising, presolved.cutoff, continuous_items)
    return _first_cost_bound(bound, presolved.cutoff.scale)


def promising_rows(problem: Problem, *, fewest_items: bool) -> IntArray:
    """Item classes, in order, among which the best solutions are likely to be."""
    wanted = min(max(len(problem.multiplicity) // PROMISING_SHARE, MIN_PROMISING), MAX_PROMISING)
    rows = cheapest_rows(problem, approximate_cost(problem, problem.alternatives), wanted)
    if fewest_items:
        rows = np.concatenate((rows, rows_for_few_items(problem, wanted)))
    return np.unique(rows)


def rows_within(problem: Problem, limit: Cost, count: int, promising: IntArray, *, fewest_items: bool) -> IntArray:
    """The item classes, in order, that can be in one of the `count` best solutions where those cost at most `limit`.

    The multipliers are found from the `promising` item classes.
    """
    chosen = np.zeros(len(problem.multiplicity), dtype=np.bool_)
    chosen[promising] = True
    problem, fixed = without_fixed_costs(problem, fewest_items=fewest_items)
    limit = limit[0] - fixed[0], limit[1] - fixed[1]
    alternatives = problem.alternatives.subset(chosen[problem.alternatives.row])
    presolved = presolve(problem, count, fewest_items=fewest_items, limit=limit, promising=alternatives)
    if presolved is None:
        return np.arange(len(problem.multiplicity))
    return reduce_problem(presolved.problem, presolved.promising, presolved.cutoff).rows


def _reduce(presolved: Presolved, count: int, *, known: bool) -> tuple[ReducedProblem, list[Solution]]:
    """The reduced problem and the incumbents; local search tightens a cutoff that is not `known` beforehand."""
    reduced = reduce_problem(presolved.problem, presolved.promising, presolved.cutoff)
    incumbents = list(presolved.incumbents)
    if not known and len(reduced.rows) > FEW_ROWS and not presolved.problem.equality:
        scale = presolved.cutoff.scale
        incumbents += local_search(reduced.problem, scale, reduced.multiplier, count)
        reduced = _tightened(reduced, incumbents, count)
    if not known and len(reduced.rows) > MANY_ROWS:
        incumbents += solve_core(reduced, count, BEAM_STATES)[0]
        reduced = _tightened(reduced, incumbents, count)
    return reduced, incumbents


def _tightened(reduced: ReducedProblem, incumbents: list[Solution], count: int) -> ReducedProblem:
    """The problem reduced by the cost of the `count`-th best incumbent, if there are so many."""
    cost = _joint_cost_of_last(incumbents, reduced.cutoff.scale, count)
    return reduced if cost is None else reduced.within(cost)


def _incumbents(problem: Problem, count: int, fewest_items: bool) -> list[Solution]:
    """Heuristic solutions, where a limit known beforehand had saved them."""
    presolved = presolve(problem, count, fewest_items=fewest_items)
    return [] if presolved is None else _reduce(presolved, count, known=False)[1]


def _joint_cost_of_last(solutions: list[Solution], scale: int, count: int) -> int | None:
    """The joint cost of the `count`-th best of different signatures; None where there are fewer."""
    by_signature: dict[ItemSet, int] = {}
    for each in solutions:
        cost = each.first * scale + each.second
        by_signature[each.signature] = min(cost, by_signature.get(each.signature, cost))
    return sorted(by_signature.values())[count - 1] if len(by_signature) >= count else None


def _merged(solutions: tuple[Solution, ...], incumbents: list[Solution], count: int) -> tuple[Solution, ...]:
    """The best of both, one for each signature."""
    by_signature: dict[ItemSet, Solution] = {}
    for each in (*incumbents, *solutions):
        known = by_signature.get(each.signature)
        if known is None or each.cost <= known.cost:
            by_signature[each.signature] = each
    return tuple(sorted(by_signature.values(), key=lambda each: each.cost)[:count])


def _first_cost_bound(joint_bound: int, scale: int) -> int:
    """The lower bound of the first cost that follows from one of the joint cost."""
    return max(-(-(joint_bound - (scale - 1)) // scale), 0)


def _solve_coarser(problem: Problem, count: int, fewest_items: bool, max_states: int) -> Solutions:
    """Solves the problem with the second cost rounded, where both costs do not fit 64 bits; nothing is proven."""
    if not int(problem.alternatives.second.max()):
        # The first cost alone does not fit 64 bits.
        return Solutions(tuple(sorted(heuristic_solutions(problem, count), key=lambda each: each.first)), 0, False)
    coarse = replace(
        problem,
        alternatives=replace(problem.alternatives, second=problem.alternatives.second >> COARSER_BITS),
        continuous_items=None if problem.continuous_items is None else _coarser_continuous(problem.continuous_items),
    )
    return replace(_best_solutions(coarse, count, fewest_items, max_states, None), proven=False)


def _coarser_continuous(continuous_items: ContinuousItems) -> ContinuousItems:
    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        first, second = continuous_items.cost_at(index, widths)
        return first, second >> COARSER_BITS

    return replace(
        continuous_items,
        cost_at=cost_at,
        max_second=continuous_items.max_second >> COARSER_BITS,
        breakpoints=tuple(replace(each, second=each.second >> COARSER_BITS) for each in continuous_items.breakpoints),
    )
