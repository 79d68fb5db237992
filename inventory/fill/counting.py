"""How many of these boards are in the rack (cutting model, section 8).

Method: an upper bound from what every pool could reach at most; then as many boards
as the greedy hand of `inventory.fill.bins` can share the strips out to, and from there
upwards as long as a batch is found. The answer says how far from the most it can be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from inventory.fill.answer import fill_rack
from inventory.fill.batch import group_parts
from inventory.fill.glue_ups import glue_ups_of
from inventory.fill.lots import Lots, lots_of
from inventory.fill.parts import Part, rows_for
from inventory.fill.plan import Plan
from inventory.fill.request import MOST_BOARDS, BoardRequest
from inventory.pieces import Offcut

MOST_POOLS_COMBINED = 4


@dataclass(frozen=True)
class Count:
    """So far `boards` boards are in the rack, with their plan, and never more than `at_most`."""

    boards: int
    at_most: int
    plan: Plan | None

    @property
    def settled(self) -> bool:
        """Whether no better answer can exist."""
        return self.boards >= self.at_most


def count_boards(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[Count]:
    """Better and better answers, the last one the best that is found; stop whenever it is good enough.

    The request's `count` does not matter; an end-grain request has its row depth chosen.
    Only the first preference is followed, since all wood that helps will be used.
    """
    one = replace(request, count=1, prefer=request.prefer[:1], fills=1)
    lots = lots_of(rack, one.allowances, one.on, by_age=False)
    at_most = min(most_boards(one, lots), MOST_BOARDS)
    best = Count(0, at_most, None)
    yield best
    low, high = 0, at_most
    step = max(at_most // 50, 1)
    asked = at_most
    while low < high:
        plan = fill_rack(rack, replace(one, count=asked))
        if plan.fills:
            low = asked
            best = Count(asked, at_most, plan)
        else:
            high = asked - 1
        yield Count(best.boards, max(best.boards, min(at_most, best.at_most)), best.plan)
        asked = max(high - step, (low + high + 1) // 2) if low == 0 else (low + high + 1) // 2


def most_boards(request: BoardRequest, lots: Lots) -> int:
    """More boards than this can't be in the lots: by every pool, and by pools that share wood together."""
    parts = [each.part for each in group_parts(glue_ups_of([request]))]
    bounds = [MOST_BOARDS]
    for many in range(1, min(len(parts), MOST_POOLS_COMBINED) + 1):
        for chosen in combinations(parts, many):
            if many > 1 and any(part.demand.accent is not None for part in chosen):
                continue
            bounds.append(_reach(chosen, lots) // sum(part.demand.target for part in chosen))
    return min(bounds)


def _reach(parts: Sequence[Part], lots: Lots) -> int:
    """What the lots add to these parts together at most, each lot to the part to which it adds most."""
    most = np.zeros(len(lots.members), dtype=np.int64)
    for part in parts:
        rows = rows_for(part, lots)
        reach = part.construction.capacities(lots.columns.rows(rows), part.glue_up)
        most[rows] = np.maximum(most[rows], reach)
    return int((most * lots.columns.count).sum())
