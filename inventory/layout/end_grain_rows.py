"""End-grain boards from their panels: slices, rows, which of them are turned (cutting model, section 6).

Sizes are Length.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from inventory.core.lengths import Length
from inventory.fill.request import Grain
from inventory.layout.operations import slice_length
from inventory.layout.positions import FillLayout, GlueUpLayout


@dataclass(frozen=True)
class SlicedBoard:
    """An end-grain board: each slice of its panels becomes a row, numbered from 1 from the first end to the last.

    Every second row is turned end for end. `finished_length` is None where the board's own request is not at hand.
    """

    panels: tuple[GlueUpLayout, ...]
    finished_length: Length | None

    @property
    def rows(self) -> int:
        return sum(panel.planned.rows for panel in self.panels)

    @property
    def turned_rows(self) -> range:
        """The numbers of the rows that are turned."""
        return range(2, self.rows + 1, 2)

    def rows_of(self, panel: int) -> range:
        """The numbers of the rows that one panel gives, in the order in which its slices are cut."""
        first = 1 + sum(each.planned.rows for each in self.panels[:panel])
        return range(first, first + self.panels[panel].planned.rows)

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
        """Across the rows: the panels are jointed to it before they are sliced."""
        return self.panels[0].planned.jointed_width

    @property
    def finished_width(self) -> Length:
        """Across the board, once its sides are trimmed after the second glue-up."""
        return self.panels[0].request.width

    @property
    def side_trims(self) -> tuple[Length, Length]:
        """Taken off the two sides of all rows."""
        over = self.width - self.finished_width
        return Length(over // 2), Length(over - over // 2)

    @property
    def length(self) -> Length:
        """All rows together, before the ends are trimmed."""
        return Length(self.rows * self.depth)

    @property
    def end_trims(self) -> tuple[Length, Length]:
        """Taken off the first and the last row."""
        over = 0 if self.finished_length is None else self.length - self.finished_length
        return Length(over // 2), Length(over - over // 2)


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
    return SlicedBoard(panels, finished_length)
