"""What a sweep is told: kinds of pieces in order, prices, what a cover may cost, and how much work may be done.

Knows no method of search.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.solver.problem import FreeStrips, Ints

MOST_STATES = 400_000
MOST_WORK = 20_000_000
"""So many states one search may grow in all, some seconds of work; then its lists are cut to FEW_STATES."""
FEW_STATES = 500


@dataclass(frozen=True)
class Kind:
    """Pieces that are alike in every respect, their choices, and their free strips.

    `costs` holds one array a guide, by choice; `free` are
    indices of free strips, `free_reduced` one array a guide by those. `steps` number the choices.
    """

    row: int
    copies: int
    adds: Ints
    costs: tuple[Ints, ...]
    least_reduced: tuple[int, ...]
    steps: Ints
    free: Ints
    free_adds: Ints
    free_reduced: tuple[Ints, ...]
    free_steps: Ints

    def saved(self, guide: int, already: int = 0) -> int:
        """What pieces of this kind at best save, with `already` of them taken: 0 or less."""
        return min(self.least_reduced[guide], 0) * (self.copies - already)


@dataclass(frozen=True)
class Field:
    """All that a sweep needs to know: the kinds in order, the target, prices and free strips."""

    target: int
    meet: bool
    kinds: tuple[Kind, ...]
    prices: tuple[int, ...]
    strips: FreeStrips | None
    """Priced by the guides: `cost_at` gives the first guide's cost first."""
    strip_bound: tuple[Ints, ...]
    """By guide and free strip: a lower bound of cost − price·width."""
    owners: tuple[int, ...]
    """By step: the kind from which it takes a piece."""


@dataclass
class Effort:
    """How far a search may go: the covers wanted, the longest list, and how many states it may still grow.

    `complete` is False once a list had to be cut.
    """

    count: int
    most_states: int
    left: int
    complete: bool = True

    @property
    def spent(self) -> bool:
        return self.left <= 0

    def longest(self) -> int:
        """How many states a list may hold now."""
        return min(self.most_states, FEW_STATES) if self.spent else self.most_states
