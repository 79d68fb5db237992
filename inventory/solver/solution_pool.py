"""The best covers found so far that differ in the pieces they take. Knows no method of search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

NO_CUTOFF = 1 << 61
"""More than any cover costs."""


@dataclass(frozen=True)
class CoreSolution:
    """A cover that a sweep found: its cost by the first guide, its steps, its free strip's width (0 for none)."""

    cost: int
    steps: tuple[int, ...]
    width: int = 0


class BestPool:
    """Up to `count` covers; of those with as many pieces of every kind the cheapest. `class_of_step` is by "
    "step its kind."""

    def __init__(self, count: int, class_of_step: Sequence[int], most: int) -> None:
        self._count = count
        self._class_of_step = class_of_step
        self._initial_cutoff = most
        self._entries: dict[frozenset[tuple[int, int]], CoreSolution] = {}

    @property
    def cutoff(self) -> int:
        """What a cover costs at most that would still be held."""
        if len(self._entries) < self._count:
            return self._initial_cutoff
        return min(self._initial_cutoff, max(each.cost for each in self._entries.values()) - 1)

    def add(self, found: CoreSolution) -> None:
        """Holds the cover if it is among the best."""
        pieces = frozenset(self.pieces_of(found).items())
        known = self._entries.get(pieces)
        if known is not None:
            if found.cost < known.cost:
                self._entries[pieces] = found
        elif found.cost <= self.cutoff:
            if len(self._entries) == self._count:
                del self._entries[max(self._entries, key=lambda each: self._entries[each].cost)]
            self._entries[pieces] = found

    def pieces_of(self, found: CoreSolution) -> Counter[int]:
        """By kind: how many pieces the cover takes."""
        return Counter(self._class_of_step[step] for step in found.steps)

    def in_order(self) -> list[CoreSolution]:
        """The covers held, best first."""
        return sorted(self._entries.values(), key=lambda each: each.cost)
