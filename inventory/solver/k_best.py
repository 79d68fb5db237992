"""The k best solutions of a reduced problem, by the dynamic programs of its core problem.

Method: sums that need only reach the target go to `meet_in_the_middle`, sums that must equal it to `equality`, and sums
with a continuous item to `continuous`; a pool keeps the k cheapest signatures, and what the first program finds
tightens the cutoff of the last.
"""

from __future__ import annotations

from inventory.solver.continuous import ContinuousSearch
from inventory.solver.core_problem import MAX_WORK, CoreProblem, WorkLimit, core_problem
from inventory.solver.equality import collect_equal_sums
from inventory.solver.meet_in_the_middle import MeetInTheMiddle
from inventory.solver.problem import Selection, Solution
from inventory.solver.reduction import ReducedProblem
from inventory.solver.solution_pool import BestPool, CoreSolution


def solve_core(reduced: ReducedProblem, count: int, max_states: int) -> tuple[tuple[Solution, ...], bool]:
    """The `count` best solutions within the cutoff, best first, and whether no list of states was cut."""
    core, work_limit = core_problem(reduced), WorkLimit(count, max_states, MAX_WORK)
    if sum(item_class.mandatory for item_class in core.item_classes) < len(reduced.problem.mandatory):
        return (), True
    cutoffs = reduced.cutoffs(reduced.cutoff.joint_cost)
    pool = BestPool(count, core.steps, cutoffs[0])
    if core.equality:
        collect_equal_sums(core, cutoffs, work_limit, pool)
    else:
        MeetInTheMiddle(core, cutoffs, work_limit).collect(pool)
    if core.continuous_items is not None and len(core.continuous_items):
        if pool.cutoff < cutoffs[0]:
            cutoffs = reduced.cutoffs(pool.cutoff >> reduced.shift)
        ContinuousSearch(core, core.continuous_items, cutoffs, work_limit, reduced.cutoff.min_items).collect(pool)
    return tuple(_to_solution(core, reduced, each) for each in pool.in_order()), work_limit.complete


def _to_solution(core: CoreProblem, reduced: ReducedProblem, found: CoreSolution) -> Solution:
    by_class: dict[int, list[tuple[int, bool]]] = {}
    for step in found.steps:
        item_class, alternative, continuous = core.steps[step]
        by_class.setdefault(item_class, []).append((alternative, continuous))
    selections: list[Selection] = []
    for item_class, taken in by_class.items():
        row = core.item_classes[item_class].row
        # In one order within a class, so that equal solutions compare equal.
        for alternative, continuous in sorted(taken, key=lambda each: (-each[0], each[1])):
            selections.append(Selection(row, alternative, found.width if continuous else None))
    return Solution(tuple(selections), *divmod(found.cost >> reduced.shift, reduced.cutoff.scale))
