"""Integer programs with whole-number coefficients, and two general-purpose solvers that minimize them.

Both solvers get the same program. CP-SAT computes in whole numbers. HiGHS computes in floats, so a caller must
recompute the cost of its solution and compare it with its bound.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import ceil, inf
from typing import Protocol

import highspy
import numpy as np
from ortools.sat.python import cp_model

SECONDS = 300.0
"""A test fails where a solver needs longer; on an idle machine none needs a tenth of it."""

FEASIBILITY_TOLERANCE = 1e-9
ROUNDING = 1e-3
"""How far a float may be above the whole number that a rounded loss is; a loss closer above one shows as not proven."""

Entries = Mapping[int, int]


class NotProven(AssertionError):
    """The solver found no solution that meets its own bound exactly."""


class OutOfTime(Exception):
    """The time limit ended the solver before a proof."""


@dataclass(frozen=True)
class Row:
    """`lower` ≤ sum of the entries ≤ `upper`; HiGHS gets the row divided by `by`, so that its numbers stay small.

    HiGHS may exceed the limits by `tolerance` of the divided row: less than one unit where that is whole.
    """

    lower: int | None
    upper: int | None
    entries: Entries
    by: int = 1
    tolerance: float = 0.0


@dataclass
class IntegerProgram:
    """A minimization, column by column and row by row. Every column is whole and from 0 to its upper limit.

    HiGHS may relax a column that is not marked `integer`.
    """

    upper: list[int] = field(default_factory=list)
    integer: list[bool] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def column(self, upper: int, *, integer: bool = True) -> int:
        self.upper.append(upper)
        self.integer.append(integer)
        return len(self.upper) - 1

    def row(
        self, lower: int | None, upper: int | None, entries: Entries, *, by: int = 1, tolerance: float = 0.0
    ) -> None:
        self.rows.append(Row(lower, upper, entries, by, tolerance))


@dataclass(frozen=True)
class Answer:
    """The values of all columns, and a lower bound of the cost that may be `off` by so much because of floats."""

    values: Sequence[int]
    bound: int
    off: int = 0


class Solver(Protocol):
    """Minimizes costs within so many seconds; None where the program is infeasible.

    Raises OutOfTime, or NotProven where rounding prevents a proof.
    """

    __name__: str

    def __call__(self, program: IntegerProgram, costs: Entries, seconds: float = ..., /) -> Answer | None: ...


def highs(program: IntegerProgram, costs: Entries, seconds: float = SECONDS) -> Answer | None:
    """HiGHS, a branch-and-cut solver, on one core."""
    try:
        answer = _by_highs(program, costs, seconds, presolve="choose")
    except NotProven:
        answer = None
    # Its presolve sometimes fails on coefficients of very different magnitude.
    return answer or _by_highs(program, costs, seconds, presolve="off")


def _by_highs(program: IntegerProgram, costs: Entries, seconds: float, *, presolve: str) -> Answer | None:
    rows = program.rows
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(program.upper), len(rows)
    lp.col_cost_ = np.array([float(costs.get(column, 0)) for column in range(lp.num_col_)])
    lp.col_lower_, lp.col_upper_ = np.zeros(lp.num_col_), np.array(program.upper, dtype=np.float64)
    lp.row_lower_ = np.array([-inf if row.lower is None else row.lower / row.by - row.tolerance for row in rows])
    lp.row_upper_ = np.array([inf if row.upper is None else row.upper / row.by + row.tolerance for row in rows])
    types = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    lp.integrality_ = [types[whole] for whole in program.integer]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0] + [len(row.entries) for row in rows])
    lp.a_matrix_.index_ = np.array([column for row in rows for column in row.entries])
    lp.a_matrix_.value_ = np.array([value / row.by for row in rows for value in row.entries.values()])
    with _silence():
        solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("presolve", presolve)
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)
    solver.setOptionValue("mip_feasibility_tolerance", FEASIBILITY_TOLERANCE)
    solver.setOptionValue("primal_feasibility_tolerance", FEASIBILITY_TOLERANCE)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status == highspy.HighsModelStatus.kTimeLimit:
        raise OutOfTime(f"HiGHS has no proof after {seconds:g} s")
    if status != highspy.HighsModelStatus.kOptimal:
        raise NotProven(f"HiGHS ended with {solver.modelStatusToString(status)}")
    values = [round(value) for value in solver.getSolution().col_value]
    return Answer(values, ceil(solver.getInfo().mip_dual_bound - 0.01), off=1)


def cp_sat(program: IntegerProgram, costs: Entries, seconds: float = SECONDS, *, workers: int = 1) -> Answer | None:
    """OR-Tools CP-SAT, a clause-learning solver in 64-bit whole numbers."""
    model = cp_model.CpModel()
    columns = [model.new_int_var(0, upper, "") for upper in program.upper]
    for row in program.rows:
        total = cp_model.LinearExpr.weighted_sum([columns[each] for each in row.entries], list(row.entries.values()))
        lower = cp_model.INT_MIN if row.lower is None else row.lower
        upper = cp_model.INT_MAX if row.upper is None else row.upper
        model.add_linear_constraint(total, lower, upper)
    wanted = [(column, cost) for column, cost in costs.items() if cost]
    model.minimize(
        cp_model.LinearExpr.weighted_sum([columns[column] for column, _ in wanted], [cost for _, cost in wanted])
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    if status in (cp_model.UNKNOWN, cp_model.FEASIBLE):
        raise OutOfTime(f"CP-SAT has no proof after {seconds:g} s")
    if status != cp_model.OPTIMAL:
        raise NotProven(f"CP-SAT ended with {solver.status_name(status)}")
    return Answer([solver.value(column) for column in columns], round(solver.best_objective_bound))


SOLVERS: dict[str, Solver] = {"HiGHS": highs, "CP-SAT": cp_sat}


@contextmanager
def _silence() -> Iterator[None]:
    """Discards the banner that HiGHS writes to the file descriptor when a solver is made."""
    sys.stdout.flush()
    screen, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(screen, 1)
        os.close(screen)
        os.close(nowhere)
