"""Lists of partial covers, and which of them need not be carried on.

A partial cover need not be carried on where as many others as covers are wanted are at
least as good and take other pieces: whatever completes it completes those too. One that takes
as many pieces of every kind as a better one is never carried on. Knows sums, costs, which
pieces are taken and how a list came about. Knows nothing of bounds or of what the sums
mean. Widths in nanometres, costs whole numbers of the caller's.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import IntArray

NO_CONTINUOUS = -1
"""A state that holds no free strip."""
WIDTH_BITS = 34
MAX_SIGNATURE = 1 << 62


@dataclass(frozen=True)
class States:
    """Partial covers: the width reached, the costs of each guide, the free strip held, the way there.

    Two states of a list have the same number in `signature` just where they have taken as many pieces of every kind.
    """

    width: IntArray
    costs: tuple[IntArray, ...]
    continuous: IntArray
    signature: IntArray
    node: IntArray

    def __len__(self) -> int:
        return len(self.width)

    def at(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> States:
        """Some of the states."""
        costs = tuple(cost[index] for cost in self.costs)
        return States(self.width[index], costs, self.continuous[index], self.signature[index], self.node[index])


def concatenated(parts: list[States]) -> States:
    """Several lists as one, in order."""
    if len(parts) == 1:
        return parts[0]
    return States(
        np.concatenate([part.width for part in parts]),
        tuple(np.concatenate(costs) for costs in zip(*(part.costs for part in parts), strict=True)),
        np.concatenate([part.continuous for part in parts]),
        np.concatenate([part.signature for part in parts]),
        np.concatenate([part.node for part in parts]),
    )


def initial_state(relaxations: int) -> States:
    """The one state in which nothing is taken."""
    zero = np.zeros(1, dtype=np.int64)
    return States(zero, (zero,) * relaxations, zero + NO_CONTINUOUS, zero, zero - 1)


def run_start_mask(*columns: IntArray) -> NDArray[np.bool_]:
    """Where a combination of values begins in columns whose like ones stand together."""
    new = np.ones(len(columns[0]), dtype=np.bool_)
    np.not_equal(columns[0][1:], columns[0][:-1], out=new[1:])
    for column in columns[1:]:
        new[1:] |= column[1:] != column[:-1]
    return new


def cheapest_of_equals(states: States, count: int) -> States:
    """The `count` cheapest states that differ in pieces, of each width and strip: for a sum to be met exactly."""
    if len(states) < 2:
        return states
    # Widths stay below 2^34 nm, 17 m, so that strip and width fit one number.
    place = ((states.continuous + 1) << WIDTH_BITS) + states.width
    if count == 1:
        order = np.lexsort((states.costs[0], place))
        return states.at(order[run_start_mask(place[order])])
    order = np.lexsort((states.costs[0], states.signature, place))
    order = order[run_start_mask(place[order], states.signature[order])]
    order = order[np.lexsort((states.costs[0][order], place[order]))]
    return states.at(order[_rank_in_run(run_start_mask(place[order])) < count])


def _rank_in_run(begins: NDArray[np.bool_]) -> IntArray:
    """How many stand before each in its run, of runs that begin there."""
    here: IntArray = np.arange(len(begins), dtype=np.int64)
    return here - np.maximum.accumulate(np.where(begins, here, 0))


def non_dominated(states: States, count: int) -> NDArray[np.intp]:
    """Every state that fewer than `count` states of other pieces beat, and few more: for a sum that need only reach.

    To beat is to be as wide and to cost no more. Told as where they stand, widest first.
    """
    cost = states.costs[0]
    if len(states) < 2:
        return np.arange(len(states))
    if count == 1:
        order = np.lexsort((cost, -states.width))
        return order[_strict_minima(cost[order])]
    order = np.lexsort((cost, -states.width, states.signature))
    # First no state that one of the same pieces beats. Each run of the same pieces is sunk below all runs before it.
    rank = np.empty(len(order), dtype=np.int64)
    rank[np.argsort(cost[order], kind="stable")] = np.arange(len(order))
    order = order[_strict_minima(rank - np.cumsum(run_start_mask(states.signature[order])) * len(order))]
    order = order[np.lexsort((cost[order], -states.width[order]))]
    # Now states of the same pieces do not beat each other. So who is beaten in each of `count` rounds is beaten by
    # `count` states, each of which beats the next: all are of different pieces.
    kept = np.zeros(len(order), dtype=np.bool_)
    left = np.arange(len(order))
    for _ in range(count):
        best = _strict_minima(cost[order[left]])
        kept[left[best]] = True
        left = left[~best]
        if not len(left):
            break
    return order[kept]


def _strict_minima(values: IntArray) -> NDArray[np.bool_]:
    """Where a value is less than all before it."""
    falls = np.ones(len(values), dtype=np.bool_)
    falls[1:] = values[1:] < np.minimum.accumulate(values)[:-1]
    return falls


class SignatureTable:
    """Numbers for which pieces are taken: the same just where as many of every kind are."""

    def __init__(self) -> None:
        self._span = 1

    def reserve(self, states: States, multiplicity: int) -> tuple[States, int]:
        """The states, perhaps numbered anew, and what one piece more of a kind with so many copies adds."""
        if self._span * (multiplicity + 1) > MAX_SIGNATURE:
            different, numbers = np.unique(states.signature, return_inverse=True)
            states = replace(states, signature=numbers.astype(np.int64))
            self._span = max(len(different), 1)
        piece = self._span
        self._span *= multiplicity + 1
        return states, piece


class BackPointers:
    """From which state, by which step, each state came."""

    def __init__(self) -> None:
        self._firsts: list[int] = []
        self._parents: list[IntArray] = []
        self._steps: list[IntArray] = []
        self._size = 0

    def append(self, parents: IntArray, steps: IntArray) -> IntArray:
        """New nodes, one for each parent and step."""
        self._firsts.append(self._size)
        self._parents.append(parents)
        self._steps.append(steps)
        nodes: IntArray = np.arange(self._size, self._size + len(parents), dtype=np.int64)
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
