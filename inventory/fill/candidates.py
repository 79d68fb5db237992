"""Candidate reduction: which rows of a large rack the search needs.

Method: a core problem of the most promising rows is solved first (E. Balas and E. Zemel, Operations
Research 28(5), 1980; from memory). The cost of its solutions is a cutoff, and reduced-cost fixing shows which
of all rows can be in a fill within it. Nearly always those are in the core, so that its fills are
the best of the whole rack. Exact: a row left out is in none of the fills asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import (
    Part,
    PartAlternatives,
    alternatives_for,
    counts_pieces_first,
    problem_for,
    with_required,
)
from inventory.fill.item_classes import ItemClasses, group_rows
from inventory.fill.request import BoardRequest
from inventory.solver.problem import Cost, Problem, Solutions
from inventory.solver.search import best_solutions, promising_rows, rows_within

LARGE = 1500
"""With fewer rows the reduction takes more time than it saves."""


@dataclass(frozen=True)
class CandidateSet:
    """Item classes with every piece of the fills asked for.

    `solutions` are, by part, the best of the whole rack where already known; `limits` are, by
    part, the cutoffs: what the last of the fills asked for costs at most, None where unknown.
    """

    item_classes: ItemClasses
    solutions: tuple[Solutions, ...]
    limits: tuple[Cost | None, ...]


class CandidateReduction:
    """The rows of one table that one request needs, by preference."""

    def __init__(self, table: RackTable, request: BoardRequest, parts: Sequence[Part]) -> None:
        self._table = table
        self._request = request
        self._parts = parts
        self._eligible = [table.rows_for(part.demand) for part in parts]
        every = self._eligible[0] if len(parts) == 1 else np.unique(np.concatenate(self._eligible))
        self._parts_share = len(every) < sum(map(len, self._eligible))
        # A required piece that no part accepts makes the request infeasible, which the solver must see.
        self._all = np.union1d(every, np.flatnonzero(table.required)) if table.required.any() else every
        self._alternatives: list[PartAlternatives] | None = None

    def reduced(self, preference: Preference) -> CandidateSet:
        """The candidates for this preference; all rows of accepted species where pools share pieces."""
        if len(self._table) < LARGE or self._parts_share:
            return self._all_candidates(preference)
        if self._alternatives is None:
            arrays = self._table.arrays(self._request.allowances, self._request.on)
            self._alternatives = [
                alternatives_for(part, arrays.rows(rows))
                for part, rows in zip(self._parts, self._eligible, strict=True)
            ]
        # No two parts share pieces, so a required one belongs to the only part that it can serve.
        problems = [
            with_required(each.to_problem(preference), self._table.required[rows])
            for each, rows in zip(self._alternatives, self._eligible, strict=True)
        ]
        required = sum(len(problem.mandatory) for problem in problems)
        if required < np.count_nonzero(self._table.required) or any(map(Problem.is_trivially_infeasible, problems)):
            return self._all_candidates(preference)
        return self._of_promising(problems, preference)

    def _of_promising(self, problems: list[Problem], preference: Preference) -> CandidateSet:
        fewest_items, count = counts_pieces_first(preference), self._request.fills
        promising = [promising_rows(problem, fewest_items=fewest_items) for problem in problems]
        item_classes = self._item_classes(promising, preference)
        known = [
            best_solutions(
                with_required(problem_for(part, item_classes, preference), item_classes.required),
                count,
                fewest_items=fewest_items,
            )
            for part in self._parts
        ]
        if any(len(each.solutions) < count for each in known):
            return self._all_candidates(preference)
        limits = tuple(each.solutions[-1].cost for each in known)
        # By item classes, not rows: fills that differ only in which of identical pieces they take are one.
        within = [
            rows_within(problem, limit, count, rows, fewest_items=fewest_items)
            for problem, limit, rows in zip(problems, limits, promising, strict=True)
        ]
        enough = all(each.proven for each in known)
        if enough and all(not len(np.setdiff1d(w, p)) for w, p in zip(within, promising, strict=True)):
            return CandidateSet(item_classes, tuple(known), limits)
        return CandidateSet(self._item_classes(within, preference), (), limits)

    def _all_candidates(self, preference: Preference) -> CandidateSet:
        return CandidateSet(self._group(self._all, preference), (), (None,) * len(self._parts))

    def _item_classes(self, kept: Sequence[IntArray], preference: Preference) -> ItemClasses:
        """The item classes of these rows of each part's eligible rows."""
        rows = [eligible[some] for eligible, some in zip(self._eligible, kept, strict=True)]
        return self._group(np.unique(np.concatenate(rows)), preference)

    def _group(self, rows: IntArray, preference: Preference) -> ItemClasses:
        asked, by_age = self._request, preference is Preference.OLDEST_FIRST
        rows = np.asarray(rows, dtype=np.int64)
        return group_rows(self._table, rows, asked.allowances, asked.on, by_age=by_age)
