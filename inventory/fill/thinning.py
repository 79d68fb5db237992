"""Which rows of a large rack need to be looked at at all.

Method: the most promising rows alone give as many different fills as are asked for;
what they cost at most is a budget, and a guide shows which other rows can be in no
fill within it. Exact: what is left out is in none of the fills asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inventory.cutting.columns import Columns, Ints
from inventory.cutting.cost import Preference
from inventory.fill.lots import lots_of
from inventory.fill.parts import Part, fewest_first, priced, task_for
from inventory.fill.request import BoardRequest
from inventory.fill.search import best_covers, promising_rows, rows_within
from inventory.fill.table import RackTable

LARGE = 1500
"""Below so many rows thinning is not worth its while."""
FEW_STATES = 120
"""The budget need not be the best, only good: so many partial sums are followed for it."""


def rows_worth_looking_at(
    table: RackTable, columns: Columns, request: BoardRequest, parts: Sequence[Part], preference: Preference
) -> Ints:
    """The rows of the table that can be in one of the fills asked for; all that suit where pools share wood."""
    suiting = [table.of_species(part.demand.takes) for part in parts]
    together = np.unique(np.concatenate(suiting))
    if len(table) < LARGE or len(together) < sum(map(len, suiting)):
        return together
    kept = [
        _thinned(table, columns, rows, request, part, preference) for rows, part in zip(suiting, parts, strict=True)
    ]
    return np.unique(np.concatenate(kept))


def _thinned(
    table: RackTable, columns: Columns, rows: Ints, request: BoardRequest, part: Part, preference: Preference
) -> Ints:
    task = priced(part, columns.rows(rows), preference)
    if not task.can_be_filled():
        return rows
    fewest = fewest_first(preference)
    likely = promising_rows(task, fewest=fewest)
    few = table.offcuts(rows[likely])
    lots = lots_of(few, request.allowances, request.on, by_age=preference is Preference.CLEAR_OUT)
    known = best_covers(task_for(part, lots, preference), request.fills, fewest=fewest, most_states=FEW_STATES).covers
    if len(known) < request.fills:
        return rows
    within = rows_within(task, (known[-1].first, known[-1].second), fewest=fewest)
    return np.asarray(rows[np.union1d(within, likely)], dtype=np.int64)
