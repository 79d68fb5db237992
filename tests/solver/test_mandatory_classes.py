"""Mandatory item classes on instances too large for all combinations, compared with OR-tools CP-SAT."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import numpy as np
import pytest

from inventory.solver.branch_and_bound import solve_jointly
from inventory.solver.problem import Cost, Problem
from inventory.solver.search import best_solutions
from tests.solver.general_solvers import IntegerProgram, cp_sat
from tests.solver.test_problem_examples import Row, make_problem

SCALE = 1000
"""More than the second cost of any solution here."""


def random_alternatives(random: Random, classes: int, step: int, *, items_first: bool) -> list[Row]:
    """Alternatives whose cost is about in proportion to their width, as strips of offcuts have it."""
    rows = []
    for row in range(classes):
        each, price = random.randint(20, 90) * step, random.uniform(0.5, 3)
        for number in range(1, random.randint(1, 4) + 1):
            first = 1 if items_first else round(each * number * price * random.uniform(0.9, 1.1))
            rows.append((row, number, each * number, first, random.randint(0, 9)))
    return rows


def best_by_cp_sat(problems: Sequence[Problem], mandatory: Sequence[int]) -> Cost | None:
    """Both costs of the best joint solution."""
    program, costs = IntegerProgram(), dict[int, int]()
    multiplicity = problems[0].multiplicity.tolist()
    of_class: list[list[int]] = [[] for _ in multiplicity]
    for problem in problems:
        given = problem.alternatives
        widths = {}
        columns = (given.row, given.adds, given.first, given.second)
        for row, adds, first, second in zip(*(column.tolist() for column in columns), strict=True):
            column = program.column(multiplicity[row])
            of_class[row].append(column)
            widths[column], costs[column] = adds, first * SCALE + second
        program.row(problem.target, problem.target if problem.equality else None, widths)
    for row, (own, many) in enumerate(zip(of_class, multiplicity, strict=True)):
        program.row(int(row in mandatory), many, dict.fromkeys(own, 1))
    answer = cp_sat(program, costs)
    return (
        None if answer is None else divmod(sum(answer.values[column] * cost for column, cost in costs.items()), SCALE)
    )


@pytest.mark.parametrize("kind", ["reached", "equal", "fewest"])
@pytest.mark.parametrize("seed", range(8))
def test_the_best_solution_is_that_of_cp_sat(seed: int, kind: str) -> None:
    random = Random(f"mandatory {kind} {seed}")
    classes = random.choice((12, 40, 120))
    rows = random_alternatives(random, classes, random.choice((1, 5)), items_first=kind == "fewest")
    mandatory = sorted(random.sample(range(classes), random.choice((1, 2, 4))))
    multiplicity = [random.choice((1, 1, 1, 3)) for _ in range(classes)]
    target = random.choice((150, 400, 900))
    problem = make_problem(target, rows, multiplicity, equality=kind == "equal", mandatory=mandatory)

    result = best_solutions(problem, 3, fewest_items=kind == "fewest")

    best = best_by_cp_sat([problem], mandatory)
    assert result.proven
    assert [each.cost for each in result.solutions[:1]] == ([] if best is None else [best])
    assert all(problem.takes_mandatory(each) for each in result.solutions)


@pytest.mark.parametrize("seed", range(10))
def test_the_best_joint_solution_is_that_of_cp_sat(seed: int) -> None:
    random = Random(f"joint mandatory {seed}")
    classes = random.choice((6, 12, 24))
    multiplicity = [random.choice((1, 1, 2)) for _ in range(classes)]
    mandatory = sorted(random.sample(range(classes), random.choice((1, 2, 3))))
    problems = [
        make_problem(
            random.choice((60, 150, 300)),
            random_alternatives(random, classes, 5, items_first=False),
            multiplicity,
            equality=random.random() < 0.3,
        )
        for _ in range(random.choice((2, 3)))
    ]

    result = solve_jointly(problems, 1, mandatory=np.array(mandatory, dtype=np.int64))

    best = best_by_cp_sat(problems, mandatory)
    assert [each.cost for each in result.joint_solutions] == ([] if best is None else [best])
    assert all(result.proven)
