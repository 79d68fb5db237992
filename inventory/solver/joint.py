"""Several parts filled from one rack: each piece serves one part only (cutting model, section 7).

Method: every part is searched by itself. Where no lot is asked for more pieces than
it has, that is the best there is. Where one is, the cases are parted: in each, one of
the parts gets fewer pieces of that lot (branch and bound; the sum of the parts' own
best is the bound). Proven unless there were more than MOST_CASES cases; then the
least bound of the open cases says how far from the best the answer can be at most.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np

from inventory.solver.core_problem import MOST_STATES
from inventory.solver.problem import Cost, Cover, Covers, Ints, Task
from inventory.solver.search import best_covers

SMALL_RACK = 60
"""Up to so many lots the cases are followed to the end."""
MOST_CASES = 300
FEW_CASES = 20
"""So many cases are followed once a search in one of them had to be cut short."""

Limits = dict[tuple[int, int], int]
"""By part and row: the most pieces that the part may take."""


@dataclass(frozen=True)
class Joint:
    """One cover for each part; together they take no piece twice."""

    covers: tuple[Cover, ...]

    @property
    def cost(self) -> Cost:
        return sum(each.first for each in self.covers), sum(each.second for each in self.covers)

    @property
    def touched(self) -> frozenset[tuple[int, int]]:
        """How many pieces of each row are taken, for whichever part."""
        taken = Counter(pick.row for cover in self.covers for pick in cover.picks)
        return frozenset(taken.items())


@dataclass(frozen=True)
class JointAnswer:
    """The best joint covers, best first.

    `bounds` holds for each a proven lower bound of its first cost; where `proven`, it
    is the best of all that differ from the earlier ones.
    """

    joints: tuple[Joint, ...]
    bounds: tuple[int, ...]
    proven: tuple[bool, ...]


def best_together(
    tasks: Sequence[Task],
    count: int,
    *,
    fewest: bool = False,
    most_states: int = MOST_STATES,
    limits: Sequence[Cost | None] = (),
) -> JointAnswer:
    """The best joint covers of the tasks, whose rows are the same lots; none if they can't all be filled.

    `limits`, where given, are by task what the last of its own `count` best covers costs at most, if known.
    """
    limits = limits or (None,) * len(tasks)
    if len(tasks) > 1 and _share_a_row(tasks):
        return _Cases(tasks, fewest, most_states).best(count)
    lists = [
        best_covers(task, count, fewest=fewest, most_states=most_states, limit=limit)
        for task, limit in zip(tasks, limits, strict=True)
    ]
    return best_apart(lists, count)


def _share_a_row(tasks: Sequence[Task]) -> bool:
    """Whether some lot could serve two of the tasks."""
    rows = np.concatenate([np.unique(task.choices.row) for task in tasks])
    return len(np.unique(rows)) < len(rows)


def best_apart(lists: Sequence[Covers], count: int) -> JointAnswer:
    """For parts that share no lot: the best sums of the parts' own best covers, in order."""
    if not all(each.covers for each in lists):
        return JointAnswer((), (), ())
    proven = all(each.proven for each in lists)
    joints: list[Joint] = []
    first = (0,) * len(lists)
    waiting = [(_sum(lists, first), first)]
    seen = {first}
    while waiting and len(joints) < count:
        _, places = heapq.heappop(waiting)
        joints.append(Joint(tuple(each.covers[place] for each, place in zip(lists, places, strict=True))))
        for part, each in enumerate(lists):
            further = (*places[:part], places[part] + 1, *places[part + 1 :])
            if further[part] < len(each.covers) and further not in seen:
                seen.add(further)
                heapq.heappush(waiting, (_sum(lists, further), further))
    floor = sum(each.bound for each in lists)
    return JointAnswer(
        tuple(joints), tuple(each.cost[0] if proven else floor for each in joints), (proven,) * len(joints)
    )


def _sum(lists: Sequence[Covers], places: Sequence[int]) -> Cost:
    chosen = [each.covers[place] for each, place in zip(lists, places, strict=True)]
    return sum(each.first for each in chosen), sum(each.second for each in chosen)


class _Cases:
    """Branch and bound over which part gets how many pieces of a lot that several want."""

    def __init__(self, tasks: Sequence[Task], fewest: bool, most_states: int) -> None:
        self.tasks = tasks
        self.fewest = fewest
        self.most_states = most_states
        self.known: dict[tuple[int, frozenset[tuple[int, int]]], tuple[Cover | None, bool]] = {}
        self.exact = True

    def best(self, count: int) -> JointAnswer:
        root = self._relaxed({})
        if root is None:
            return JointAnswer((), (), ())
        held = {each.touched: each for each in self._in_turn()}
        waiting: list[tuple[Cost, int, Joint, Limits]] = [(root.cost, 0, root, {})]
        opened, cases = 0, 0
        most = len(np.unique(np.concatenate([task.choices.row for task in self.tasks])))
        limit = None if most <= SMALL_RACK else MOST_CASES
        found: list[Joint] = []
        seen: set[frozenset[tuple[tuple[int, int], int]]] = {frozenset()}
        bounds: list[int] = []
        while waiting and len(found) < count and (limit is None or cases < limit):
            if not self.exact and cases >= FEW_CASES:
                break
            cost, _, joint, limits = heapq.heappop(waiting)
            cases += 1
            over = self._overtaken(joint)
            if over is None:
                if joint.touched not in {each.touched for each in found}:
                    found.append(joint)
                    bounds.append(cost[0])
                branches = self._without(joint)
                if len(found) == count:
                    break
            else:
                branches = over
            for part, row, many in branches:
                further = {**limits, (part, row): min(many, limits.get((part, row), many))}
                key = frozenset(further.items())
                if key in seen:
                    continue
                seen.add(key)
                relaxed = self._relaxed(further)
                if relaxed is not None:
                    opened += 1
                    heapq.heappush(waiting, (relaxed.cost, opened, relaxed, further))
        proven = [self.exact and place == 0 for place in range(len(found))]
        floor = waiting[0][0][0] if waiting else (bounds[-1] if bounds else 0)
        for each in sorted(held.values(), key=lambda joint: joint.cost):
            if len(found) < count and each.touched not in {other.touched for other in found}:
                found.append(each)
                bounds.append(min(floor, each.cost[0]))
                proven.append(False)
        return JointAnswer(tuple(found), tuple(bounds), tuple(proven))

    def _relaxed(self, limits: Limits) -> Joint | None:
        """Each part's own best within its limits."""
        covers = []
        for part in range(len(self.tasks)):
            own = frozenset((row, many) for (whose, row), many in limits.items() if whose == part)
            cover = self._own_best(part, own)
            if cover is None:
                return None
            covers.append(cover)
        return Joint(tuple(covers))

    def _own_best(self, part: int, limits: frozenset[tuple[int, int]]) -> Cover | None:
        if (part, limits) not in self.known:
            copies = self.tasks[part].copies.copy()
            for row, many in limits:
                copies[row] = min(copies[row], many)
            covers = best_covers(limited(self.tasks[part], copies), 1, fewest=self.fewest, most_states=self.most_states)
            self.known[part, limits] = (covers.covers[0] if covers.covers else None, covers.proven)
        cover, proven = self.known[part, limits]
        self.exact &= proven
        return cover

    def _overtaken(self, joint: Joint) -> list[tuple[int, int, int]] | None:
        """The cases in which a lot is no longer asked for more pieces than it has; None if none is."""
        taken = Counter((pick.row, part) for part, cover in enumerate(joint.covers) for pick in cover.picks)
        by_row = Counter(pick.row for cover in joint.covers for pick in cover.picks)
        over = [row for row, many in by_row.items() if many > self.tasks[0].copies[row]]
        if not over:
            return None
        row = max(over, key=lambda each: (by_row[each] - int(self.tasks[0].copies[each]), -each))
        return [(part, row, many - 1) for (where, part), many in taken.items() if where == row]

    def _without(self, joint: Joint) -> list[tuple[int, int, int]]:
        """The cases that differ from a joint cover by fewer pieces of one of its lots."""
        taken = Counter((part, pick.row) for part, cover in enumerate(joint.covers) for pick in cover.picks)
        return [(part, row, many - 1) for (part, row), many in taken.items()]

    def _in_turn(self) -> list[Joint]:
        """Good joint covers: the parts one after another, in several orders."""
        joints = [
            _one_after_another(self.tasks, order, self.fewest, self.most_states) for order in _orders(len(self.tasks))
        ]
        return [each for each in joints if each is not None]


def can_be_filled_in_turn(tasks: Sequence[Task]) -> bool:
    """Whether the parts, filled one after another in some order, all find their strips."""
    return any(_one_after_another(tasks, order, False, MOST_STATES) is not None for order in _orders(len(tasks)))


def _orders(parts: int) -> list[tuple[int, ...]]:
    """Every order of up to three parts; of more, each part once first."""
    if parts <= 3:
        return list(permutations(range(parts)))
    return [(*range(first, parts), *range(first)) for first in range(parts)]


def _one_after_another(tasks: Sequence[Task], order: Sequence[int], fewest: bool, most_states: int) -> Joint | None:
    left = tasks[0].copies.copy()
    covers: dict[int, Cover] = {}
    for part in order:
        best = best_covers(limited(tasks[part], left), 1, fewest=fewest, most_states=most_states).covers
        if not best:
            return None
        covers[part] = best[0]
        for pick in best[0].picks:
            left[pick.row] -= 1
    return Joint(tuple(covers[part] for part in range(len(tasks))))


def limited(task: Task, copies: Ints) -> Task:
    """The task with fewer pieces of some rows; rows without any are left out."""
    keep = copies[task.choices.row] > 0
    strips = task.free_strips
    return replace(
        task,
        choices=task.choices.only(keep),
        copies=copies,
        free_strips=None if strips is None else strips.only(copies[strips.row] > 0),
    )
