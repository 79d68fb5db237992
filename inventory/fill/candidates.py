"""Which rows of a large rack need to be looked at at all.

Method: the most promising rows alone give the best fills there are of them; what those cost
is a budget, and a guide shows which rows of all can be in a fill within it. Nearly always
those are among the promising ones, and the fills are the best of the whole rack. Exact:
what is left out is in none of the fills asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import Part, PartAlternatives, alternatives_for, counts_pieces_first, problem_for
from inventory.fill.item_classes import ItemClasses, group_rows
from inventory.fill.request import BoardRequest
from inventory.solver.problem import Cost, Problem, Solutions
from inventory.solver.search import best_solutions, promising_rows, rows_within

LARGE = 1500
"""Below so many rows thinning is not worth its while."""


@dataclass(frozen=True)
class CandidateSet:
    """Lots that hold every piece of the fills asked for.

    `solutions` are by part the best ones of the whole rack, where they are known already; `limits`
    are by part what the last of the fills asked for costs it at most, where that is known.
    """

    item_classes: ItemClasses
    solutions: tuple[Solutions, ...]
    limits: tuple[Cost | None, ...]


class CandidateReduction:
    """The lots of one table that one request needs, found for each preference in turn."""

    def __init__(self, table: RackTable, request: BoardRequest, parts: Sequence[Part]) -> None:
        self._table = table
        self._request = request
        self._parts = parts
        self._suiting = [table.rows_of_species(part.demand.accepts) for part in parts]
        self._all = self._suiting[0] if len(parts) == 1 else np.unique(np.concatenate(self._suiting))
        self._alternatives: list[PartAlternatives] | None = None

    def reduced(self, preference: Preference) -> CandidateSet:
        """The lots that can be in one of the fills asked for; of all rows that suit where pools share wood."""
        if len(self._table) < LARGE or len(self._all) < sum(map(len, self._suiting)):
            return self._all_candidates(preference)
        if self._alternatives is None:
            arrays = self._table.arrays(self._request.allowances, self._request.on)
            self._alternatives = [
                alternatives_for(part, arrays.rows(rows)) for part, rows in zip(self._parts, self._suiting, strict=True)
            ]
        problems = [each.to_problem(preference) for each in self._alternatives]
        if not all(problem.is_feasible() for problem in problems):
            return self._all_candidates(preference)
        return self._of_promising(problems, preference)

    def _of_promising(self, problems: list[Problem], preference: Preference) -> CandidateSet:
        fewest_items, count = counts_pieces_first(preference), self._request.fills
        promising = [promising_rows(problem, fewest_items=fewest_items) for problem in problems]
        item_classes = self._item_classes(promising, preference)
        known = [
            best_solutions(problem_for(part, item_classes, preference), count, fewest_items=fewest_items)
            for part in self._parts
        ]
        if any(len(each.solutions) < count for each in known):
            return self._all_candidates(preference)
        limits = tuple(each.solutions[-1].cost for each in known)
        # Of lots, not of rows: fills that differ only in which of like pieces they take are one.
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
        """The lots of these rows of what suits each part."""
        rows = [suiting[some] for suiting, some in zip(self._suiting, kept, strict=True)]
        return self._group(np.unique(np.concatenate(rows)), preference)

    def _group(self, rows: IntArray, preference: Preference) -> ItemClasses:
        asked, by_age = self._request, preference is Preference.CLEAR_OUT
        rows = np.asarray(rows, dtype=np.int64)
        return group_rows(self._table, rows, asked.allowances, asked.on, by_age=by_age)
