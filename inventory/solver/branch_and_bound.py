"""Several problems that share their items: an item serves one problem only.

Method: branch and bound (A. H. Land and A. G. Doig, An automatic method of solving discrete programming problems,
Econometrica 28(3), 1960; from memory), best bound first. The relaxation lets every problem use all items, so it is the
sum of the problems' own optimal solutions. Where more items of a class are taken than there are, each branch gives one
of the problems fewer of them. Where no problem takes an item of a mandatory class, it is made mandatory in the first
problem, or forbidden there and mandatory in the second, and so on. Cost: one search by `search` for each problem whose
items a node limits; the number of nodes is exponential in the worst case. Optimal unless the node limit or a work limit
ended it; then the least bound of the open nodes is a lower bound."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np

from inventory.solver.core_problem import MAX_STATES
from inventory.solver.problem import Cost, IntArray, ItemSet, Problem, Solution, Solutions
from inventory.solver.search import best_solutions

FEW_ITEM_CLASSES = 60
"""Up to so many item classes the number of nodes is not limited."""
MAX_NODES = 300
FEW_NODES = 20
"""The limit once the search of a node was cut."""

UNLIMITED = 1 << 62

Limit = tuple[int, int]
"""The least and the most items of a class that a problem may take; the least is 0 or 1."""

Limits = dict[tuple[int, int], Limit]
"""By problem and item class: how many items the problem may take, where that is limited."""


@dataclass(frozen=True)
class JointSolution:
    """One solution of each problem; together they take no more items than there are."""

    solutions: tuple[Solution, ...]

    @property
    def cost(self) -> Cost:
        return _total_cost(self.solutions)

    @property
    def signature(self) -> ItemSet:
        """How many items of each class are taken, by any of the problems."""
        return frozenset(Counter(each.row for solution in self.solutions for each in solution.selections).items())


@dataclass(frozen=True)
class JointSolutions:
    """The k best joint solutions, best first.

    By solution: `lower_bounds`, a proven lower bound of its first cost, and `proven`, whether it is optimal among those
    whose signature differs from all earlier ones.
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
    mandatory: IntArray | None = None,
) -> JointSolutions:
    """The `count` best joint solutions of problems with the same item classes; none if they are infeasible together.

    `limits` are by problem a known upper bound of the cost of the last of its own `count` best solutions, or None. Of
    each class in `mandatory` some problem takes an item.
    """
    limits = limits or (None,) * len(problems)
    assigned = assign_mandatory(problems, () if mandatory is None else mandatory.tolist())
    if assigned is None:
        return JointSolutions((), (), ())
    problems, contested = assigned
    if len(problems) > 1 and _share_items(problems):
        return _BranchAndBound(problems, contested, fewest_items, max_states).best(count)
    lists = [
        best_solutions(problem, count, fewest_items=fewest_items, max_states=max_states, limit=limit)
        for problem, limit in zip(problems, limits, strict=True)
    ]
    return combine_independent(lists, count)


def assign_mandatory(
    problems: Sequence[Problem], mandatory: Sequence[int]
) -> tuple[list[Problem], tuple[int, ...]] | None:
    """The problems with the mandatory classes that only one of them can take, and the other mandatory classes.

    None where no problem can take an item of one of the classes.
    """
    own: list[list[int]] = [problem.mandatory.tolist() for problem in problems]
    contested = []
    for row in mandatory:
        takers = [number for number, problem in enumerate(problems) if problem.has_alternatives(row)]
        if not takers:
            return None
        if len(takers) == 1:
            own[takers[0]].append(row)
        else:
            contested.append(row)
    return [_with_mandatory(problem, rows) for problem, rows in zip(problems, own, strict=True)], tuple(contested)


def _with_mandatory(problem: Problem, rows: Sequence[int]) -> Problem:
    return replace(problem, mandatory=np.unique(np.array(rows, dtype=np.int64)))


def combine_independent(lists: Sequence[Solutions], count: int) -> JointSolutions:
    """The `count` best joint solutions of problems that share no item class, from the best solutions of each."""
    if not all(each.solutions for each in lists):
        return JointSolutions((), (), ())
    proven = all(each.proven for each in lists)
    joint_solutions: list[JointSolution] = []

    def joint_at(ranks: Sequence[int]) -> JointSolution:
        return JointSolution(tuple(each.solutions[rank] for each, rank in zip(lists, ranks, strict=True)))

    first = (0,) * len(lists)
    waiting = [(joint_at(first).cost, first)]
    seen = {first}
    while waiting and len(joint_solutions) < count:
        _, ranks = heapq.heappop(waiting)
        joint_solutions.append(joint_at(ranks))
        for number, each in enumerate(lists):
            following = (*ranks[:number], ranks[number] + 1, *ranks[number + 1 :])
            if following[number] < len(each.solutions) and following not in seen:
                seen.add(following)
                heapq.heappush(waiting, (joint_at(following).cost, following))
    lower_bound = sum(each.lower_bound for each in lists)
    return JointSolutions(
        tuple(joint_solutions),
        tuple(each.cost[0] if proven else lower_bound for each in joint_solutions),
        (proven,) * len(joint_solutions),
    )


def is_feasible_in_sequence(problems: Sequence[Problem], mandatory: Sequence[int] = ()) -> bool:
    """Whether the problems are feasible one after another in some order, each solved by itself from what is left.

    Of each class in `mandatory` some problem takes an item.
    """
    assigned = assign_mandatory(problems, mandatory)
    return assigned is not None and any(
        _solve_in_sequence(assigned[0], assigned[1], order, False, MAX_STATES) is not None
        for order in _orders(len(problems))
    )


def _share_items(problems: Sequence[Problem]) -> bool:
    """Whether items of some class could serve two of the problems."""
    rows = np.concatenate([np.unique(problem.alternatives.row) for problem in problems])
    return len(np.unique(rows)) < len(rows)


def _total_cost(solutions: Sequence[Solution]) -> Cost:
    return sum(each.first for each in solutions), sum(each.second for each in solutions)


class _BranchAndBound:
    """Branches on how many items of a contested class each problem may take, and on which takes a mandatory one."""

    def __init__(
        self, problems: Sequence[Problem], mandatory: Sequence[int], fewest_items: bool, max_states: int
    ) -> None:
        self.problems = problems
        self.mandatory = mandatory
        self.fewest_items = fewest_items
        self.max_states = max_states
        self.cache: dict[tuple[int, frozenset[tuple[int, Limit]]], tuple[Solution | None, bool]] = {}
        self.exact = True

    def best(self, count: int) -> JointSolutions:
        """The `count` best joint solutions; where nodes run out, heuristic ones complete the list."""
        root = self._relaxation({})
        if root is None:
            return JointSolutions((), (), ())
        incumbents = {each.signature: each for each in self._sequential()}
        # A node: its bound, a number that breaks ties, its relaxed solution, its limits.
        waiting: list[tuple[Cost, int, JointSolution, Limits]] = [(root.cost, 0, root, {})]
        made, visited = 0, 0
        classes = len(np.unique(np.concatenate([problem.alternatives.row for problem in self.problems])))
        max_nodes = None if classes <= FEW_ITEM_CLASSES else MAX_NODES
        found: dict[ItemSet, JointSolution] = {}
        lower_bounds: list[int] = []
        seen: set[frozenset[tuple[tuple[int, int], Limit]]] = {frozenset()}
        while waiting and len(found) < count and (max_nodes is None or visited < max_nodes):
            if not self.exact and visited >= FEW_NODES:
                break
            cost, _, joint, limits = heapq.heappop(waiting)
            visited += 1
            branches = self._conflict_branches(joint) or self._mandatory_branches(joint)
            if branches is None:
                if joint.signature not in found:
                    found[joint.signature] = joint
                    lower_bounds.append(cost[0])
                branches = self._excluding_branches(joint)
                if len(found) == count:
                    break
            for branch in branches:
                further = _narrowed(limits, branch)
                key = frozenset() if further is None else frozenset(further.items())
                if further is None or key in seen:
                    continue
                seen.add(key)
                relaxed = self._relaxation(further)
                if relaxed is not None:
                    made += 1
                    heapq.heappush(waiting, (relaxed.cost, made, relaxed, further))
        proven = [self.exact and place == 0 for place in range(len(found))]
        lower_bound = waiting[0][0][0] if waiting else (lower_bounds[-1] if lower_bounds else 0)
        for each in sorted(incumbents.values(), key=lambda joint: joint.cost):
            if len(found) < count and each.signature not in found:
                found[each.signature] = each
                lower_bounds.append(min(lower_bound, each.cost[0]))
                proven.append(False)
        return JointSolutions(tuple(found.values()), tuple(lower_bounds), tuple(proven))

    def _relaxation(self, limits: Limits) -> JointSolution | None:
        """Each problem's own optimal solution within its limits; None if one of them is infeasible."""
        solutions = []
        for number in range(len(self.problems)):
            own = frozenset((row, limit) for (which, row), limit in limits.items() if which == number)
            solution = self._own_best(number, own)
            if solution is None:
                return None
            solutions.append(solution)
        return JointSolution(tuple(solutions))

    def _own_best(self, number: int, limits: frozenset[tuple[int, Limit]]) -> Solution | None:
        if (number, limits) not in self.cache:
            problem = self.problems[number]
            multiplicity = problem.multiplicity.copy()
            mandatory = problem.mandatory.tolist()
            for row, (least, most) in limits:
                multiplicity[row] = min(multiplicity[row], most)
                mandatory += [row] * least
            solutions = best_solutions(
                _with_mandatory(problem.with_multiplicity(multiplicity), mandatory),
                1,
                fewest_items=self.fewest_items,
                max_states=self.max_states,
            )
            self.cache[number, limits] = (solutions.solutions[0] if solutions.solutions else None, solutions.proven)
        solution, proven = self.cache[number, limits]
        self.exact &= proven
        return solution

    def _conflict_branches(self, joint: JointSolution) -> list[Limits] | None:
        """One branch for each problem that takes items of the most contested class; None if none is contested."""
        taken = Counter(
            (each.row, number) for number, solution in enumerate(joint.solutions) for each in solution.selections
        )
        by_row = dict(joint.signature)
        multiplicity = self.problems[0].multiplicity
        contested = [row for row, items in by_row.items() if items > multiplicity[row]]
        if not contested:
            return None
        most_contested = max(contested, key=lambda row: (by_row[row] - int(multiplicity[row]), -row))
        return [{(number, row): (0, items - 1)} for (row, number), items in taken.items() if row == most_contested]

    def _mandatory_branches(self, joint: JointSolution) -> list[Limits] | None:
        """One branch for each problem that can be the first to take an item of a mandatory class; None if all are."""
        untaken = set(self.mandatory).difference(row for row, _ in joint.signature)
        if not untaken:
            return None
        row = min(untaken)
        takers = [number for number, problem in enumerate(self.problems) if problem.has_alternatives(row)]
        return [
            {(number, row): (1, UNLIMITED)} | {(earlier, row): (0, 0) for earlier in takers[:place]}
            for place, number in enumerate(takers)
        ]

    def _excluding_branches(self, joint: JointSolution) -> list[Limits]:
        """Branches that exclude this joint solution, and only those that take at least as many items in every place."""
        taken = Counter(
            (number, each.row) for number, solution in enumerate(joint.solutions) for each in solution.selections
        )
        return [{(number, row): (0, items - 1)} for (number, row), items in taken.items()]

    def _sequential(self) -> list[JointSolution]:
        """Heuristic joint solutions: the problems one after another, in several orders."""
        joint_solutions = [
            _solve_in_sequence(self.problems, self.mandatory, order, self.fewest_items, self.max_states)
            for order in _orders(len(self.problems))
        ]
        return [each for each in joint_solutions if each is not None]


def _orders(problems: int) -> list[tuple[int, ...]]:
    """Every order of up to three problems; of more, one order for each that comes first."""
    if problems <= 3:
        return list(permutations(range(problems)))
    return [(*range(first, problems), *range(first)) for first in range(problems)]


def _solve_in_sequence(
    problems: Sequence[Problem], mandatory: Sequence[int], order: Sequence[int], fewest_items: bool, max_states: int
) -> JointSolution | None:
    """Each problem's best from what the earlier ones left; it takes the mandatory items if that leaves it feasible."""
    left = problems[0].multiplicity.copy()
    solutions: dict[int, Solution] = {}
    untaken = set(mandatory)
    for number in order:
        problem = problems[number].with_multiplicity(left)
        own = sorted(row for row in untaken if problem.has_alternatives(row))
        for rows in (own, []) if own else ([],):
            best = best_solutions(
                _with_mandatory(problem, [*problem.mandatory.tolist(), *rows]),
                1,
                fewest_items=fewest_items,
                max_states=max_states,
            ).solutions
            if best:
                break
        else:
            return None
        solutions[number] = best[0]
        for selection in best[0].selections:
            left[selection.row] -= 1
            untaken.discard(selection.row)
    return None if untaken else JointSolution(tuple(solutions[number] for number in range(len(problems))))


def _narrowed(limits: Limits, branch: Limits) -> Limits | None:
    """The limits with those of a branch as well; None where nothing is left between them."""
    further = dict(limits)
    for place, (least, most) in branch.items():
        before = further.get(place, (0, UNLIMITED))
        further[place] = max(before[0], least), min(before[1], most)
        if further[place][0] > further[place][1]:
            return None
    return further
