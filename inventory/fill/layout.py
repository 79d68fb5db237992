"""The order of the strips in a glue-up, and their numbers.

Knows which strip lies where across the board, and by which letter a piece of
wood goes, so that drawing, cut sheet and glue-up agree. Knows nothing of how a
fill was found or how it is drawn. Places are Length from the first edge of the
glue-up before it is trimmed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from inventory.cutting.cuts import Cut
from inventory.cutting.marking import MarkedPiece, mark_edge_grain, mark_face_grain
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain
from inventory.measures import Length
from inventory.pieces import Offcut


@dataclass(frozen=True)
class Strip:
    """One strip in its place: `number` counts from 1 across the glue-up."""

    number: int
    letter: str
    offcut: Offcut
    start: Length
    width: Length
    closing: bool = False

    @property
    def end(self) -> Length:
        return Length(self.start + self.width)


@dataclass(frozen=True)
class Run:
    """Strips of one piece that lie side by side."""

    letter: str
    offcut: Offcut
    strips: tuple[Strip, ...]

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
class PieceInFill:
    """One piece of wood of a fill, marked out, with its letter and its strips' numbers.

    `numbers` stand in the order in which the strips are ripped.
    """

    letter: str
    marked: MarkedPiece
    numbers: tuple[int, ...]

    @property
    def offcut(self) -> Offcut:
        return self.marked.offcut

    @property
    def by_length(self) -> tuple[tuple[int, ...], ...]:
        """The strips' numbers, one tuple for each crosscut length."""
        numbers = iter(self.numbers)
        return tuple(tuple(next(numbers) for _ in length.strips) for length in self.marked.lengths)


@dataclass(frozen=True)
class Layout:
    """A fill laid out: strips across the board, and the board within them.

    `length`, `width` and `thickness` are the glue-up's own; the finished board's
    sizes are the request's. What is trimmed comes off in equal parts on both
    sides, ends and faces.
    """

    request: BoardRequest
    length: Length
    width: Length
    thickness: Length
    strips: tuple[Strip, ...]
    pieces: tuple[PieceInFill, ...]

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
    def runs(self) -> tuple[Run, ...]:
        """Strips of one piece that lie together, across the board."""
        grouped = groupby(self.strips, key=lambda strip: strip.letter)
        return tuple(
            Run(letter, strips[0].offcut, strips) for letter, strips in ((key, tuple(group)) for key, group in grouped)
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
    def like_pieces(self) -> tuple[tuple[PieceInFill, ...], ...]:
        """Pieces of one bundle that are cut alike, together; every other piece alone."""
        groups: dict[object, list[PieceInFill]] = {}
        for piece in self.pieces:
            key = (piece.offcut, tuple((len(each.strips), each.ripped) for each in piece.marked.lengths))
            groups.setdefault(key, []).append(piece)
        return tuple(tuple(group) for group in groups.values())


def lay_out(fill: Fill, request: BoardRequest) -> Layout:
    """Puts a fill's strips in order across the board and numbers them.

    The strips of one tag stay together. The widest lie outermost, for the
    side trim comes off there and would leave little of a thin one; the order is
    a proposal and any other glues up as wide. Letters follow from left to right.
    """
    strips: list[Strip] = []
    numbers: dict[tuple[str, int], dict[bool, list[int]]] = {}
    letters: dict[tuple[str, int], str] = {}
    place = 0
    for cut in _across(fill.cuts):
        key = (cut.offcut.tag, cut.piece)
        letter = letters.setdefault(key, letter_of(len(letters)))
        for count in range(cut.strips):
            start, end = place + cut.adds * count // cut.strips, place + cut.adds * (count + 1) // cut.strips
            number = len(strips) + 1
            strips.append(Strip(number, letter, cut.offcut, Length(start), Length(end - start), cut.closing))
            numbers.setdefault(key, {False: [], True: []})[cut.closing].append(number)
        place += cut.adds
    return Layout(
        request=request,
        length=fill.strip_length,
        width=Length(place),
        thickness=fill.rough_thickness,
        strips=tuple(strips),
        pieces=tuple(_pieces(fill, request, letters, numbers)),
    )


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


def _pieces(
    fill: Fill,
    request: BoardRequest,
    letters: dict[tuple[str, int], str],
    numbers: dict[tuple[str, int], dict[bool, list[int]]],
) -> Iterator[PieceInFill]:
    for key, letter in letters.items():
        cuts = [cut for cut in fill.cuts if (cut.offcut.tag, cut.piece) == key]
        if request.grain is Grain.EDGE:
            marked = mark_edge_grain(cuts, request.allowances, fill.strip_length, fill.rough_thickness)
        else:
            marked = mark_face_grain(cuts, request.allowances, fill.strip_length)
        yield PieceInFill(letter, marked, tuple(numbers[key][False] + numbers[key][True]))


def _across(cuts: Sequence[Cut]) -> Iterator[Cut]:
    """The cuts from the first edge of the board to the last, band after band."""
    bands: dict[int, dict[str, list[Cut]]] = {}
    for cut in cuts:
        bands.setdefault(cut.band, {}).setdefault(cut.offcut.tag, []).append(cut)
    for _, tags in sorted(bands.items()):
        widest_first = sorted(tags.values(), key=_place_of)
        for tag in widest_first[::2]:
            yield from sorted(tag, key=lambda cut: (cut.closing, cut.piece))
        for tag in reversed(widest_first[1::2]):
            yield from sorted(tag, key=lambda cut: (not cut.closing, cut.piece))


def _place_of(cuts: Sequence[Cut]) -> tuple[Fraction, str, str]:
    widest = max(Fraction(cut.adds, cut.strips) for cut in cuts)
    return (-widest, cuts[0].offcut.species, cuts[0].offcut.tag)


def _halves(size: int) -> tuple[Length, Length]:
    return Length(size // 2), Length(size - size // 2)
