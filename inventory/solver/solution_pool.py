"""The pool of the k best solutions of a core problem found so far, one for each item-set signature."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.solver.core_problem import Step
from inventory.solver.problem import ItemSet


@dataclass(frozen=True)
class CoreSolution:
    """A solution of the core problem: its scaled cost, indices of its steps, its continuous width (0 for none)."""

    cost: int
    steps: tuple[int, ...]
    width: int = 0


class BestPool:
    """Up to `count` solutions that cost at most `cutoff`, the cheapest of each signature."""

    def __init__(self, count: int, steps: Sequence[Step], cutoff: int) -> None:
        self._count = count
        self._steps = steps
        self._initial_cutoff = cutoff
        self._entries: dict[ItemSet, CoreSolution] = {}

    @property
    def cutoff(self) -> int:
        """The most that a solution of a new signature may cost to be kept."""
        if len(self._entries) < self._count:
            return self._initial_cutoff
        return min(self._initial_cutoff, max(each.cost for each in self._entries.values()) - 1)

    def add(self, solution: CoreSolution) -> None:
        """Keeps the solution if it is among the best, in place of a worse one."""
        signature = frozenset(self.items_of(solution).items())
        known = self._entries.get(signature)
        if known is not None:
            if solution.cost < known.cost:
                self._entries[signature] = solution
        elif solution.cost <= self.cutoff:
            if len(self._entries) == self._count:
                del self._entries[max(self._entries, key=lambda each: self._entries[each].cost)]
            self._entries[signature] = solution

    def items_of(self, solution: CoreSolution) -> Counter[int]:
        """How many items of each class the solution takes."""
        return Counter(self._steps[step].item_class for step in solution.steps)

    def in_order(self) -> list[CoreSolution]:
        """The solutions, best first."""
        return sorted(self._entries.values(), key=lambda each: each.cost)
