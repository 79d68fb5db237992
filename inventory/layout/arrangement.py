"""A pleasing order for the strips of one band: mirrored, and no two of one piece side by side.

Method: strips are laid in pairs from both sides inwards. A pair is taken only if the
rest can then still be laid with the fewest neighbours of one piece that there can be,
which a count tells; so that number is exact. Among such pairs two alike come first,
then the widest. Knows nothing of bands, kerfs or how strips are made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.lengths import Length

Piece = tuple[str, int]
"""A piece of wood: its tag, and which of its like pieces."""

Look = tuple[int, str]
"""What strips have in common that mirror one another: their width, the widest first, and their species."""


ALIKE = 100
"""Strips of one length differ by a nanometre where it does not divide evenly; to so many they count as like."""


def look_of(species: str, width: Length) -> Look:
    """The look of a strip of this width, to a ten-thousandth of a millimetre."""
    return (-(width // ALIKE * ALIKE), species)


@dataclass(frozen=True)
class LooseStrip:
    """A strip that has no place yet; `nth` counts what its piece gives, from 0 in the order in which it comes off."""

    piece: Piece
    nth: int
    species: str
    width: Length
    closing: bool = False

    @property
    def look(self) -> Look:
        return look_of(self.species, self.width)

    @property
    def kind(self) -> tuple[Look, Piece]:
        """Strips of one kind can't be told apart."""
        return (self.look, self.piece)


Kind = tuple[Look, Piece]


def fewest_alike(counts: Iterable[tuple[Piece, int]], left: Piece | None = None, right: Piece | None = None) -> int:
    """The fewest neighbours of one piece in a row of so many strips of each, between these two that lie already.

    >>> a, b = ("A", 1), ("B", 1)
    >>> fewest_alike([(a, 3), (b, 2)]), fewest_alike([(a, 3), (b, 1)]), fewest_alike([(a, 2), (b, 2)], a, a)
    (0, 1, 1)
    """
    listed = list(counts)
    if left is not None and left == right and left not in {piece for piece, _ in listed}:
        listed.append((left, 0))
    many = sum(count for _, count in listed)
    return (
        max((2 * count - many - 1 + (piece == left) + (piece == right) for piece, count in listed), default=0)
        if many
        else int(left is not None and left == right)
    )


def alike_neighbours(strips: Sequence[LooseStrip]) -> int:
    """How many strips lie beside the next one of the same piece."""
    return sum(one.piece == other.piece for one, other in pairwise(strips))


def arrange(strips: Sequence[LooseStrip], *, mirror: bool = True) -> tuple[LooseStrip, ...]:
    """These strips in order: the fewest neighbours of one piece, then mirrored, then the widest outermost.

    Without `mirror`, strips that look alike are kept apart from their mirror image:
    rows of an end-grain board of which every second is turned then differ.
    """
    row = _Row(strips)
    while len(row) > 1:
        row.lay(*row.pair(mirror=mirror))
    return row.done()


def arrange_like(strips: Sequence[LooseStrip], wished: Sequence[LooseStrip]) -> tuple[LooseStrip, ...]:
    """These strips as near to another row as can be, with the fewest neighbours of one piece."""
    row = _Row(strips)
    for wish in wished:
        if len(row) > 1:
            row.lay_left(row.nearest(wish))
    while len(row) > 1:
        row.lay(*row.pair(mirror=True))
    return row.done()


class _Row:
    """A row that grows from both sides inwards, never with more alike neighbours than must be."""

    def __init__(self, strips: Sequence[LooseStrip]) -> None:
        self.left: list[LooseStrip] = []
        self.right: list[LooseStrip] = []
        self.waiting: dict[Kind, list[LooseStrip]] = {}
        for strip in sorted(strips, key=lambda each: (each.kind, -each.nth)):
            self.waiting.setdefault(strip.kind, []).append(strip)
        self.counts = Counter(strip.piece for strip in strips)
        self.many = len(strips)
        self._look_over()

    def __len__(self) -> int:
        return self.many

    def done(self) -> tuple[LooseStrip, ...]:
        middle = [strip for kind in self.waiting.values() for strip in kind]
        return (*self.left, *middle, *reversed(self.right))

    def lay(self, left: Kind, right: Kind) -> None:
        self.right.append(self._take(right))
        self.lay_left(left)

    def lay_left(self, kind: Kind) -> None:
        self.left.append(self._take(kind))
        self._look_over()

    def _take(self, kind: Kind) -> LooseStrip:
        strip = self.waiting[kind].pop()
        if not self.waiting[kind]:
            del self.waiting[kind]
        self.counts[strip.piece] -= 1
        self.many -= 1
        return strip

    def _look_over(self) -> None:
        """Notes the ends, the pieces with most strips and what must be, for the next choice."""
        self.ends = (
            self.left[-1].piece if self.left else None,
            self.right[-1].piece if self.right else None,
        )
        self.most = self.counts.most_common(3)
        self.must = self._alike_after((), *self.ends)

    def _alike_after(self, taken: tuple[Piece, ...], left: Piece | None, right: Piece | None) -> int:
        """The fewest alike neighbours once these are laid as well, by the pieces that can matter alone."""
        watched = dict(self.most)
        for piece in (*taken, left, right):
            if piece is not None:
                watched[piece] = self.counts[piece]
        for piece in taken:
            watched[piece] -= 1
        many = self.many - len(taken)
        if not many:
            return int(left is not None and left == right)
        alike = (2 * count - many - 1 + (piece == left) + (piece == right) for piece, count in watched.items())
        return max(0, *alike)

    def _may(self, left: Piece | None, right: Piece | None) -> bool:
        """Whether these may be laid next, None for nothing on that side, with no more alike neighbours than must be."""
        taken = tuple(piece for piece in (left, right) if piece is not None)
        here = (left is not None and left == self.ends[0]) + (right is not None and right == self.ends[1])
        after = self._alike_after(taken, left or self.ends[0], right or self.ends[1])
        return here + after == self.must

    def pair(self, *, mirror: bool) -> tuple[Kind, Kind]:
        """The next strip on the left and on the right."""
        if mirror:
            for left, right in self._mirrored():
                if self._may(left[1], right[1]):
                    return left, right
        return next(self._any_pair(mirror=mirror))

    def _mirrored(self) -> Iterator[tuple[Kind, Kind]]:
        """Pairs that look alike, the widest first: of one piece before others."""
        by_look: dict[Look, list[Kind]] = {}
        for kind in self.waiting:
            by_look.setdefault(kind[0], []).append(kind)
        for kinds in by_look.values():
            kinds.sort(key=lambda kind: (-self.counts[kind[1]], kind[1]))
            yield from ((kind, kind) for kind in kinds if len(self.waiting[kind]) > 1)
            yield from ((one, other) for one in kinds for other in kinds if one != other)

    def _any_pair(self, *, mirror: bool) -> Iterator[tuple[Kind, Kind]]:
        """Pairs that may be laid, the widest first; alike ones first or last."""
        sides = [kind for kind in self.waiting if self._may(None, kind[1])]
        for left in self.waiting:
            if not self._may(left[1], None):
                continue
            for right in sorted(sides, key=lambda kind: ((kind[0] != left[0]) == mirror, kind)):
                if (right != left or len(self.waiting[left]) > 1) and self._may(left[1], right[1]):
                    yield left, right

    def nearest(self, wish: LooseStrip) -> Kind:
        """What may be laid next on the left and comes nearest to this strip."""
        may = [kind for kind in self.waiting if self._may(kind[1], None)]
        return min(may, key=lambda kind: (kind != wish.kind, kind[0] != wish.look, kind))
