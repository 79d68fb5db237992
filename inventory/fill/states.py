"""Lists of partial covers, and which of them need not be carried on.

Knows sums, costs and how a list came about. Knows nothing of bounds or of what
the sums mean. Widths in nanometres, costs whole numbers of the caller's.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.fill.task import Ints

NO_STRIP = -1
"""A state that holds no free strip."""
WIDTH_BITS = 34


@dataclass(frozen=True)
class States:
    """Partial covers: the width reached, the costs of each guide, the free strip held, the way there."""

    width: Ints
    costs: tuple[Ints, ...]
    strip: Ints
    node: Ints

    def __len__(self) -> int:
        return len(self.width)

    def at(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> States:
        """Some of the states."""
        return States(self.width[index], tuple(cost[index] for cost in self.costs), self.strip[index], self.node[index])


def joined(parts: list[States]) -> States:
    """Several lists as one, in order."""
    if len(parts) == 1:
        return parts[0]
    return States(
        np.concatenate([part.width for part in parts]),
        tuple(np.concatenate(costs) for costs in zip(*(part.costs for part in parts), strict=True)),
        np.concatenate([part.strip for part in parts]),
        np.concatenate([part.node for part in parts]),
    )


def start(guides: int) -> States:
    """The one state in which nothing is taken."""
    zero = np.zeros(1, dtype=np.int64)
    return States(zero, (zero,) * guides, np.full(1, NO_STRIP, dtype=np.int64), np.full(1, -1, dtype=np.int64))


def none(guides: int) -> States:
    """No state at all."""
    return start(guides).at(np.zeros(1, dtype=np.bool_))


def cheapest_of_equals(states: States) -> States:
    """The cheapest state of each width and free strip: right where a sum must be met exactly."""
    if len(states) < 2:
        return states
    # Widths stay below 2^34 nm, 17 m, so that strip and width fit one number.
    place = ((states.strip + 1) << WIDTH_BITS) + states.width
    order = np.lexsort((states.costs[0], place))
    place = place[order]
    keep = np.ones(len(order), dtype=np.bool_)
    keep[1:] = place[1:] != place[:-1]
    return states.at(order[keep])


class Trail:
    """From which state, by which step, each state came."""

    def __init__(self) -> None:
        self._firsts: list[int] = []
        self._parents: list[Ints] = []
        self._steps: list[Ints] = []
        self._size = 0

    def grow(self, parents: Ints, steps: Ints) -> Ints:
        """New nodes, one for each parent and step."""
        self._firsts.append(self._size)
        self._parents.append(parents)
        self._steps.append(steps)
        nodes: Ints = np.arange(self._size, self._size + len(parents), dtype=np.int64)
        self._size += len(parents)
        return nodes

    def steps_to(self, node: int) -> list[int]:
        """The steps that lead to a node, last first."""
        steps: list[int] = []
        while node >= 0:
            chunk = bisect_right(self._firsts, node) - 1
            place = node - self._firsts[chunk]
            steps.append(int(self._steps[chunk][place]))
            node = int(self._parents[chunk][place])
        return steps
