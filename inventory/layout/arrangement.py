"""A pleasing order for the strips of one band: mirrored, and no two of one piece side by side.

Method: strips are placed in pairs from both sides inwards. A pair is taken only if the rest can then still be placed
with the fewest neighbors of one piece; a count decides that, so the number is exact. Among such pairs two alike come
first, then the widest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from inventory.layout.positions import Appearance, Piece, Strip, StripClass


def min_same_piece_neighbors(
    counts: Iterable[tuple[Piece, int]], left: Piece | None = None, right: Piece | None = None
) -> int:
    """The fewest neighbors of one piece in a row of so many strips of each, between two that have their places.

    >>> a, b = ("A", 1), ("B", 1)
    >>> min_same_piece_neighbors([(a, 3), (b, 2)]), min_same_piece_neighbors([(a, 3), (b, 1)])
    (0, 1)
    >>> min_same_piece_neighbors([(a, 2), (b, 2)], a, a)
    1
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


def arrange(strips: Sequence[Strip], *, mirror: bool = True) -> tuple[Strip, ...]:
    """These strips in order: the fewest neighbors of one piece, then mirrored, then the widest outermost.

    Without `mirror`, strips that look alike are kept apart from their mirror image:
    rows of an end-grain board of which every second is turned then differ.
    """
    row = _Row(strips)
    while len(row) > 1:
        row.place_pair(*row.next_pair(mirror=mirror))
    return row.finish()


def arrange_to_match(strips: Sequence[Strip], target: Sequence[Strip]) -> tuple[Strip, ...]:
    """These strips as near to another row as can be, with the fewest neighbors of one piece."""
    row = _Row(strips)
    for wanted in target:
        if len(row) > 1:
            row.place_left(row.nearest(wanted))
    while len(row) > 1:
        row.place_pair(*row.next_pair(mirror=True))
    return row.finish()


class _Row:
    """A row that grows from both sides inwards, with the fewest neighbors of one piece."""

    def __init__(self, strips: Sequence[Strip]) -> None:
        self.left: list[Strip] = []
        self.right: list[Strip] = []
        self.remaining: dict[StripClass, list[Strip]] = {}
        for strip in sorted(strips, key=lambda each: (each.strip_class, -each.nth)):
            self.remaining.setdefault(strip.strip_class, []).append(strip)
        self.counts = Counter(strip.source for strip in strips)
        self.many = len(strips)
        self._update()

    def __len__(self) -> int:
        return self.many

    def finish(self) -> tuple[Strip, ...]:
        middle = [strip for strip_class in self.remaining.values() for strip in strip_class]
        return (*self.left, *middle, *reversed(self.right))

    def place_pair(self, left: StripClass, right: StripClass) -> None:
        self.right.append(self._pop(right))
        self.place_left(left)

    def place_left(self, strip_class: StripClass) -> None:
        self.left.append(self._pop(strip_class))
        self._update()

    def _pop(self, strip_class: StripClass) -> Strip:
        strip = self.remaining[strip_class].pop()
        if not self.remaining[strip_class]:
            del self.remaining[strip_class]
        self.counts[strip.source] -= 1
        self.many -= 1
        return strip

    def _update(self) -> None:
        """Finds the ends, the pieces with most strips and the fewest neighbors of one piece, for the next choice."""
        self.ends = (
            self.left[-1].source if self.left else None,
            self.right[-1].source if self.right else None,
        )
        self.most = self.counts.most_common(3)
        self.min_adjacent = self._min_adjacent_after((), *self.ends)

    def _min_adjacent_after(self, taken: tuple[Piece, ...], left: Piece | None, right: Piece | None) -> int:
        """The fewest neighbors of one piece once these are placed as well; only pieces that can matter are counted."""
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

    def _is_allowed(self, left: Piece | None, right: Piece | None) -> bool:
        """Whether these may be placed next, None for nothing on that side, without more neighbors of one piece."""
        taken = tuple(piece for piece in (left, right) if piece is not None)
        here = (left is not None and left == self.ends[0]) + (right is not None and right == self.ends[1])
        after = self._min_adjacent_after(taken, left or self.ends[0], right or self.ends[1])
        return here + after == self.min_adjacent

    def next_pair(self, *, mirror: bool) -> tuple[StripClass, StripClass]:
        """The next strip on the left and on the right."""
        if mirror:
            for left, right in self._mirrored():
                if self._is_allowed(left[1], right[1]):
                    return left, right
        return next(self._any_pair(mirror=mirror))

    def _mirrored(self) -> Iterator[tuple[StripClass, StripClass]]:
        """Pairs that look alike, the widest first: of one piece before others."""
        by_look: dict[Appearance, list[StripClass]] = {}
        for strip_class in self.remaining:
            by_look.setdefault(strip_class[0], []).append(strip_class)
        for kinds in by_look.values():
            kinds.sort(key=lambda strip_class: (-self.counts[strip_class[1]], strip_class[1]))
            yield from ((strip_class, strip_class) for strip_class in kinds if len(self.remaining[strip_class]) > 1)
            yield from ((one, other) for one in kinds for other in kinds if one != other)

    def _any_pair(self, *, mirror: bool) -> Iterator[tuple[StripClass, StripClass]]:
        """Pairs that may be placed, the widest first; alike ones first or last."""
        sides = [strip_class for strip_class in self.remaining if self._is_allowed(None, strip_class[1])]
        for left in self.remaining:
            if not self._is_allowed(left[1], None):
                continue
            for right in sorted(sides, key=lambda strip_class: ((strip_class[0] != left[0]) == mirror, strip_class)):
                if (right != left or len(self.remaining[left]) > 1) and self._is_allowed(left[1], right[1]):
                    yield left, right

    def nearest(self, wanted: Strip) -> StripClass:
        """What may be placed next on the left and comes nearest to this strip."""
        may = [strip_class for strip_class in self.remaining if self._is_allowed(strip_class[1], None)]
        return min(
            may,
            key=lambda strip_class: (
                strip_class != wanted.strip_class,
                strip_class[0] != wanted.appearance,
                strip_class,
            ),
        )
