"""Lists of states of the dynamic program, and dominance between them.

A state is a partial solution. For the k best solutions it is dropped where k states of other item-set signatures
dominate it: whatever completes it completes those too. A state of the same signature as a better one is always dropped.

Lists of Pareto-optimal states in place of a table indexed by the sum: G. L. Nemhauser and Z. Ullmann, Discrete dynamic
programming and capital allocation, Management Science 15(9), 1969; from memory. Cost: a sort of each list.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.runs import IntArray, rank_in_run, run_start_mask

MAX_SIGNATURE = 1 << 62


@dataclass(frozen=True)
class States:
    """Partial solutions as columns: width so far, one cost column for each relaxation, back-pointer.

    Two states of one list have the same number in `signature` if and only if their item-set signatures are equal.
    """

    width: IntArray
    costs: tuple[IntArray, ...]
    signature: IntArray
    node: IntArray

    def __len__(self) -> int:
        return len(self.width)

    def at(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> States:
        """The states at these indices, or where the mask is true."""
        costs = tuple(cost[index] for cost in self.costs)
        return States(self.width[index], costs, self.signature[index], self.node[index])


def concatenated(parts: list[States]) -> States:
    """Several lists as one."""
    if len(parts) == 1:
        return parts[0]
    return States(
        np.concatenate([part.width for part in parts]),
        tuple(np.concatenate(costs) for costs in zip(*(part.costs for part in parts), strict=True)),
        np.concatenate([part.signature for part in parts]),
        np.concatenate([part.node for part in parts]),
    )


def initial_state(relaxations: int) -> States:
    """A list of one state, in which nothing is taken."""
    zero = np.zeros(1, dtype=np.int64)
    return States(zero, (zero,) * relaxations, zero, zero - 1)


def cheapest_of_equals(states: States, count: int) -> States:
    """The `count` cheapest states of different signatures for each width.

    This is dominance where a wider state does not replace a narrower one.
    """
    if len(states) < 2:
        return states
    width = states.width
    if count == 1:
        order = np.lexsort((states.costs[0], width))
        return states.at(order[run_start_mask(width[order])])
    order = np.lexsort((states.costs[0], states.signature, width))
    order = order[run_start_mask(width[order], states.signature[order])]
    order = order[np.lexsort((states.costs[0][order], width[order]))]
    return states.at(order[rank_in_run(run_start_mask(width[order])) < count])


def non_dominated(states: States, count: int) -> NDArray[np.intp]:
    """The indices, widest first, of states that fewer than `count` states of other signatures dominate, and few more.

    A state dominates another if it is at least as wide and costs no more. This holds where the sum may exceed the
    target. `count` is k, the number of solutions wanted; with 1 the result is the Pareto frontier.
    """
    cost = states.costs[0]
    if len(states) < 2:
        return np.arange(len(states))
    if count == 1:
        order = np.lexsort((cost, -states.width))
        return order[_strict_minima(cost[order])]
    order = np.lexsort((cost, -states.width, states.signature))
    # First drop states dominated by one of the same signature. Ranks of each signature are shifted below all earlier
    # ones, so that one running minimum serves all.
    rank = np.empty(len(order), dtype=np.int64)
    rank[np.argsort(cost[order], kind="stable")] = np.arange(len(order))
    order = order[_strict_minima(rank - np.cumsum(run_start_mask(states.signature[order])) * len(order))]
    order = order[np.lexsort((cost[order], -states.width[order]))]
    # Peel off `count` frontiers. What is left is dominated by a chain of `count` states, each of which dominates the
    # next. States of one signature no longer dominate each other, so the chain has `count` different signatures.
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
    """Whether each value is less than all values before it."""
    falls = np.ones(len(values), dtype=np.bool_)
    falls[1:] = values[1:] < np.minimum.accumulate(values)[:-1]
    return falls


class SignatureTable:
    """Numbers item-set signatures: a mixed-radix number with one digit for each item class."""

    def __init__(self) -> None:
        self._span = 1

    def reserve(self, states: States, multiplicity: int) -> tuple[States, int]:
        """Adds a digit for a class of this multiplicity; returns the states and the value of one item in that digit.

        Where the numbers would exceed `MAX_SIGNATURE`, the states are renumbered first.
        """
        if self._span * (multiplicity + 1) > MAX_SIGNATURE:
            different, numbers = np.unique(states.signature, return_inverse=True)
            states = replace(states, signature=numbers.astype(np.int64))
            self._span = max(len(different), 1)
        digit = self._span
        self._span *= multiplicity + 1
        return states, digit


class BackPointers:
    """The parent and the last step of every state that was made, in chunks."""

    def __init__(self) -> None:
        self._firsts: list[int] = []
        self._parents: list[IntArray] = []
        self._steps: list[IntArray] = []
        self._size = 0

    def append(self, parents: IntArray, steps: IntArray) -> IntArray:
        """Adds one node for each parent and step, and returns the new nodes."""
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
            offset = node - self._firsts[chunk]
            steps.append(int(self._steps[chunk][offset]))
            node = int(self._parents[chunk][offset])
        return steps
