"""Which rows of a large rack need to be looked at at all.

Method: the most promising rows alone give as many good fills as are asked for, found
without a sweep; what they cost at most is a budget, and a guide shows which rows of all can be in a
fill within it. Exact: what is left out is in none of the fills asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.cutting.columns import Ints
from inventory.cutting.cost import Preference
from inventory.fill.lots import Lots, lots_in
from inventory.fill.parts import Offered, Part, fewest_first, offered, task_for
from inventory.fill.request import BoardRequest
from inventory.fill.search import covers_nearby, promising_rows, rows_within
from inventory.fill.table import RackTable
from inventory.fill.task import Cost

LARGE = 1500
"""Below so many rows thinning is not worth its while."""


@dataclass(frozen=True)
class Thinned:
    """Rows of a table, in order; by part, what the last of the fills asked for costs it at most, where known."""

    rows: Ints
    limits: tuple[Cost | None, ...]


class Thinning:
    """The rows of one table that one request needs, found for each preference in turn."""

    def __init__(self, table: RackTable, request: BoardRequest, parts: Sequence[Part]) -> None:
        self._table = table
        self._request = request
        self._parts = parts
        self._suiting = [table.of_species(part.demand.takes) for part in parts]
        self._all = self._suiting[0] if len(parts) == 1 else np.unique(np.concatenate(self._suiting))
        self._offered: list[Offered] | None = None

    def rows(self, preference: Preference) -> Thinned:
        """The rows that can be in one of the fills asked for; all that suit where pools share wood."""
        if len(self._table) < LARGE or len(self._all) < sum(map(len, self._suiting)):
            return Thinned(np.asarray(self._all, dtype=np.int64), (None,) * len(self._parts))
        if self._offered is None:
            columns = self._table.columns(self._request.allowances, self._request.on)
            self._offered = [
                offered(part, columns.rows(rows)) for part, rows in zip(self._parts, self._suiting, strict=True)
            ]
        kept = [
            self._thinned(rows, part, each, preference)
            for rows, part, each in zip(self._suiting, self._parts, self._offered, strict=True)
        ]
        return Thinned(np.unique(np.concatenate([rows for rows, _ in kept])), tuple(limit for _, limit in kept))

    def lots(self, preference: Preference) -> tuple[Lots, tuple[Cost | None, ...]]:
        """The lots that can be in one of the fills asked for, and the limits of `Thinned`."""
        thinned = self.rows(preference)
        return self._lots(thinned.rows, preference), thinned.limits

    def _lots(self, rows: Ints, preference: Preference) -> Lots:
        asked, by_age = self._request, preference is Preference.CLEAR_OUT
        return lots_in(self._table, rows, asked.allowances, asked.on, by_age=by_age)

    def _thinned(self, rows: Ints, part: Part, offers: Offered, preference: Preference) -> tuple[Ints, Cost | None]:
        task = offers.priced(preference)
        fewest = fewest_first(preference)
        if not task.can_be_filled():
            return rows, None
        lots = self._lots(rows[promising_rows(task, fewest=fewest)], preference)
        count = self._request.fills
        known = covers_nearby(task_for(part, lots, preference), count, fewest=fewest)
        # Of lots, not of rows: fills that differ only in which of like pieces they take are one.
        within = rows_within(task, known[-1].cost, count, fewest=fewest) if len(known) == count else None
        if within is None:
            return rows, None
        return np.asarray(rows[within], dtype=np.int64), known[-1].cost
