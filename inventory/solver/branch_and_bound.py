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

from inventory.solver.core_problem import MAX_STATES
from inventory.solver.problem import Cost, IntArray, Problem, Solution, Solutions
from inventory.solver.search import best_solutions

FEW_ITEM_CLASSES = 60
"""Up to so many lots the cases are followed to the end."""
MAX_NODES = 300
FEW_NODES = 20
"""So many cases are followed once a search in one of them had to be cut short."""

Limits = dict[tuple[int, int], int]
"""By part and row: the most pieces that the part may take."""


@dataclass(frozen=True)
class JointSolution:
    """One cover for each part; together they take no piece twice."""

    solutions: tuple[Solution, ...]

    @property
    def cost(self) -> Cost:
        return sum(each.first for each in self.solutions), sum(each.second for each in self.solutions)

    @property
    def signature(self) -> frozenset[tuple[int, int]]:
        """How many pieces of each row are taken, for whichever part."""
        taken = Counter(selection.row for solution in self.solutions for selection in solution.selections)
        return frozenset(taken.items())


@dataclass(frozen=True)
class JointSolutions:
    """The best joint covers, best first.

    `lower_bounds` holds for each a proven lower bound of its first cost; where `proven`, it
    is the best of all that differ from the earlier ones.
    """

    joint_solutions: tuple[JointSolution, ...]
    lower_bounds: tuple[int, ...]
    proven: tuple[bool, ...]


def solve_jointly(
    problems: Sequence[Problem],
    count: int,
    *,
    fewest_items: bool = False,
    max_states: int = MAX_STATES,
    limits: Sequence[Cost | None] = (),
) -> JointSolutions:
    """The best joint covers of the tasks, whose rows are the same lots; none if they can't all be filled.

    `limits`, where given, are by task what the last of its own `count` best covers costs at most, if known.
    """
    limits = limits or (None,) * len(problems)
    if len(problems) > 1 and _share_items(problems):
        return _BranchAndBound(problems, fewest_items, max_states).best(count)
    lists = [
        best_solutions(problem, count, fewest_items=fewest_items, max_states=max_states, limit=limit)
        for problem, limit in zip(problems, limits, strict=True)
    ]
    return combine_independent(lists, count)


def _share_items(problems: Sequence[Problem]) -> bool:
    """Whether some lot could serve two of the tasks."""
    rows = np.concatenate([np.unique(problem.alternatives.row) for problem in problems])
    return len(np.unique(rows)) < len(rows)


def combine_independent(lists: Sequence[Solutions], count: int) -> JointSolutions:
    """For parts that share no lot: the best sums of the parts' own best covers, in order."""
    if not all(each.solutions for each in lists):
        return JointSolutions((), (), ())
    proven = all(each.proven for each in lists)
    joint_solutions: list[JointSolution] = []
    first = (0,) * len(lists)
    waiting = [(_sum(lists, first), first)]
    seen = {first}
    while waiting and len(joint_solutions) < count:
        _, places = heapq.heappop(waiting)
        joint_solutions.append(
            JointSolution(tuple(each.solutions[place] for each, place in zip(lists, places, strict=True)))
        )
        for part, each in enumerate(lists):
            further = (*places[:part], places[part] + 1, *places[part + 1 :])
            if further[part] < len(each.solutions) and further not in seen:
                seen.add(further)
                heapq.heappush(waiting, (_sum(lists, further), further))
    lower_bound = sum(each.lower_bound for each in lists)
    return JointSolutions(
        tuple(joint_solutions),
        tuple(each.cost[0] if proven else lower_bound for each in joint_solutions),
        (proven,) * len(joint_solutions),
    )


def _sum(lists: Sequence[Solutions], places: Sequence[int]) -> Cost:
    chosen = [each.solutions[place] for each, place in zip(lists, places, strict=True)]
    return sum(each.first for each in chosen), sum(each.second for each in chosen)


class _BranchAndBound:
    """Branch and bound over which part gets how many pieces of a lot that several want."""

    def __init__(self, problems: Sequence[Problem], fewest_items: bool, max_states: int) -> None:
        self.problems = problems
        self.fewest_items = fewest_items
        self.max_states = max_states
        self.cache: dict[tuple[int, frozenset[tuple[int, int]]], tuple[Solution | None, bool]] = {}
        self.exact = True

    def best(self, count: int) -> JointSolutions:
        root = self._relaxation({})
        if root is None:
            return JointSolutions((), (), ())
        fallbacks = {each.signature: each for each in self._sequential()}
        waiting: list[tuple[Cost, int, JointSolution, Limits]] = [(root.cost, 0, root, {})]
        opened, nodes = 0, 0
        most = len(np.unique(np.concatenate([problem.alternatives.row for problem in self.problems])))
        limit = None if most <= FEW_ITEM_CLASSES else MAX_NODES
        found: list[JointSolution] = []
        seen: set[frozenset[tuple[tuple[int, int], int]]] = {frozenset()}
        bounds: list[int] = []
        while waiting and len(found) < count and (limit is None or nodes < limit):
            if not self.exact and nodes >= FEW_NODES:
                break
            cost, _, joint, limits = heapq.heappop(waiting)
            nodes += 1
            over = self._conflict_branches(joint)
            if over is None:
                if joint.signature not in {each.signature for each in found}:
                    found.append(joint)
                    bounds.append(cost[0])
                branches = self._excluding_branches(joint)
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
                relaxed = self._relaxation(further)
                if relaxed is not None:
                    opened += 1
                    heapq.heappush(waiting, (relaxed.cost, opened, relaxed, further))
        proven = [self.exact and place == 0 for place in range(len(found))]
        lower_bound = waiting[0][0][0] if waiting else (bounds[-1] if bounds else 0)
        for each in sorted(fallbacks.values(), key=lambda joint: joint.cost):
            if len(found) < count and each.signature not in {other.signature for other in found}:
                found.append(each)
                bounds.append(min(lower_bound, each.cost[0]))
                proven.append(False)
        return JointSolutions(tuple(found), tuple(bounds), tuple(proven))

    def _relaxation(self, limits: Limits) -> JointSolution | None:
        """Each part's own best within its limits."""
        solutions = []
        for part in range(len(self.problems)):
            own = frozenset((row, many) for (whose, row), many in limits.items() if whose == part)
            solution = self._own_best(part, own)
            if solution is None:
                return None
            solutions.append(solution)
        return JointSolution(tuple(solutions))

    def _own_best(self, part: int, limits: frozenset[tuple[int, int]]) -> Solution | None:
        if (part, limits) not in self.cache:
            multiplicity = self.problems[part].multiplicity.copy()
            for row, many in limits:
                multiplicity[row] = min(multiplicity[row], many)
            solutions = best_solutions(
                with_multiplicity(self.problems[part], multiplicity),
                1,
                fewest_items=self.fewest_items,
                max_states=self.max_states,
            )
            self.cache[part, limits] = (solutions.solutions[0] if solutions.solutions else None, solutions.proven)
        solution, proven = self.cache[part, limits]
        self.exact &= proven
        return solution

    def _conflict_branches(self, joint: JointSolution) -> list[tuple[int, int, int]] | None:
        """The cases in which a lot is no longer asked for more pieces than it has; None if none is."""
        taken = Counter(
            (selection.row, part) for part, solution in enumerate(joint.solutions) for selection in solution.selections
        )
        by_row = Counter(selection.row for solution in joint.solutions for selection in solution.selections)
        over = [row for row, many in by_row.items() if many > self.problems[0].multiplicity[row]]
        if not over:
            return None
        row = max(over, key=lambda each: (by_row[each] - int(self.problems[0].multiplicity[each]), -each))
        return [(part, row, many - 1) for (where, part), many in taken.items() if where == row]

    def _excluding_branches(self, joint: JointSolution) -> list[tuple[int, int, int]]:
        """The cases that differ from a joint cover by fewer pieces of one of its lots."""
        taken = Counter(
            (part, selection.row) for part, solution in enumerate(joint.solutions) for selection in solution.selections
        )
        return [(part, row, many - 1) for (part, row), many in taken.items()]

    def _sequential(self) -> list[JointSolution]:
        """Good joint covers: the parts one after another, in several orders."""
        joint_solutions = [
            _solve_in_sequence(self.problems, order, self.fewest_items, self.max_states)
            for order in _orders(len(self.problems))
        ]
        return [each for each in joint_solutions if each is not None]


def is_feasible_in_sequence(problems: Sequence[Problem]) -> bool:
    """Whether the parts, filled one after another in some order, all find their strips."""
    return any(_solve_in_sequence(problems, order, False, MAX_STATES) is not None for order in _orders(len(problems)))


def _orders(parts: int) -> list[tuple[int, ...]]:
    """Every order of up to three parts; of more, each part once first."""
    if parts <= 3:
        return list(permutations(range(parts)))
    return [(*range(first, parts), *range(first)) for first in range(parts)]


def _solve_in_sequence(
    problems: Sequence[Problem], order: Sequence[int], fewest_items: bool, max_states: int
) -> JointSolution | None:
    left = problems[0].multiplicity.copy()
    solutions: dict[int, Solution] = {}
    for part in order:
        best = best_solutions(
            with_multiplicity(problems[part], left), 1, fewest_items=fewest_items, max_states=max_states
        ).solutions
        if not best:
            return None
        solutions[part] = best[0]
        for selection in best[0].selections:
            left[selection.row] -= 1
    return JointSolution(tuple(solutions[part] for part in range(len(problems))))


def with_multiplicity(problem: Problem, multiplicity: IntArray) -> Problem:
    """The task with fewer pieces of some rows; rows without any are left out."""
    keep = multiplicity[problem.alternatives.row] > 0
    continuous_items = problem.continuous_items
    return replace(
        problem,
        alternatives=problem.alternatives.subset(keep),
        multiplicity=multiplicity,
        continuous_items=None
        if continuous_items is None
        else continuous_items.subset(multiplicity[continuous_items.row] > 0),
    )
