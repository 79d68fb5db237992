"""The best covers of a prepared task in order, of different pieces.

Knows which of the two sweeps finds what: `inventory.solver.meet_in_the_middle` sums that need only
reach the target, `inventory.solver.equality` those that must meet it.
"""

from __future__ import annotations

from inventory.solver.core_problem import MAX_WORK, WorkLimit
from inventory.solver.equality import EqualitySearch
from inventory.solver.meet_in_the_middle import MeetInTheMiddle
from inventory.solver.problem import Selection, Solution
from inventory.solver.reduction import Prepared
from inventory.solver.solution_pool import BestPool, CoreSolution


def solve_core(prepared: Prepared, count: int, max_states: int) -> tuple[tuple[Solution, ...], bool]:
    """The `count` best covers within the budget, best first, and whether no list had to be cut."""
    core, work_limit = prepared.core, WorkLimit(count, max_states, MAX_WORK)
    cutoffs = prepared.cutoffs(prepared.cutoff.joint_cost)
    pool = BestPool(count, core.class_of_step, cutoffs[0])
    if core.equality:
        EqualitySearch(core, cutoffs, work_limit).collect_exact(pool)
    else:
        MeetInTheMiddle(core, cutoffs, work_limit).collect(pool)
    if core.continuous_items is not None and len(core.continuous_items):
        if pool.cutoff < cutoffs[0]:
            cutoffs = prepared.cutoffs(pool.cutoff >> prepared.shift)
        EqualitySearch(core, cutoffs, work_limit, prepared.cutoff.min_items).collect_continuous(pool)
    return tuple(_to_solution(prepared, each) for each in pool.in_order()), work_limit.complete


def _to_solution(prepared: Prepared, found: CoreSolution) -> Solution:
    taken: dict[int, list[tuple[int, bool]]] = {}
    for step in found.steps:
        item_class, alternative, continuous = prepared.steps[step]
        taken.setdefault(item_class, []).append((alternative, continuous))
    selections: list[Selection] = []
    for item_class, takes in taken.items():
        row = prepared.core.item_classes[item_class].row
        # The most strips from the first pieces, so that equal covers are told alike.
        for alternative, continuous in sorted(takes, key=lambda each: (-each[0], each[1])):
            selections.append(Selection(row, alternative, found.width if continuous else None))
    return Solution(tuple(selections), *divmod(found.cost >> prepared.shift, prepared.cutoff.scale))
