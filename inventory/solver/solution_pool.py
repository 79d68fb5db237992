"""The best covers found so far that differ in the pieces they take. Knows no method of search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

NO_LIMIT = 1 << 61
"""More than any cover costs."""


@dataclass(frozen=True)
class Found:
    """A cover that a sweep found: its cost by the first guide, its steps, its free strip's width (0 for none)."""

    cost: int
    steps: tuple[int, ...]
    width: int = 0


class Best:
    """Up to `count` covers; of those with as many pieces of every kind the cheapest. `owners` is by step its kind."""

    def __init__(self, count: int, owners: Sequence[int], most: int) -> None:
        self._count = count
        self._owners = owners
        self._most = most
        self._held: dict[frozenset[tuple[int, int]], Found] = {}

    @property
    def limit(self) -> int:
        """What a cover costs at most that would still be held."""
        if len(self._held) < self._count:
            return self._most
        return min(self._most, max(each.cost for each in self._held.values()) - 1)

    def hold(self, found: Found) -> None:
        """Holds the cover if it is among the best."""
        pieces = frozenset(self.pieces_of(found).items())
        known = self._held.get(pieces)
        if known is not None:
            if found.cost < known.cost:
                self._held[pieces] = found
        elif found.cost <= self.limit:
            if len(self._held) == self._count:
                del self._held[max(self._held, key=lambda each: self._held[each].cost)]
            self._held[pieces] = found

    def pieces_of(self, found: Found) -> Counter[int]:
        """By kind: how many pieces the cover takes."""
        return Counter(self._owners[step] for step in found.steps)

    def in_order(self) -> list[Found]:
        """The covers held, best first."""
        return sorted(self._held.values(), key=lambda each: each.cost)
