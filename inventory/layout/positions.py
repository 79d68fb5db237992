"""The words in which strips in their places are told: strip, run, piece, glue-up, all of a fill.

Places are Length from the first edge of the glue-up before it is trimmed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import Band, FieldBand
from inventory.cutting.marking_out import MarkedPiece
from inventory.fill.plan import PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain
from inventory.layout.arrangement import Appearance, appearance_of


@dataclass(frozen=True)
class PlacedStrip:
    """One strip in its place.

    `number` counts from 1 through all glue-ups of a fill, so that it is written on one
    strip only. `nth` counts what its piece gives, from 0 in the order in which it comes
    off the saw. `turned` lies end for end, `flipped` with its other face up (on edge:
    its other face to the left). `band_group` counts the bands from the first edge, those side
    by side that ask for the same wood as one: within it a strip may lie anywhere.
    """

    number: int
    letter: str
    offcut: Offcut
    start: Length
    width: Length
    closing: bool = False
    band: int = 0
    piece: int = 1
    nth: int = 0
    turned: bool = False
    flipped: bool = False
    band_group: int = 0

    @property
    def end(self) -> Length:
        return Length(self.start + self.width)

    @property
    def appearance(self) -> Appearance:
        """What strips that mirror one another have in common."""
        return appearance_of(self.offcut.species, self.width)


@dataclass(frozen=True)
class StripRun:
    """Strips of one piece that lie side by side."""

    letter: str
    offcut: Offcut
    strips: tuple[PlacedStrip, ...]

    @property
    def start(self) -> Length:
        return self.strips[0].start

    @property
    def end(self) -> Length:
        return self.strips[-1].end

    @property
    def numbers(self) -> str:
        """The strips' numbers as read out: `4` or `4 to 9`."""
        first, last = self.strips[0].number, self.strips[-1].number
        return str(first) if first == last else f"{first} to {last}"


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

    `length`, `width` and `thickness` are the glue-up's own; the finished board's
    sizes are those of `request`, which of an end-grain board is the panel's. What is
    trimmed comes off in equal parts on both sides, ends and faces. `pieces` are those
    that give this glue-up a strip, with all that they are cut to. `planned` says for which
    board it is. `empty_bands` got no strip: their
    pool has fewer strips than bands.
    """

    request: BoardRequest
    length: Length
    width: Length
    thickness: Length
    strips: tuple[PlacedStrip, ...]
    pieces: tuple[LetteredPiece, ...]
    planned: PlannedGlueUp
    empty_bands: tuple[int, ...] = ()

    @property
    def bands(self) -> tuple[Band, ...]:
        """The bands asked for; without any, one field of any wood."""
        return self.request.bands or (FieldBand(),)

    @property
    def mirrored(self) -> bool:
        """Whether the strips look the same from either side."""
        looks = [strip.appearance for strip in self.strips]
        return looks == looks[::-1]

    @property
    def grain(self) -> Grain:
        return self.request.grain

    @property
    def side_trims(self) -> tuple[Length, Length]:
        """Taken off the first and the last outer edge."""
        return _halves(self.width - self.request.width)

    @property
    def end_trims(self) -> tuple[Length, Length]:
        return _halves(self.length - self.request.length)

    @property
    def face_trims(self) -> tuple[Length, Length]:
        """Planed off the two faces of the board."""
        return _halves(self.thickness - self.request.thickness)

    @property
    def runs(self) -> tuple[StripRun, ...]:
        """Strips of one piece that lie together, across the board."""
        grouped = groupby(self.strips, key=lambda strip: strip.letter)
        return tuple(
            StripRun(letter, strips[0].offcut, strips)
            for letter, strips in ((key, tuple(group)) for key, group in grouped)
        )

    @property
    def rips(self) -> int:
        return sum(piece.marked.rips for piece in self.pieces)

    @property
    def crosscuts(self) -> int:
        return sum(piece.marked.crosscuts for piece in self.pieces)

    @property
    def shares(self) -> dict[str, Fraction]:
        """Of the glued width, the part that is each species; the parts sum to 1."""
        widths: dict[str, int] = {}
        for strip in self.strips:
            widths[strip.offcut.species] = widths.get(strip.offcut.species, 0) + strip.width
        return {species: Fraction(width, self.width) for species, width in widths.items()}

    @property
    def identical_pieces(self) -> tuple[tuple[LetteredPiece, ...], ...]:
        """Pieces of one bundle that are cut alike, together; every other piece alone."""
        return _identical_pieces(self.pieces)


@dataclass(frozen=True)
class FillLayout:
    """A whole fill laid out: its glue-ups in order, and every piece of wood once, letters the same in all."""

    request: BoardRequest
    layouts: tuple[GlueUpLayout, ...]
    pieces: tuple[LetteredPiece, ...]

    def layout_of(self, piece: LetteredPiece) -> GlueUpLayout:
        """The first glue-up that gets a strip of this piece."""
        return next(layout for layout in self.layouts if any(each.letter == piece.letter for each in layout.pieces))

    @property
    def strips(self) -> tuple[PlacedStrip, ...]:
        return tuple(strip for layout in self.layouts for strip in layout.strips)

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
        return _identical_pieces(self.pieces)


def _identical_pieces(pieces: Sequence[LetteredPiece]) -> tuple[tuple[LetteredPiece, ...], ...]:
    groups: dict[object, list[LetteredPiece]] = {}
    for piece in pieces:
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
