"""The best solutions whose sum equals the target.

Method: a dynamic program over a list of distinct sums, cut by bounds. Cost: number of classes times the length of the
list, some hundred states in practice; in the worst case it grows with the number of distinct sums. Sums are whole
numbers in a list, not cells of a table, so no grid is assumed. Optimal unless the work limit cut the list.
"""

from __future__ import annotations

import numpy as np

from inventory.solver.core_problem import CoreProblem, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.solution_pool import BestPool, CoreSolution


def collect_equal_sums(core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit, pool: BestPool) -> None:
    """Adds to the pool the cheapest solutions within the cutoffs whose sum equals the core problem's target."""
    program = DynamicProgram(core, cutoffs, work_limit)
    relaxations = range(len(core.multipliers))
    slacks = core.slacks(cutoffs, (0,) * len(relaxations))
    affordable = core.affordable_classes(slacks)
    savings = [core.savings_from(relaxation) for relaxation in relaxations]
    pooled, max_items = small_pool(core, affordable, slacks)
    if pooled:
        everything = [each[0] for each in savings]
        program.add_pool([core.item_classes[index] for index in pooled], max_items, Remaining(everything, everything))
    for index in sorted(set(affordable).difference(pooled)):
        if len(program):
            later = [each[index + 1] for each in savings]
            program.add_class(core.item_classes[index], Remaining(later, later))
    full = program.states.at(program.states.width == core.target)
    for each in np.argsort(full.costs[0], kind="stable")[: work_limit.count].tolist():
        pool.add(CoreSolution(int(full.costs[0][each]), program.path_to(int(full.node[each]))))
