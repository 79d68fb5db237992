"""The best covers one after another, each different from those before.

Knows how the covers that differ from one found are parted into regions. Knows
nothing of how the cheapest of a region is found: that is `inventory.fill.sweep`.
"""

from __future__ import annotations

import heapq
from collections import Counter
from dataclasses import dataclass

from inventory.fill.field import Prepared
from inventory.fill.kinds import Region, Work
from inventory.fill.sweep import Sweep
from inventory.fill.task import Pick


@dataclass(frozen=True)
class Found:
    """A cover found by a sweep: its joint cost, how many pieces of each kind, and its picks."""

    cost: int
    counts: dict[int, int]
    picks: tuple[Pick, ...]


def best_in_order(prepared: Prepared, count: int, most_states: int) -> tuple[list[Found], bool]:
    """The `count` best covers, and whether no sweep had to cut its list."""
    complete = True
    work = Work()
    found: list[Found] = []
    waiting: list[tuple[int, int, Found, Region]] = []
    opened = 0

    def look(region: Region) -> None:
        nonlocal complete, opened
        known = sorted([each.cost for each in found] + [each[0] for each in waiting])
        limit = prepared.budget.joint
        if len(known) >= count:
            limit = known[count - 1] - 1
        sweep = Sweep(prepared.field, region, prepared.budgets(limit), most_states, work)
        cheapest = sweep.cheapest()
        complete &= sweep.complete
        if cheapest is not None:
            opened += 1
            each = _told(prepared, *cheapest)
            heapq.heappush(waiting, (each.cost, opened, each, region))

    look(Region())
    while waiting and len(found) < count:
        _, _, best, region = heapq.heappop(waiting)
        found.append(best)
        if len(found) < count:
            for part in _parts(region, best, prepared):
                if work.left <= 0:
                    complete = False
                    break
                look(part)
    return found, complete


def _told(prepared: Prepared, cost: int, steps: list[int], width: int) -> Found:
    taken: dict[int, list[tuple[int, bool]]] = {}
    for step in steps:
        kind, take, free = prepared.steps[step]
        taken.setdefault(kind, []).append((take, free))
    picks: list[Pick] = []
    for kind, takes in taken.items():
        row = prepared.field.kinds[kind].row
        # The most strips from the first pieces, so that equal covers are told alike.
        for take, free in sorted(takes, key=lambda each: (-each[0], each[1])):
            picks.append(Pick(row, take, width if free else None))
    counts = Counter({kind: len(takes) for kind, takes in taken.items()})
    return Found(cost >> prepared.shift, dict(counts), tuple(picks))


def _parts(region: Region, best: Found, prepared: Prepared) -> list[Region]:
    """The region without the covers that take as many pieces of every kind as `best`, in parts that do not meet."""
    parts: list[Region] = []
    limits = dict(region.limits)
    open_kinds = [kind for kind, (low, high) in region.limits.items() if low < high]
    for kind in dict.fromkeys([*best.counts, *open_kinds]):
        taken = best.counts.get(kind, 0)
        low, high = limits.get(kind, (0, prepared.field.kinds[kind].copies))
        if low < taken:
            parts.append(Region(limits | {kind: (low, taken - 1)}, region.beyond))
        if taken < high:
            parts.append(Region(limits | {kind: (taken + 1, high)}, region.beyond))
        limits[kind] = (taken, taken)
    # What is left: the same pieces of these kinds, and at least one piece of another.
    parts.append(Region(limits, frozenset(limits)))
    return parts
