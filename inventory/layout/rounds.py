"""Many boards in rounds: as many as one page or cut sheet shows, with the pieces that are cut for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from inventory.layout.positions import FillLayout, GlueUpLayout, LetteredPiece

MAX_DISTINCT_GLUE_UPS = 12
"""The most different glue-ups that are drawn in a round."""
MAX_PIECES_PER_ROUND = 30
"""The most pieces that are cut in a round, unless a single board takes more."""
MAX_BOARDS_PER_ROUND = 48
"""The most boards in a round, even where they are all alike."""


@dataclass(frozen=True)
class Round:
    """The boards from `first` to `last`, counted from 1, of all `boards`; rounds are numbered from 1 too.

    `fill_layout` has their glue-ups, the first of which is the fill's number `glue_up` (from 0),
    and the pieces of which they get the first strip. `earlier` were cut in earlier rounds,
    and some strips of them go to these boards.
    """

    number: int
    first: int
    last: int
    boards: int
    glue_up: int
    fill_layout: FillLayout
    earlier: tuple[LetteredPiece, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether all boards are in it."""
        return self.last - self.first + 1 == self.boards

    @property
    def label(self) -> str:
        """Its boards as read out: `Boards 13 to 24`, or `Board 25`."""
        return f"Board {self.first}" if self.first == self.last else f"Boards {self.first} to {self.last}"

    @property
    def pieces_by_tag(self) -> dict[str, int]:
        """How many pieces of each tag are cut in this round."""
        taken: dict[str, int] = {}
        for piece in self.fill_layout.pieces:
            taken[piece.offcut.tag] = taken.get(piece.offcut.tag, 0) + 1
        return taken


def split_into_rounds(fill_layout: FillLayout) -> tuple[Round, ...]:
    """A fill's boards in rounds, in their order; one round where they are few."""
    boards = board_count(fill_layout)
    rounds: list[Round] = []
    cut: set[str] = set()
    glue_up = 0
    for first, layouts in _by_round(fill_layout):
        letters = {piece.letter for layout in layouts for piece in layout.pieces}
        here = tuple(piece for piece in fill_layout.pieces if piece.letter in letters - cut)
        earlier = tuple(piece for piece in fill_layout.pieces if piece.letter in letters & cut)
        last = first + len({_board(each) for each in layouts}) - 1
        part = replace(fill_layout, layouts=tuple(layouts), pieces=here)
        rounds.append(Round(len(rounds) + 1, first, last, boards, glue_up, part, earlier))
        cut |= letters
        glue_up += len(layouts)
    return tuple(rounds)


def whole(fill_layout: FillLayout) -> Round:
    """All boards as one round."""
    boards = board_count(fill_layout)
    return Round(1, 1, boards, boards, 0, fill_layout)


def board_count(fill_layout: FillLayout) -> int:
    """How many boards a fill makes."""
    return len({_board(layout) for layout in fill_layout.layouts})


def _by_round(fill_layout: FillLayout) -> Iterator[tuple[int, list[GlueUpLayout]]]:
    """The number of each round's first board, from 1, with the round's glue-ups."""
    first, boards = 1, 0
    layouts: list[GlueUpLayout] = []
    kinds: set[object] = set()
    pieces: set[str] = set()
    for _, group in groupby(fill_layout.layouts, key=_board):
        board = list(group)
        more_kinds = kinds | {layout_key(each) for each in board}
        more_pieces = pieces | {piece.letter for each in board for piece in each.pieces}
        if layouts and (
            len(more_kinds) > MAX_DISTINCT_GLUE_UPS
            or len(more_pieces) > MAX_PIECES_PER_ROUND
            or boards + 1 > MAX_BOARDS_PER_ROUND
        ):
            yield first, layouts
            first, boards, layouts = first + boards, 0, []
            more_kinds = {layout_key(each) for each in board}
            more_pieces = {piece.letter for each in board for piece in each.pieces}
        layouts, boards, kinds, pieces = [*layouts, *board], boards + 1, more_kinds, more_pieces
    if layouts:
        yield first, layouts


def _board(layout: GlueUpLayout) -> int:
    return layout.planned.board


def layout_key(layout: GlueUpLayout) -> object:
    """Equal for glue-ups that look the same: species, widths, bands and turns of their strips, from any pieces."""
    rows = layout.planned.rows
    strips = tuple(
        (strip.offcut.species, strip.width, strip.part, strip.band, strip.turned, strip.flipped)
        for strip in layout.strips
    )
    # The panels of an end-grain board each go to a board of their own.
    own = _board(layout) if rows else None
    sizes = (layout.request.length, layout.request.width, layout.request.thickness)
    return (own, layout.length, layout.width, layout.thickness, *sizes, layout.request.grain, strips)


def group_identical(layouts: Sequence[GlueUpLayout]) -> tuple[tuple[GlueUpLayout, ...], ...]:
    """Glue-ups that look the same, together; each panel of an end-grain board alone."""
    groups: dict[object, list[GlueUpLayout]] = {}
    for layout in layouts:
        key = layout_key(layout) if not layout.planned.rows else id(layout)
        groups.setdefault(key, []).append(layout)
    return tuple(tuple(group) for group in groups.values())
