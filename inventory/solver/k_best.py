"""The best covers of a prepared task in order, of different pieces.

Knows which of the two sweeps finds what: `inventory.solver.meet_in_the_middle` sums that need only
reach the target, `inventory.solver.equality` those that must meet it.
"""

from __future__ import annotations

from inventory.solver.core_problem import MOST_WORK, Effort
from inventory.solver.equality import Closing
from inventory.solver.meet_in_the_middle import BothEnds
from inventory.solver.problem import Cover, Pick
from inventory.solver.reduction import Prepared
from inventory.solver.solution_pool import Best, Found


def best_in_order(prepared: Prepared, count: int, most_states: int) -> tuple[tuple[Cover, ...], bool]:
    """The `count` best covers within the budget, best first, and whether no list had to be cut."""
    field, effort = prepared.field, Effort(count, most_states, MOST_WORK)
    budgets = prepared.budgets(prepared.budget.joint)
    best = Best(count, field.owners, budgets[0])
    if field.meet:
        Closing(field, budgets, effort).hold_counted(best)
    else:
        BothEnds(field, budgets, effort).hold_best(best)
    if field.strips is not None and len(field.strips):
        if best.limit < budgets[0]:
            budgets = prepared.budgets(best.limit >> prepared.shift)
        Closing(field, budgets, effort, prepared.budget.fewest_pieces).hold_closed(best)
    return tuple(_told(prepared, each) for each in best.in_order()), effort.complete


def _told(prepared: Prepared, found: Found) -> Cover:
    taken: dict[int, list[tuple[int, bool]]] = {}
    for step in found.steps:
        kind, take, free = prepared.steps[step]
        taken.setdefault(kind, []).append((take, free))
    picks: list[Pick] = []
    for kind, takes in taken.items():
        row = prepared.field.kinds[kind].row
        # The most strips from the first pieces, so that equal covers are told alike.
        for take, free in sorted(takes, key=lambda each: (-each[0], each[1])):
            picks.append(Pick(row, take, found.width if free else None))
    return Cover(tuple(picks), *divmod(found.cost >> prepared.shift, prepared.budget.scale))
