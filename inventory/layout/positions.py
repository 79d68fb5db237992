"""A fill laid out: strips in their places, the pieces that they are cut from, glue-ups, and all of a fill.

Positions are Length from the first edge of the glue-up before it is trimmed.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.marking_out import MarkedPiece
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain

Piece = tuple[str, int]
"""A piece of wood: its tag, and which of its like pieces."""

Appearance = tuple[int, str]
"""What strips have in common that mirror one another: their width, the widest first, and their species."""

StripClass = tuple[Appearance, Piece]
"""Strips of one class are interchangeable: same appearance, same piece."""

WIDTH_TOLERANCE = 100
"""Strips of one length differ by a nanometer where its width does not divide evenly; up to this many are like."""

FIRST_EDGE = Length(0)


@dataclass(frozen=True)
class Strip:
    """One strip of a glue-up.

    `piece` counts the pieces under one tag from 1, `nth` the strips that a piece gives, from 0 in the order in
    which they come off the saw. `part` says that it is of a part of a length. `band_group` counts the bands from
    the first edge, those side by side that ask for the same wood as one: within it a strip may have any place.
    `turned` is end for end, `flipped` the other face up (on edge: the other face to the left).

    `number`, `letter`, `start` and `band` are those of its place, once it has one. `number` counts from 1 through all
    glue-ups of a fill, so that it is written on one strip only; `letter` is that of its piece.
    """

    offcut: Offcut
    piece: int
    nth: int
    width: Length
    part: bool = False
    band_group: int = 0
    turned: bool = False
    flipped: bool = False
    number: int = 0
    letter: str = ""
    start: Length = FIRST_EDGE
    band: int = 0

    @property
    def end(self) -> Length:
        return Length(self.start + self.width)

    @property
    def source(self) -> Piece:
        """The piece that it is cut from."""
        return (self.offcut.tag, self.piece)

    @property
    def appearance(self) -> Appearance:
        """What strips that mirror one another have in common; widths to a ten-thousandth of a millimeter."""
        return (-(self.width // WIDTH_TOLERANCE * WIDTH_TOLERANCE), self.offcut.species)

    @property
    def strip_class(self) -> StripClass:
        return (self.appearance, self.source)


@dataclass(frozen=True)
class LetteredPiece:
    """One piece of wood of a fill, marked out, with its letter and its strips' numbers.

    `numbers_by_strip` has the numbers that each ripped strip gets, in the order of ripping: one,
    or one for each of its leaves; none for a strip that no glue-up needs.
    """

    letter: str
    marked: MarkedPiece
    numbers_by_strip: tuple[tuple[int, ...], ...]

    @property
    def offcut(self) -> Offcut:
        return self.marked.offcut

    @property
    def numbers(self) -> tuple[int, ...]:
        """All numbers, in the order in which the strips and leaves come off."""
        return tuple(number for numbers in self.numbers_by_strip for number in numbers)

    @property
    def numbers_by_length(self) -> tuple[tuple[int, ...], ...]:
        """The numbers, one tuple for each crosscut length."""
        strips = iter(self.numbers_by_strip)
        return tuple(tuple(number for _ in length.strips for number in next(strips)) for length in self.marked.lengths)


@dataclass(frozen=True)
class GlueUpLayout:
    """One glue-up laid out: strips across the board, and the board within them.

    `length`, `width` and `thickness` are the glue-up's own; the finished sizes are those of `request`, of an end-grain
    board the panel's, which is jointed to `planned.jointed_width`. What is trimmed comes off in equal parts on both
    sides, ends and faces. `pieces` are those that give this glue-up a strip, with all that they are cut to.
    """

    planned: PlannedGlueUp
    strips: tuple[Strip, ...]
    pieces: tuple[LetteredPiece, ...]

    @property
    def request(self) -> BoardRequest:
        return self.planned.request

    @property
    def length(self) -> Length:
        return self.request.glue_up.strip_length

    @property
    def width(self) -> Length:
        return Length(sum(strip.width for strip in self.strips))

    @property
    def thickness(self) -> Length:
        return self.request.glue_up.rough_thickness

    @property
    def grain(self) -> Grain:
        return self.request.grain

    @property
    def is_mirrored(self) -> bool:
        """Whether the strips look the same from either side."""
        appearances = [strip.appearance for strip in self.strips]
        return appearances == appearances[::-1]

    @property
    def side_trims(self) -> tuple[Length, Length]:
        """Taken off the first and the last outer edge."""
        return _halves(self.width - self.planned.jointed_width)

    @property
    def end_trims(self) -> tuple[Length, Length]:
        return _halves(self.length - self.request.length)

    @property
    def face_trims(self) -> tuple[Length, Length]:
        """Planed off the two faces of the board."""
        return _halves(self.thickness - self.request.thickness)

    @property
    def runs(self) -> tuple[tuple[Strip, ...], ...]:
        """Strips of one piece that lie side by side, together, across the board."""
        return tuple(tuple(group) for _, group in groupby(self.strips, key=lambda strip: strip.letter))


@dataclass(frozen=True)
class FillLayout:
    """A fill laid out: its glue-ups in order, and every piece of wood once, letters the same in all.

    `request` is what was asked for. Of a round of boards, `layouts` and `pieces` are those of the round alone.
    """

    fill: Fill
    request: BoardRequest
    layouts: tuple[GlueUpLayout, ...]
    pieces: tuple[LetteredPiece, ...]

    def layout_of(self, piece: LetteredPiece) -> GlueUpLayout:
        """The first glue-up that gets a strip of this piece."""
        return next(layout for layout in self.layouts if any(each.letter == piece.letter for each in layout.pieces))

    @property
    def strips(self) -> tuple[Strip, ...]:
        return tuple(strip for layout in self.layouts for strip in layout.strips)

    @property
    def letters(self) -> dict[Piece, str]:
        """The letter of each piece."""
        return {(piece.offcut.tag, piece.marked.piece): piece.letter for piece in self.pieces}

    @property
    def rips(self) -> int:
        return sum(piece.marked.rips for piece in self.pieces)

    @property
    def crosscuts(self) -> int:
        return sum(piece.marked.crosscuts for piece in self.pieces)

    @property
    def resaws(self) -> int:
        return sum(piece.marked.resaws for piece in self.pieces)

    @property
    def identical_pieces(self) -> tuple[tuple[LetteredPiece, ...], ...]:
        """Pieces of one bundle that are cut alike, together; every other piece alone."""
        groups: dict[object, list[LetteredPiece]] = {}
        for piece in self.pieces:
            marked = piece.marked
            lengths = tuple((len(each.strips), each.ripped) for each in marked.lengths)
            key = (piece.offcut, lengths, tuple(map(len, piece.numbers_by_strip)), marked.resawn)
            groups.setdefault(key, []).append(piece)
        return tuple(tuple(group) for group in groups.values())


def letter_of(place: int) -> str:
    """A, B … Z, AA, AB …: the name of a piece within one fill.

    >>> [letter_of(place) for place in (0, 25, 26, 52)]
    ['A', 'Z', 'AA', 'BA']
    """
    letters = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _halves(size: int) -> tuple[Length, Length]:
    return Length(size // 2), Length(size - size // 2)
