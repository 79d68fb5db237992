"""One board after another from a rack that slowly changes: only the best cuts, thousands of times.

    rack = ChangingRack(offcuts)
    cuts = rack.best(request)          # None where the rack can't fill it
    for cut in cuts or ():
        rack.take(cut.offcut.tag)
        …                              # and rack.add() what is kept of it

Knows how to spare what a person's answer needs and a simulation doesn't: further fills,
cautions, what is missing. The cuts are those of `fill_rack`'s first fill.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from inventory.cutting.columns import Ints
from inventory.cutting.cuts import Cut
from inventory.fill.answer import cuts_of, filling_boards
from inventory.fill.glue_ups import depths_to_try, with_depth
from inventory.fill.parts import fewest_first, parts_of, task_for
from inventory.fill.request import BoardRequest, Grain
from inventory.fill.table import COUNT, NUMBERS, rows_of, table_of_rows
from inventory.fill.thinning import Thinning
from inventory.fill.together import best_together
from inventory.pieces import Offcut

FEWEST_ROWS = 64


class ChangingRack:
    """Offcuts from which pieces are taken and to which others come; every tag stands there once."""

    def __init__(self, offcuts: Iterable[Offcut] = ()) -> None:
        self._offcuts: list[Offcut] = []
        self._row: dict[str, int] = {}
        self._names: dict[str, int] = {}
        self._columns = np.zeros((NUMBERS, FEWEST_ROWS), dtype=np.int64)
        for each in offcuts:
            self.add(each)

    def __len__(self) -> int:
        """How many pieces there are."""
        return int(self._columns[COUNT].sum())

    def __iter__(self) -> Iterator[Offcut]:
        """The offcuts, in the order in which they came; the count of each is what is left of it."""
        return iter(self._made(self._rows()))

    def __contains__(self, tag: str) -> bool:
        return tag in self._row

    def add(self, offcut: Offcut) -> None:
        """Puts an offcut on the rack; raises KeyError where its tag stands there already."""
        if offcut.tag in self._row:
            raise KeyError(offcut.tag)
        row = len(self._offcuts)
        if row == self._columns.shape[1]:
            self._close_up()
            row = len(self._offcuts)
        self._row[offcut.tag] = row
        self._offcuts.append(offcut)
        self._columns[:, row] = rows_of([offcut], self._names)[0]

    def take(self, tag: str, pieces: int = 1) -> None:
        """Takes pieces of a tag away; raises KeyError where there are not so many."""
        row = self._row[tag]
        if not 0 < pieces <= self._columns[COUNT, row]:
            raise KeyError(tag)
        self._columns[COUNT, row] -= pieces
        if not self._columns[COUNT, row]:
            del self._row[tag]

    def best(self, request: BoardRequest) -> tuple[Cut, ...] | None:
        """The cuts of the best fill in the first preference asked for; None where the rack can't fill the board."""
        asked = replace(request, prefer=request.prefer[:1], fills=1)
        if asked.grain is Grain.END or asked.count > 1:
            return _of_several_glue_ups(list(self), asked)
        rows = self._rows()
        table = table_of_rows(self._columns[:, rows], self._names, lambda wanted: self._made(rows[wanted]))
        parts, [preference] = parts_of(asked), asked.prefer
        lots = Thinning(table, asked, parts).lots(preference)
        tasks = [task_for(part, lots, preference) for part in parts]
        joints = best_together(tasks, 1, fewest=fewest_first(preference)).joints
        return cuts_of(joints[0], parts, lots) if joints else None

    def _rows(self) -> Ints:
        return np.flatnonzero(self._columns[COUNT]).astype(np.int64)

    def _made(self, rows: Ints) -> list[Offcut]:
        left = self._columns[COUNT, rows].tolist()
        return [
            each if each.count == many else replace(each, count=many)
            for each, many in zip((self._offcuts[row] for row in rows.tolist()), left, strict=True)
        ]

    def _close_up(self) -> None:
        """Drops the rows of which nothing is left, and makes room for as many again."""
        rows = self._rows()
        self._offcuts = self._made(rows)
        self._row = {each.tag: row for row, each in enumerate(self._offcuts)}
        columns = np.zeros((NUMBERS, max(2 * len(rows), FEWEST_ROWS)), dtype=np.int64)
        columns[:, : len(rows)] = self._columns[:, rows]
        self._columns = columns


def _of_several_glue_ups(rack: Sequence[Offcut], asked: BoardRequest) -> tuple[Cut, ...] | None:
    """The same of panels, at the largest row depth that the rack fills, or of several boards together."""
    requests = [asked]
    if asked.grain is Grain.END:
        requests = [with_depth(asked, depth) for depth in depths_to_try(asked)]
    for each in requests:
        plans = [plan for plan in filling_boards(rack, [each]) if plan is not None]
        if plans:
            return plans[-1].fills[0].cuts
    return None
