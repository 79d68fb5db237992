"""What a sweep is told: kinds of pieces in order, prices, what a cover may cost, and how much work may be done.

Knows no method of search.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.solver.problem import ContinuousItems, IntArray

MAX_STATES = 400_000
MAX_WORK = 20_000_000
"""So many states one search may grow in all, some seconds of work; then its lists are cut to FEW_STATES."""
MAX_STATES_EXHAUSTED = 500


@dataclass(frozen=True)
class ItemClass:
    """Pieces that are alike in every respect, their choices, and their free strips.

    `costs` holds one array a guide, by choice; `continuous` are
    indices of free strips, `continuous_reduced` one array a guide by those. `steps` number the choices.
    """

    row: int
    multiplicity: int
    adds: IntArray
    costs: tuple[IntArray, ...]
    min_reduced: tuple[int, ...]
    steps: IntArray
    continuous: IntArray
    continuous_adds: IntArray
    continuous_reduced: tuple[IntArray, ...]
    continuous_steps: IntArray

    def saving(self, relaxation: int, already: int = 0) -> int:
        """What pieces of this kind at best save, with `already` of them taken: 0 or less."""
        return min(self.min_reduced[relaxation], 0) * (self.multiplicity - already)


@dataclass(frozen=True)
class CoreProblem:
    """All that a sweep needs to know: the kinds in order, the target, prices and free strips."""

    target: int
    equality: bool
    item_classes: tuple[ItemClass, ...]
    multipliers: tuple[int, ...]
    continuous_items: ContinuousItems | None
    """Priced by the guides: `cost_at` gives the first guide's cost first."""
    continuous_bounds: tuple[IntArray, ...]
    """By guide and free strip: a lower bound of cost − price·width."""
    class_of_step: tuple[int, ...]
    """By step: the kind from which it takes a piece."""


@dataclass
class WorkLimit:
    """How far a search may go: the covers wanted, the longest list, and how many states it may still grow.

    `complete` is False once a list had to be cut.
    """

    count: int
    max_states: int
    left: int
    complete: bool = True

    @property
    def exhausted(self) -> bool:
        return self.left <= 0

    def longest(self) -> int:
        """How many states a list may hold now."""
        return min(self.max_states, MAX_STATES_EXHAUSTED) if self.exhausted else self.max_states
