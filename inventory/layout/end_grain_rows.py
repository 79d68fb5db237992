"""End-grain boards from their panels: slices, rows, which of them are turned (cutting model, section 6).

Sizes are Length.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from inventory.core.lengths import Length
from inventory.fill.request import Grain
from inventory.layout.operations import slice_length
from inventory.layout.positions import FillLayout, GlueUpLayout, Strip


@dataclass(frozen=True)
class Slice:
    """One slice of a panel, which becomes one row of the board.

    `number` counts the rows of the board from 1, `place` the slices of the panel from 0.
    `strips` are its strips from the board's first side to the other: of a `turned`
    slice those of the panel in reverse.
    """

    number: int
    panel: int
    place: int
    turned: bool
    strips: tuple[Strip, ...]


@dataclass(frozen=True)
class SlicedBoard:
    """An end-grain board: its panels, and its rows from the first end to the last.

    `finished_length` is None where the board's own request is not at hand.
    """

    panels: tuple[GlueUpLayout, ...]
    rows: tuple[Slice, ...]
    finished_length: Length | None

    @property
    def board(self) -> int:
        return self.panels[0].planned.board

    @property
    def slice_length(self) -> Length:
        """Along the panel's grain; it becomes the board's rough thickness."""
        return slice_length(self.panels[0].planned)

    @property
    def depth(self) -> Length:
        """How much a row adds to the board's length."""
        return self.panels[0].request.thickness

    @property
    def kerf(self) -> Length:
        return self.panels[0].request.allowances.crosscut_kerf

    @property
    def thickness(self) -> Length:
        """Of the finished board."""
        return Length(self.slice_length - self.panels[0].request.allowances.flattening)

    @property
    def width(self) -> Length:
        """Across the board: the panels are jointed to it before they are sliced."""
        return self.panels[0].request.width

    @property
    def length(self) -> Length:
        """All rows together, before the ends are trimmed."""
        return Length(len(self.rows) * self.depth)

    @property
    def end_trims(self) -> tuple[Length, Length]:
        """Taken off the first and the last row."""
        over = 0 if self.finished_length is None else self.length - self.finished_length
        return Length(over // 2), Length(over - over // 2)

    def slices_of(self, panel: int) -> tuple[Slice, ...]:
        """The slices of one panel, in the order in which they are cut."""
        return tuple(row for row in self.rows if row.panel == panel)


def sliced_boards(fill_layout: FillLayout) -> tuple[SlicedBoard, ...]:
    """The end-grain boards of a fill; none where it has no panels."""
    panels = [layout for layout in fill_layout.layouts if layout.planned.rows]
    by_board = groupby(panels, key=lambda layout: layout.planned.board)
    return tuple(_sliced(fill_layout, tuple(group)) for _, group in by_board)


def _sliced(fill_layout: FillLayout, panels: tuple[GlueUpLayout, ...]) -> SlicedBoard:
    planned, request = panels[0].planned, fill_layout.request
    finished_length = planned.board_length
    if finished_length is None and request.grain is Grain.END and planned.board < request.count:
        finished_length = request.length
    return SlicedBoard(panels, tuple(_rows(panels)), finished_length)


def _rows(panels: tuple[GlueUpLayout, ...]) -> Iterator[Slice]:
    number = 0
    for panel, layout in enumerate(panels):
        for place in range(layout.planned.rows):
            number += 1
            turned = number % 2 == 0
            yield Slice(number, panel, place, turned, layout.strips[::-1] if turned else layout.strips)
