"""What was found in a photo: tags, other codes, and symbols that can't be decoded.

Corners are pixels, clockwise from the symbol's own top left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

Corner = tuple[float, float]
Corners = tuple[Corner, Corner, Corner, Corner]

# A label's two codes are at most so many sides of the larger one apart. Labels of the built-in stocks are at most
# 102 mm long, with a main code of 15 mm or more.
MAX_LABEL_SPAN = 5.0

# A square seen at an angle of 60° is half as high as it is wide; a lens distorts it further.
MIN_SIDE_RATIO = 0.4


@dataclass(frozen=True)
class DetectedSymbol:
    """One symbol that was decoded: its text, its corners, and the code of the tag; empty where it is no tag's."""

    text: str
    corners: Corners
    code: str = ""


@dataclass(frozen=True)
class Reading:
    """All that was found in one photo.

    `seen` has every symbol of a tag, so a label with two codes may be in it twice; `others` are no tag's. `undecoded`
    are the corners of symbols that could not be decoded, and whose label has no other code that was.
    """

    seen: tuple[DetectedSymbol, ...] = ()
    others: tuple[DetectedSymbol, ...] = ()
    undecoded: tuple[Corners, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """Each code once, row by row from the top left."""
        return tuple(dict.fromkeys(each.code for each in self.seen))


def center(corners: Corners) -> Corner:
    """The center of a symbol.

    >>> center(((0, 0), (2, 0), (2, 2), (0, 2)))
    (1.0, 1.0)
    """
    return sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4


def mean_side(corners: Corners) -> float:
    """The mean side of a symbol."""
    return sum(math.dist(corners[each - 1], corners[each]) for each in range(4)) / 4


def is_same_symbol(one: Corners, other: Corners) -> bool:
    """Whether two quads are of the same symbol: their centers are within half a side of the larger."""
    return math.dist(center(one), center(other)) < max(mean_side(one), mean_side(other)) / 2


def is_plausible_quad(corners: Corners) -> bool:
    """Whether a quad can be one symbol in perspective, and not corners of several.

    >>> is_plausible_quad(((0, 0), (2, 0), (2, 2), (0, 2))), is_plausible_quad(((0, 0), (2, 0), (2, 9), (0, 9)))
    (True, False)
    """
    sides = [math.dist(corners[each - 1], corners[each]) for each in range(4)]
    across = [math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])]
    return min(sides) > MIN_SIDE_RATIO * max(sides) and min(across) > MIN_SIDE_RATIO * max(across)


def touches(quad: Corners, symbol: Corners) -> bool:
    """Whether a corner or the center of a quad is on the symbol."""
    near = mean_side(symbol) * 0.75
    return any(math.dist(each, center(symbol)) < near for each in (*quad, center(quad)))


def to_full_image(corners: Corners, left: float, top: float, scale: float) -> Corners:
    """Corners in the whole picture of what was found in a scaled part of it that begins at left, top."""
    a, b, c, d = ((x / scale + left, y / scale + top) for x, y in corners)
    return (a, b, c, d)


@dataclass
class DetectionCollector:
    """What has been found so far; the same symbol counts once."""

    seen: list[DetectedSymbol] = field(default_factory=list)
    others: list[DetectedSymbol] = field(default_factory=list)
    undecoded_quads: list[Corners] = field(default_factory=list)

    def add(self, symbol: DetectedSymbol) -> None:
        """Adds a decoded symbol; where it is a tag's, its place is no longer undecoded."""
        known = [each for each in self.seen if each.code == symbol.code] if symbol.code else [*self.others, *self.seen]
        if not any(is_same_symbol(each.corners, symbol.corners) for each in known):
            (self.seen if symbol.code else self.others).append(symbol)
        if symbol.code:
            self.undecoded_quads = [each for each in self.undecoded_quads if not is_same_symbol(each, symbol.corners)]

    def add_undecoded(self, corners: Corners) -> None:
        """Adds a symbol that can't be decoded."""
        known = (*(each.corners for each in self.seen), *self.undecoded_quads)
        if not any(is_same_symbol(each, corners) for each in known):
            self.undecoded_quads.append(corners)

    def result(self) -> Reading:
        """All of it in order; a symbol that can't be decoded is left out if its label's other code was."""
        undecoded_quads = [
            each
            for each in self.undecoded_quads
            if is_plausible_quad(each) and not any(touches(each, code.corners) for code in self.seen)
        ]
        for code in _codes_seen_once(self.seen):
            near = [(math.dist(center(code.corners), center(each)), each) for each in undecoded_quads]
            reach = MAX_LABEL_SPAN * max([mean_side(code.corners), *(mean_side(each) for _, each in near)])
            candidates = [pair for pair in near if pair[0] < reach]
            if candidates:
                undecoded_quads.remove(min(candidates)[1])
        others = [
            each for each in self.others if not any(is_same_symbol(each.corners, other.corners) for other in self.seen)
        ]
        return Reading(_sort_by_rows(self.seen), tuple(others), tuple(undecoded_quads))


def _codes_seen_once(seen: Iterable[DetectedSymbol]) -> list[DetectedSymbol]:
    """The symbols of codes that were seen only once, so that a second one may be near."""
    by_code: dict[str, list[DetectedSymbol]] = {}
    for each in seen:
        by_code.setdefault(each.code, []).append(each)
    return [group[0] for group in by_code.values() if len(group) == 1]


def _sort_by_rows(seen: list[DetectedSymbol]) -> tuple[DetectedSymbol, ...]:
    """Symbols row by row from the top left; a row reaches one side down from its first symbol."""
    left = sorted(seen, key=lambda each: center(each.corners)[1])
    ordered: list[DetectedSymbol] = []
    while left:
        first = left[0]
        depth = center(first.corners)[1] + mean_side(first.corners)
        row = [each for each in left if center(each.corners)[1] <= depth]
        ordered += sorted(row, key=lambda each: center(each.corners)[0])
        left = [each for each in left if each not in row]
    return tuple(ordered)
