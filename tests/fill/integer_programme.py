"""The same question put to a general-purpose solver (HiGHS): what does the best fill cost?

For tests alone. The solver reckons in floats, so its answer is never believed:
widths go in on the common grid of all widths, where they are small whole numbers;
what comes out is rounded, reckoned anew with integers, and must meet the solver's
own proven bound to the last mm³. The first cost is fixed before the second is sought.

A face-grain board is asked twice, with and without a closing strip. The closing
strip's loss is a whole number rounded up, so it is a variable of its own.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil, gcd, inf

import highspy
import numpy as np

from inventory.cutting.cost import Preference
from inventory.fill.request import BoardRequest
from inventory.pieces import Offcut
from tests.fill.brute import Key, in_order
from tests.fill.reckoning import Closing, Gives, gives, target

SECONDS = 300.0
"""A question that takes the solver longer fails its test; on an idle machine none needs a tenth of it."""

_FLOATS_ALLOWED = 1e-9
_ROUNDING = 1e-6
"""How far floats may put a loss above the whole number it is; a loss closer above one shows as not proven."""


class NotProven(AssertionError):
    """The solver found no fill that meets its own bound exactly."""


def _silent_solver() -> highspy.Highs:
    """A solver without its banner, which it writes past Python when it is made."""
    sys.stdout.flush()
    screen, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        solver = highspy.Highs()
    finally:
        os.dup2(screen, 1)
        os.close(screen)
        os.close(nowhere)
    solver.setOptionValue("output_flag", False)
    return solver


@dataclass
class _Rows:
    """A minimisation, column by column and row by row."""

    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)

    def column(self, upper: float, *, whole: bool = True) -> int:
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.upper) - 1

    def row(self, least: float, most: float, entries: dict[int, float]) -> None:
        self.rows.append((least, most, entries))

    def minimised(self, costs: dict[int, float]) -> tuple[list[float], float] | None:
        """Values and proven lower bound, None where nothing satisfies the rows."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.upper), len(self.rows)
        lp.col_cost_ = np.array([costs.get(column, 0.0) for column in range(lp.num_col_)])
        lp.col_lower_, lp.col_upper_ = np.zeros(lp.num_col_), np.array(self.upper)
        lp.row_lower_ = np.array([least for least, _, _ in self.rows])
        lp.row_upper_ = np.array([most for _, most, _ in self.rows])
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0] + [len(entries) for _, _, entries in self.rows])
        lp.a_matrix_.index_ = np.array([column for _, _, entries in self.rows for column in entries])
        lp.a_matrix_.value_ = np.array([value for _, _, entries in self.rows for value in entries.values()])
        solver = _silent_solver()
        solver.setOptionValue("time_limit", SECONDS)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", 0.5)
        solver.setOptionValue("mip_feasibility_tolerance", _FLOATS_ALLOWED)
        solver.setOptionValue("primal_feasibility_tolerance", _FLOATS_ALLOWED)
        solver.passModel(lp)
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        if status != highspy.HighsModelStatus.kOptimal:
            raise NotProven(f"the solver ended with {solver.modelStatusToString(status)}")
        return list(solver.getSolution().col_value), solver.getInfo().mip_dual_bound


class Question:
    """One board, with or without a closing strip, as an integer programme."""

    def __init__(self, rack: Sequence[Offcut], request: BoardRequest, *, closes: bool) -> None:
        like: Counter[Gives] = Counter()
        for offcut in rack:
            given = gives(offcut, request)
            if given.choices:
                like[given] += offcut.count
        self.like, self.target, self.closes = list(like.items()), target(request), closes
        widths = [choice.adds for given, _ in self.like for choice in given.choices]
        self.grid = gcd(self.target, request.allowances.min_strip_width if closes else 0, *widths)
        self.model = _Rows()
        self.choices = [
            (self.model.column(count), given, choice) for given, count in self.like for choice in given.choices
        ]
        self.closings: list[tuple[int, int, Gives, Closing, bool]] = []
        self.closing_losses: dict[int, int] = {}
        self.cleared: int | None = None
        if closes:
            self._closing_columns()
        self._rows()

    def _closing_columns(self) -> None:
        for given, _ in self.like:
            for closing in given.closings:
                for kept in (False, True):
                    if closing.most >= closing.least and (not kept or closing.kept_up_to >= closing.least):
                        chosen, width = self.model.column(1), self.model.column(inf, whole=False)
                        self.closings.append((chosen, width, given, closing, kept))
            self.closing_losses.setdefault(given.weight, -1)
        self.closing_losses = {weight: self.model.column(inf) for weight in self.closing_losses}
        self.cleared = self.model.column(inf)

    def _rows(self) -> None:
        model, grid = self.model, self.grid
        for given, count in self.like:
            taken = {column: 1.0 for column, of, _ in self.choices if of is given}
            taken |= {chosen: 1.0 for chosen, _, of, _, _ in self.closings if of is given}
            model.row(0, count, taken)
        adds = {column: float(choice.adds // grid) for column, _, choice in self.choices}
        adds |= {chosen: float(closing.adds // grid) for chosen, _, _, closing, _ in self.closings}
        adds |= {width: 1.0 for _, width, _, _, _ in self.closings}
        model.row(self.target // grid, self.target // grid if self.closes else inf, adds)
        if not self.closes:
            return
        model.row(1, 1, {chosen: 1.0 for chosen, *_ in self.closings})
        lost: dict[int, dict[int, float]] = {column: {column: 1.0} for column in self.closing_losses.values()}
        for chosen, width, given, closing, kept in self.closings:
            least = closing.least if kept else max(closing.least, closing.kept_up_to + 1)
            most = min(closing.most, closing.kept_up_to) if kept else closing.most
            # A closing strip's width is a whole number of grid steps: rounding its limits inwards loses nothing.
            model.row(0, inf, {width: 1.0, chosen: -float(-(-least // grid))})
            model.row(-inf, 0, {width: 1.0, chosen: -float(most // grid)})
            row = lost[self.closing_losses[given.weight]]
            row[chosen] = -(closing.loss_unkept - (closing.area * closing.beside / 10**18 if kept else 0))
            if kept:
                row[width] = -(closing.area * grid / 10**18)
        for row in lost.values():
            model.row(-_ROUNDING, inf, row)
        if self.cleared is not None:
            weighted = {column: -weight / 1000 for weight, column in self.closing_losses.items()}
            model.row(-0.999 - _ROUNDING, inf, {self.cleared: 1.0, **weighted})

    def costs(self, prefer: Preference) -> tuple[dict[int, float], dict[int, float]]:
        """What the preference minimises first and second, as costs of columns."""
        pieces = {column: 1.0 for column, _, _ in self.choices} | {chosen: 1.0 for chosen, *_ in self.closings}
        loss = {column: float(choice.loss) for column, _, choice in self.choices}
        loss |= dict.fromkeys(self.closing_losses.values(), 1.0)
        dirty = {column: float(choice.dirty) for column, _, choice in self.choices}
        dirty |= {chosen: float(closing.dirty) for chosen, _, _, closing, _ in self.closings}
        cleared = {column: float(choice.loss * given.weight // 1000) for column, given, choice in self.choices}
        if self.cleared is not None:
            cleared[self.cleared] = 1.0
        match prefer:
            case Preference.LEAST_WASTE:
                return loss, pieces
            case Preference.FEWEST_PIECES:
                return pieces, loss
            case Preference.LEAST_MILLING:
                return dirty, loss
            case Preference.CLEAR_OUT:
                return cleared, pieces

    def exactly(self, values: Sequence[float], prefer: Preference) -> Key:
        """The costs of a solution, reckoned with integers alone; raises NotProven where it is none."""
        adds = loss = dirty = cleared = pieces = 0
        used: Counter[Gives] = Counter()
        for column, given, choice in self.choices:
            many = round(values[column])
            used[given] += many
            pieces += many
            adds += many * choice.adds
            loss += many * choice.loss
            dirty += many * choice.dirty
            cleared += many * (choice.loss * given.weight // 1000)
        for chosen, _, given, closing, _ in self.closings:
            if round(values[chosen]):
                missing = self.target - adds - closing.adds
                if not closing.least <= missing <= closing.most:
                    raise NotProven(f"the solver closes a gap of {missing} nm")
                used[given] += 1
                pieces += 1
                adds = self.target
                loss += closing.loss(missing)
                dirty += closing.dirty
                cleared += closing.loss(missing) * given.weight // 1000
        if adds < self.target or any(used[given] > count for given, count in self.like):
            raise NotProven("the solver's answer is no fill")
        return in_order(prefer, loss, pieces, dirty, cleared)

    def best(self, prefer: Preference) -> Key | None:
        """The least first cost, and with it the least second one; None where there is no fill."""
        if not self.like or (self.closes and not self.closings):
            return None
        first_costs, second_costs = self.costs(prefer)
        answer = self.model.minimised(first_costs)
        if answer is None:
            return None
        first, _ = self.exactly(answer[0], prefer)
        _meets(first, answer[1])
        self.model.row(-inf, first + 0.5, first_costs)
        answer = self.model.minimised(second_costs)
        self.model.rows.pop()
        if answer is None:
            raise NotProven("the solver lost its own answer")
        again, second = self.exactly(answer[0], prefer)
        if again != first:
            raise NotProven(f"the solver's second answer costs {again} instead of {first}")
        _meets(second, answer[1])
        return first, second


def _meets(cost: int, bound: float) -> None:
    if cost != ceil(bound - 0.01):
        raise NotProven(f"the solver's answer costs {cost}, its bound is {bound}")


def best_key(rack: Sequence[Offcut], request: BoardRequest, prefer: Preference) -> Key | None:
    """What the best fill costs under this preference, proven by the solver; None where there is none."""
    without = Question(rack, request, closes=False).best(prefer)
    closed = Question(rack, request, closes=True).best(prefer)
    return min((key for key in (without, closed) if key is not None), default=None)
