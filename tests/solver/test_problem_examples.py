"""The solver on instances written by hand and on small random ones, compared with every combination; no rack at all."""

from __future__ import annotations

import doctest
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from random import Random

import numpy as np
import pytest

import inventory.solver
from inventory.solver.branch_and_bound import solve_jointly
from inventory.solver.problem import (
    Alternatives,
    Breakpoint,
    ContinuousItems,
    Cost,
    IntArray,
    ItemSet,
    Problem,
    Selection,
    Solution,
)
from inventory.solver.search import best_solutions, lower_bound

Row = tuple[int, int, int, int, int]
"""Item class, number of the alternative, width, first cost, second cost."""
Continuous = tuple[int, int, int, int, int, int]
"""Item class, number, width added, minimum and maximum continuous width, first cost of each unit of it."""
BASE_COST = 30
"""What a continuous item costs first, whatever its width."""


def make_problem(
    target: int,
    rows: Sequence[Row],
    multiplicity: Sequence[int],
    continuous: Sequence[Continuous] = (),
    *,
    equality: bool = False,
    mandatory: Sequence[int] = (),
) -> Problem:
    columns = np.array(sorted(rows), dtype=np.int64).reshape(-1, 5).T
    continuous_items = _continuous_items(continuous) if continuous else None
    must_take = np.array(mandatory, dtype=np.int64)
    return Problem(target, Alternatives(*columns), np.array(multiplicity), continuous_items, equality, must_take)


def _continuous_items(items: Sequence[Continuous]) -> ContinuousItems:
    row, number, adds, low, high, each = np.array(sorted(items), dtype=np.int64).T

    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        return BASE_COST + each[index] * widths, np.ones(len(index), dtype=np.int64)

    everything = np.arange(len(row))
    breakpoints = tuple(Breakpoint(width, *cost_at(everything, width)) for width in (low, high))
    most = np.maximum(breakpoints[0].first, breakpoints[1].first)
    return ContinuousItems(
        row, number, adds, low, high, most, breakpoints[1].second, breakpoints, cost_at, rising=bool((each >= 0).all())
    )


def every_best(problem: Problem) -> dict[ItemSet, Cost]:
    """The cheapest cost of every signature with all mandatory classes, from all combinations."""
    options: list[list[tuple[Selection | None, int, Cost]]] = []
    given = problem.alternatives
    columns = (given.row, given.alternative, given.adds, given.first, given.second)
    alternatives = list(zip(*(column.tolist() for column in columns), strict=True))
    continuous = problem.continuous_items
    for row, many in enumerate(problem.multiplicity.tolist()):
        own: list[tuple[Selection | None, int, Cost]] = [(None, 0, (0, 0))]
        own += [(Selection(row, number), adds, (one, two)) for r, number, adds, one, two in alternatives if r == row]
        if continuous is not None:
            # Until the sum of all others is known, the width is the item's index.
            own += [
                (Selection(row, int(continuous.alternative[index]), index), int(continuous.adds[index]), (0, 0))
                for index in np.flatnonzero(continuous.row == row).tolist()
            ]
        options += [own] * many
    best: dict[ItemSet, Cost] = {}
    for chosen in product(*options):
        selections = tuple(selection for selection, _, _ in chosen if selection is not None)
        missing = problem.target - sum(adds for _, adds, _ in chosen)
        cost = (sum(cost[0] for *_, cost in chosen), sum(cost[1] for *_, cost in chosen))
        indices = [each.continuous_width for each in selections if each.continuous_width is not None]
        if continuous is not None and len(indices) == 1:
            index = np.array(indices)
            width = np.maximum(missing, continuous.min_width[index])
            fits = bool(width <= continuous.max_width[index])
            more = continuous.cost_at(index, width)
            cost = (cost[0] + int(more[0][0]), cost[1] + int(more[1][0]))
        else:
            fits = not indices and (missing == 0 if problem.equality else missing <= 0)
        signature = Solution(selections, *cost).signature
        if fits and {row for row, _ in signature}.issuperset(problem.mandatory.tolist()):
            best[signature] = min(cost, best.get(signature, cost))
    return best


def random_rows(random: Random, classes: int) -> list[Row]:
    return [
        (row, number, random.randint(1, 6) * number, random.randint(1, 9) * number, random.randint(0, 3))
        for row in range(classes)
        for number in range(1, random.randint(1, 3) + 1)
    ]


def without_width_ties(rows: list[Row]) -> list[Row]:
    """Rows in which a wider alternative of a class has a higher number."""
    kept: dict[tuple[int, int], Row] = {}
    for row in rows:
        kept.setdefault((row[0], row[2]), row)
    ascending = sorted(kept.values(), key=lambda row: (row[0], row[2]))
    return [(row, place + 1, adds, first, second) for place, (row, _, adds, first, second) in enumerate(ascending)]


def with_continuous(random: Random, rows: Sequence[Row], each: int) -> list[Continuous]:
    """One or two continuous items of every class, no wider than its widest alternative."""
    items: list[Continuous] = []
    for row, widest in {row: adds for row, _, adds, _, _ in rows}.items():
        own = {(number, random.randint(0, widest - 1) * number) for number in range(random.randint(1, 2))}
        for number, adds in sorted(own):
            low = random.randint(1, widest - adds)
            items.append((row, number, adds, low, random.randint(low, widest - adds), each))
    return items


def test_the_example_of_the_package_gives_what_it_says() -> None:
    result = doctest.testmod(inventory.solver)
    assert (result.attempted > 0, result.failed) == (True, 0)


def test_the_cheapest_items_that_reach_the_target_are_taken() -> None:
    problem = make_problem(10, [(0, 1, 6, 4, 1), (1, 1, 5, 4, 1), (2, 1, 4, 3, 1)], [1, 1, 1])

    result = best_solutions(problem, 3)

    assert [solution.cost for solution in result.solutions] == [(7, 2), (8, 2), (11, 3)]
    assert result.proven
    assert result.lower_bound == 7


def test_the_second_cost_decides_between_equal_first_costs() -> None:
    problem = make_problem(6, [(0, 1, 6, 4, 5), (1, 1, 3, 2, 2)], [1, 2])

    assert [solution.cost for solution in best_solutions(problem, 1).solutions] == [(4, 4)]


def test_an_item_takes_one_of_its_alternatives_only() -> None:
    problem = make_problem(5, [(0, 1, 2, 1, 1), (0, 2, 3, 2, 1), (1, 1, 3, 9, 1)], [1, 1])

    [best] = best_solutions(problem, 1).solutions

    assert set(best.selections) == {Selection(0, 1), Selection(1, 1)}


@pytest.mark.parametrize(("target", "feasible"), [(9, True), (10, False)])
def test_a_target_one_beyond_all_items_has_no_solution(target: int, feasible: bool) -> None:
    result = best_solutions(make_problem(target, [(0, 1, 3, 1, 1)], [3]), 1)

    assert (bool(result.solutions), result.proven) == (feasible, True)


def test_an_equality_constrained_sum_is_not_exceeded() -> None:
    problem = make_problem(8, [(0, 1, 9, 1, 1), (1, 1, 5, 4, 1), (2, 1, 3, 4, 1)], [1, 1, 1], equality=True)

    assert [solution.cost for solution in best_solutions(problem, 2).solutions] == [(8, 2)]


def test_a_continuous_item_is_as_wide_as_what_is_missing() -> None:
    problem = make_problem(10, [(0, 1, 8, 2, 1), (1, 1, 5, 50, 1)], [1, 1], [(1, 0, 0, 1, 4, 1)])

    [best] = best_solutions(problem, 1).solutions

    assert set(best.selections) == {Selection(0, 1), Selection(1, 0, 2)}
    assert best.cost == (2 + BASE_COST + 2, 2)


@pytest.mark.parametrize(("wide", "width"), [(7, 3), (8, 3), (9, 3), (6, 4)])
def test_a_continuous_item_has_its_minimum_width_where_less_is_missing(wide: int, width: int) -> None:
    problem = make_problem(10, [(0, 1, wide, 2, 1), (1, 1, 5, 50, 1)], [1, 1], [(1, 0, 0, 3, 4, 1)])

    [best] = best_solutions(problem, 1).solutions

    assert set(best.selections) == {Selection(0, 1), Selection(1, 0, width)}
    assert best.cost == (2 + BASE_COST + width, 2)


def test_a_continuous_item_one_too_narrow_for_what_is_missing_is_not_taken() -> None:
    problem = make_problem(10, [(0, 1, 5, 2, 1), (1, 1, 5, 50, 1)], [1, 1], [(1, 0, 0, 3, 4, 1)])

    assert [each.cost for each in best_solutions(problem, 1).solutions] == [(52, 2)]


def test_a_continuous_item_is_not_one_that_the_solution_has_taken() -> None:
    problem = make_problem(10, [(0, 1, 8, 2, 1), (1, 1, 9, 60, 1)], [1, 1], [(0, 0, 0, 1, 4, 1)])

    assert [solution.cost for solution in best_solutions(problem, 1).solutions] == [(62, 2)]


@pytest.mark.parametrize("equality", [False, True], ids=["reached", "equal"])
@pytest.mark.parametrize("seed", range(40))
def test_the_k_best_solutions_are_those_of_all_combinations(seed: int, equality: bool) -> None:
    random = Random(f"examples {seed} {equality}")
    rows = without_width_ties(random_rows(random, 4))
    multiplicity = [random.randint(1, 2) for _ in range(4)]
    problem = make_problem(random.randint(8, 20), rows, multiplicity, equality=equality)

    result = best_solutions(problem, 4)

    assert result.proven
    assert [solution.cost for solution in result.solutions] == sorted(every_best(problem).values())[:4]


@pytest.mark.parametrize("each", [1, 0, -1], ids=["rising", "level", "falling"])
@pytest.mark.parametrize("seed", range(40))
def test_the_k_best_solutions_with_continuous_items_are_those_of_all_combinations(seed: int, each: int) -> None:
    random = Random(f"continuous {seed}")
    rows = without_width_ties(random_rows(random, 3))
    continuous = with_continuous(random, rows, each)
    problem = make_problem(random.randint(6, 14), rows, [random.randint(1, 2) for _ in range(3)], continuous)
    count = random.choice((1, 3))

    result = best_solutions(problem, count)

    if problem.reaches_target():
        assert [solution.cost for solution in result.solutions] == sorted(every_best(problem).values())[:count]
        assert lower_bound(problem, 1) <= result.solutions[0].first


@pytest.mark.parametrize("seed", range(40))
def test_the_fewest_items_with_continuous_ones_are_those_of_all_combinations(seed: int) -> None:
    random = Random(f"fewest continuous {seed}")
    rows = [
        (row, number, adds, 1, second) for row, number, adds, _, second in without_width_ties(random_rows(random, 4))
    ]
    problem = make_problem(random.randint(6, 20), rows, [random.randint(1, 2) for _ in range(4)])
    rising = with_continuous(random, rows, random.choice((1, -1)))
    items = _continuous_items(rising)

    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        return np.ones(len(index), dtype=np.int64), items.cost_at(index, widths)[0]

    problem = replace(
        problem,
        continuous_items=replace(
            items,
            max_first=items.max_second,
            max_second=items.max_first,
            breakpoints=tuple(Breakpoint(at.width, at.second, at.first) for at in items.breakpoints),
            cost_at=cost_at,
        ),
    )
    count = random.choice((1, 3))

    result = best_solutions(problem, count, fewest_items=True)

    if problem.reaches_target():
        assert [solution.cost for solution in result.solutions] == sorted(every_best(problem).values())[:count]


@pytest.mark.parametrize("seed", range(40))
def test_the_fewest_items_are_found_with_the_least_second_cost(seed: int) -> None:
    random = Random(f"fewest {seed}")
    rows = [
        (row, number, adds, 1, second) for row, number, adds, _, second in without_width_ties(random_rows(random, 5))
    ]
    problem = make_problem(random.randint(6, 16), rows, [random.randint(1, 2) for _ in range(5)])

    result = best_solutions(problem, 3, fewest_items=True)

    assert [solution.cost for solution in result.solutions] == sorted(every_best(problem).values())[:3]


def test_of_a_mandatory_class_an_item_is_taken_though_others_are_cheaper() -> None:
    rows = [(0, 1, 6, 1, 1), (1, 1, 6, 9, 1), (1, 2, 2, 4, 1), (2, 1, 4, 2, 1)]

    result = best_solutions(make_problem(6, rows, [1, 1, 1], mandatory=[1]), 3)

    assert [solution.cost for solution in result.solutions] == [(5, 2), (6, 2), (7, 3)]
    assert result.proven


def test_mandatory_items_are_taken_beyond_the_target() -> None:
    rows = [(0, 1, 6, 1, 1), (1, 1, 6, 9, 1), (2, 1, 4, 2, 1)]

    assert [
        each.cost for each in best_solutions(make_problem(6, rows, [1, 2, 1], mandatory=[0, 1, 2]), 1).solutions
    ] == [(12, 3)]


def test_of_several_items_of_a_mandatory_class_one_is_enough() -> None:
    rows = [(0, 1, 3, 5, 1), (1, 1, 3, 1, 1)]

    [best] = best_solutions(make_problem(6, rows, [2, 2], mandatory=[0]), 1).solutions

    assert best.signature == {(0, 1), (1, 1)}


def test_a_mandatory_class_without_an_alternative_has_no_solution() -> None:
    problem = make_problem(3, [(0, 1, 3, 1, 1)], [1, 1], mandatory=[1])

    assert best_solutions(problem, 1).solutions == ()
    assert solve_jointly([make_problem(3, [(0, 1, 3, 1, 1)], [1, 1])], 1, mandatory=np.array([1])).joint_solutions == ()


@pytest.mark.parametrize("kind", ["reached", "equal", "continuous", "fewest"])
@pytest.mark.parametrize("seed", range(40))
def test_the_k_best_solutions_with_mandatory_classes_are_those_of_all_combinations(seed: int, kind: str) -> None:
    random = Random(f"mandatory {kind} {seed}")
    rows = without_width_ties(random_rows(random, 4))
    if kind == "fewest":
        rows = [(row, number, adds, 1, second) for row, number, adds, _, second in rows]
    widest = {row: adds for row, _, adds, _, _ in rows}
    continuous = [(row, 0, 0, random.randint(1, most), most, 1) for row, most in widest.items() if row % 2]
    problem = make_problem(
        random.randint(3, 18),
        rows,
        [random.randint(1, 2) for _ in range(4)],
        continuous if kind == "continuous" else (),
        equality=kind == "equal",
        mandatory=sorted(random.sample(range(4), random.randint(1, 3))),
    )
    count = random.choice((1, 4))

    result = best_solutions(problem, count, fewest_items=kind == "fewest")

    assert result.proven
    assert [solution.cost for solution in result.solutions] == sorted(every_best(problem).values())[:count]


def test_two_problems_do_not_take_the_same_item() -> None:
    rows = [(0, 1, 5, 1, 1), (1, 1, 5, 3, 1), (2, 1, 5, 9, 1)]
    problems = [make_problem(5, rows, [1, 1, 1]), make_problem(5, rows, [1, 1, 1])]

    result = solve_jointly(problems, 1)

    assert [joint.cost for joint in result.joint_solutions] == [(4, 2)]
    assert result.proven == (True,)


@pytest.mark.parametrize("mandatory", [(), (1,), (0, 2)], ids=["free", "one mandatory", "two mandatory"])
@pytest.mark.parametrize("seed", range(20))
def test_the_best_joint_solution_is_that_of_all_combinations(seed: int, mandatory: tuple[int, ...]) -> None:
    random = Random(f"joint {seed}")
    multiplicity = [random.randint(1, 2) for _ in range(3)]
    problems = [
        make_problem(random.randint(4, 8), without_width_ties(random_rows(random, 3)), multiplicity) for _ in range(2)
    ]
    one, other = (every_best(problem) for problem in problems)
    together = [
        (first[0] + second[0], first[1] + second[1])
        for (a, first), (b, second) in product(one.items(), other.items())
        if all(dict(a).get(row, 0) + dict(b).get(row, 0) <= many for row, many in enumerate(multiplicity))
        and all(dict(a).get(row, 0) + dict(b).get(row, 0) for row in mandatory)
    ]

    result = solve_jointly(problems, 1, mandatory=np.array(mandatory, dtype=np.int64))

    assert [joint.cost for joint in result.joint_solutions] == sorted(together)[:1]
