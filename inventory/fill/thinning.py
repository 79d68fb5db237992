"""Which rows of a large rack need to be looked at at all.

Method: the most promising rows alone give as many different fills as are asked for;
what they cost at most is a budget, and a guide shows which other rows can be in no
fill within it. Exact: what is left out is in none of the fills asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inventory.cutting.columns import Ints
from inventory.cutting.cost import Preference
from inventory.fill.lots import Lots, lots_in
from inventory.fill.outlook import outlook_on
from inventory.fill.parts import Offered, Part, fewest_first, offered, task_for
from inventory.fill.request import BoardRequest
from inventory.fill.search import best_covers, promising_rows, rows_within
from inventory.fill.table import RackTable

LARGE = 1500
"""Below so many rows thinning is not worth its while."""
FEW_STATES = 120
"""The budget need not be the best, only good: so many partial sums are followed for it."""


class Thinning:
    """The rows of one table that one request needs, found for each preference in turn."""

    def __init__(self, table: RackTable, request: BoardRequest, parts: Sequence[Part]) -> None:
        self._table = table
        self._request = request
        self._parts = parts
        self._suiting = [table.of_species(part.demand.takes) for part in parts]
        self._all = self._suiting[0] if len(parts) == 1 else np.unique(np.concatenate(self._suiting))
        self._offered: list[Offered] | None = None

    def rows(self, preference: Preference) -> Ints:
        """The rows that can be in one of the fills asked for; all that suit where pools share wood."""
        if len(self._table) < LARGE or len(self._all) < sum(map(len, self._suiting)):
            return np.asarray(self._all, dtype=np.int64)
        if self._offered is None:
            columns = self._table.columns(self._request.allowances, self._request.on)
            self._offered = [
                offered(part, columns.rows(rows)) for part, rows in zip(self._parts, self._suiting, strict=True)
            ]
        kept = [
            self._thinned(rows, part, each, preference)
            for rows, part, each in zip(self._suiting, self._parts, self._offered, strict=True)
        ]
        return np.unique(np.concatenate(kept))

    def lots(self, preference: Preference) -> Lots:
        """The lots that can be in one of the fills asked for."""
        return self._lots(self.rows(preference), preference)

    def _lots(self, rows: Ints, preference: Preference) -> Lots:
        asked, by_age = self._request, preference is Preference.CLEAR_OUT
        return lots_in(self._table, rows, asked.allowances, asked.on, by_age=by_age)

    def _thinned(self, rows: Ints, part: Part, offers: Offered, preference: Preference) -> Ints:
        task = offers.priced(preference)
        fewest = fewest_first(preference)
        outlook = outlook_on(task, self._request.fills, fewest=fewest) if task.can_be_filled() else None
        if outlook is None:
            return rows
        likely = promising_rows(task, outlook)
        request = self._request
        lots = self._lots(rows[likely], preference)
        known = best_covers(
            task_for(part, lots, preference), request.fills, fewest=fewest, most_states=FEW_STATES
        ).covers
        if len(known) < request.fills:
            return rows
        within = rows_within(outlook, known[-1])
        return np.asarray(rows[np.union1d(within, likely)], dtype=np.int64)
