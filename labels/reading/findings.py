"""What was found in a photo: codes with their corners, other texts, and places that are half read.

Knows where a thing lies and which findings are the same thing. Knows nothing of
how they were found. Corners are pixels, clockwise from the symbol's own top left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

Corner = tuple[float, float]
Corners = tuple[Corner, Corner, Corner, Corner]

# A label's two codes lie within so many sides of the larger of them. Labels of the stocks known here are at most
# 102 mm long with a large code of 15 mm and more.
LABEL_REACH = 5.0

# A square that is looked at from 60° aslant is half as high as it is wide; a lens makes a little more of it.
LEAST_SLANT = 0.4


@dataclass(frozen=True)
class SeenCode:
    """One symbol that was read whole: the tag's code, the text in full, where it lies."""

    code: str
    text: str
    corners: Corners


@dataclass(frozen=True)
class SeenText:
    """One symbol that was read whole and is no tag's."""

    text: str
    corners: Corners


@dataclass(frozen=True)
class Reading:
    """All that was found in one photo.

    `seen` has every symbol, so a label with two codes may stand in it twice;
    `half_read` are places where a symbol is seen that could not be read, and
    whose label was not told by its other code either.
    """

    seen: tuple[SeenCode, ...] = ()
    others: tuple[SeenText, ...] = ()
    half_read: tuple[Corners, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """Each code once, in the order of reading: rows from the top, in a row from the left."""
        return tuple(dict.fromkeys(each.code for each in self.seen))


def middle(corners: Corners) -> Corner:
    """The middle of a place.

    >>> middle(((0, 0), (2, 0), (2, 2), (0, 2)))
    (1.0, 1.0)
    """
    return sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4


def side_of(corners: Corners) -> float:
    """The mean side of a place."""
    return sum(math.dist(corners[each - 1], corners[each]) for each in range(4)) / 4


def same_place(one: Corners, other: Corners) -> bool:
    """Whether two findings are of the same symbol: their middles lie within half a side of the larger."""
    return math.dist(middle(one), middle(other)) < max(side_of(one), side_of(other)) / 2


def looks_square(corners: Corners) -> bool:
    """Whether a place may be a symbol seen from anywhere up to a steep slant, and not corners of several.

    >>> looks_square(((0, 0), (2, 0), (2, 2), (0, 2))), looks_square(((0, 0), (2, 0), (2, 9), (0, 9)))
    (True, False)
    """
    sides = [math.dist(corners[each - 1], corners[each]) for each in range(4)]
    across = [math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])]
    return min(sides) > LEAST_SLANT * max(sides) and min(across) > LEAST_SLANT * max(across)


def touches(place: Corners, symbol: Corners) -> bool:
    """Whether a corner of the place lies on the symbol, or its middle does."""
    near = side_of(symbol) * 0.75
    return any(math.dist(each, middle(symbol)) < near for each in (*place, middle(place)))


def moved(corners: Corners, left: float, top: float, scale: float) -> Corners:
    """A place that was found in a part of the picture, of which the part began at left, top and was scaled."""
    a, b, c, d = ((x / scale + left, y / scale + top) for x, y in corners)
    return (a, b, c, d)


@dataclass
class Findings:
    """What has been found so far; the same symbol found again counts once."""

    seen: list[SeenCode] = field(default_factory=list)
    others: list[SeenText] = field(default_factory=list)
    half: list[Corners] = field(default_factory=list)

    def add_code(self, found: SeenCode) -> None:
        """A symbol of ours; what was half read there is whole now."""
        if not any(each.code == found.code and same_place(each.corners, found.corners) for each in self.seen):
            self.seen.append(found)
        self.half = [each for each in self.half if not same_place(each, found.corners)]

    def add_text(self, found: SeenText) -> None:
        """A symbol that is not ours."""
        known = [*(each.corners for each in self.others), *(each.corners for each in self.seen)]
        if not any(same_place(each, found.corners) for each in known):
            self.others.append(found)

    def add_half(self, corners: Corners) -> None:
        """A place where a symbol is seen and not read."""
        known = (*(each.corners for each in self.seen), *self.half)
        if not any(same_place(each, corners) for each in known):
            self.half.append(corners)

    def told(self) -> Reading:
        """All of it in the order of reading; what a label's other code has told already is not half read."""
        half = [
            each
            for each in self.half
            if looks_square(each) and not any(touches(each, code.corners) for code in self.seen)
        ]
        for code in _alone(self.seen):
            near = [(math.dist(middle(code.corners), middle(each)), each) for each in half]
            reach = LABEL_REACH * max([side_of(code.corners), *(side_of(each) for _, each in near)])
            twins = [pair for pair in near if pair[0] < reach]
            if twins:
                half.remove(min(twins)[1])
        others = [
            each for each in self.others if not any(same_place(each.corners, other.corners) for other in self.seen)
        ]
        return Reading(_in_order(self.seen), tuple(others), tuple(half))


def _alone(seen: Iterable[SeenCode]) -> list[SeenCode]:
    """The codes of which one symbol alone was read, so that a second may be near."""
    by_code: dict[str, list[SeenCode]] = {}
    for each in seen:
        by_code.setdefault(each.code, []).append(each)
    return [group[0] for group in by_code.values() if len(group) == 1]


def _in_order(seen: list[SeenCode]) -> tuple[SeenCode, ...]:
    """Rows from the top, in a row from the left; what begins within a side of the row's first is in the row."""
    left = sorted(seen, key=lambda each: middle(each.corners)[1])
    ordered: list[SeenCode] = []
    while left:
        first = left[0]
        depth = middle(first.corners)[1] + side_of(first.corners)
        row = [each for each in left if middle(each.corners)[1] <= depth]
        ordered += sorted(row, key=lambda each: middle(each.corners)[0])
        left = [each for each in left if each not in row]
    return tuple(ordered)
