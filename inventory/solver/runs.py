"""Runs of equal values in sorted columns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]


def run_start_mask(*columns: IntArray) -> NDArray[np.bool_]:
    """Where a combination of values begins, in columns whose equal combinations are adjacent."""
    new = np.ones(len(columns[0]), dtype=np.bool_)
    np.not_equal(columns[0][1:], columns[0][:-1], out=new[1:])
    for column in columns[1:]:
        new[1:] |= column[1:] != column[:-1]
    return new


def run_starts(column: IntArray) -> NDArray[np.intp]:
    """The indices where a value begins, in a column whose equal values are adjacent."""
    return np.flatnonzero(run_start_mask(column))


def rank_in_run(starts: NDArray[np.bool_]) -> IntArray:
    """How many entries precede each one in its run; `starts` marks the first entry of every run."""
    index: IntArray = np.arange(len(starts), dtype=np.int64)
    return index - np.maximum.accumulate(np.where(starts, index, 0))


def cheapest_of_each(cost: IntArray, *keys: IntArray) -> NDArray[np.intp]:
    """The index of the cheapest entry of each combination of keys, cheapest first."""
    order = np.lexsort((cost, *keys))
    order = order[run_start_mask(*(key[order] for key in keys))]
    return order[np.argsort(cost[order], kind="stable")]
