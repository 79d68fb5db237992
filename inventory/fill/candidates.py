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
from inventory.cutting.offcut_arrays import Ints
from inventory.fill.demands import Offered, Part, fewest_first, offered, task_for
from inventory.fill.item_classes import Lots, lots_in
from inventory.fill.rack_table import RackTable
from inventory.fill.request import BoardRequest
from inventory.solver.problem import Cost, Covers, Task
from inventory.solver.search import best_covers, promising_rows, rows_within

LARGE = 1500
"""Below so many rows thinning is not worth its while."""


@dataclass(frozen=True)
class Thinned:
    """Lots that hold every piece of the fills asked for.

    `covers` are by part the best ones of the whole rack, where they are known already; `limits`
    are by part what the last of the fills asked for costs it at most, where that is known.
    """

    lots: Lots
    covers: tuple[Covers, ...]
    limits: tuple[Cost | None, ...]


class Thinning:
    """The lots of one table that one request needs, found for each preference in turn."""

    def __init__(self, table: RackTable, request: BoardRequest, parts: Sequence[Part]) -> None:
        self._table = table
        self._request = request
        self._parts = parts
        self._suiting = [table.of_species(part.demand.takes) for part in parts]
        self._all = self._suiting[0] if len(parts) == 1 else np.unique(np.concatenate(self._suiting))
        self._offered: list[Offered] | None = None

    def thinned(self, preference: Preference) -> Thinned:
        """The lots that can be in one of the fills asked for; of all rows that suit where pools share wood."""
        if len(self._table) < LARGE or len(self._all) < sum(map(len, self._suiting)):
            return self._whole(preference)
        if self._offered is None:
            columns = self._table.columns(self._request.allowances, self._request.on)
            self._offered = [
                offered(part, columns.rows(rows)) for part, rows in zip(self._parts, self._suiting, strict=True)
            ]
        tasks = [each.priced(preference) for each in self._offered]
        if not all(task.can_be_filled() for task in tasks):
            return self._whole(preference)
        return self._of_promising(tasks, preference)

    def _of_promising(self, tasks: list[Task], preference: Preference) -> Thinned:
        fewest, count = fewest_first(preference), self._request.fills
        promising = [promising_rows(task, fewest=fewest) for task in tasks]
        lots = self._lots(promising, preference)
        known = [best_covers(task_for(part, lots, preference), count, fewest=fewest) for part in self._parts]
        if any(len(each.covers) < count for each in known):
            return self._whole(preference)
        limits = tuple(each.covers[-1].cost for each in known)
        # Of lots, not of rows: fills that differ only in which of like pieces they take are one.
        within = [
            rows_within(task, limit, count, rows, fewest=fewest)
            for task, limit, rows in zip(tasks, limits, promising, strict=True)
        ]
        enough = all(each.proven for each in known)
        if enough and all(not len(np.setdiff1d(w, p)) for w, p in zip(within, promising, strict=True)):
            return Thinned(lots, tuple(known), limits)
        return Thinned(self._lots(within, preference), (), limits)

    def _whole(self, preference: Preference) -> Thinned:
        return Thinned(self._lots_of(self._all, preference), (), (None,) * len(self._parts))

    def _lots(self, kept: Sequence[Ints], preference: Preference) -> Lots:
        """The lots of these rows of what suits each part."""
        rows = [suiting[some] for suiting, some in zip(self._suiting, kept, strict=True)]
        return self._lots_of(np.unique(np.concatenate(rows)), preference)

    def _lots_of(self, rows: Ints, preference: Preference) -> Lots:
        asked, by_age = self._request, preference is Preference.CLEAR_OUT
        rows = np.asarray(rows, dtype=np.int64)
        return lots_in(self._table, rows, asked.allowances, asked.on, by_age=by_age)
