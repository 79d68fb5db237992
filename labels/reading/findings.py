"""What was found in a photo: codes with their corners, other texts, and places that are half read.

Corners are pixels, clockwise from the symbol's own top left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

Corner = tuple[float, float]
Corners = tuple[Corner, Corner, Corner, Corner]

# A label's two codes lie within so many sides of the larger of them. Labels of the stocks known here are at most
# 102 mm long with a large code of 15 mm and more.
MAX_LABEL_SPAN = 5.0

# A square that is looked at from 60° aslant is half as high as it is wide; a lens makes a little more of it.
MIN_SIDE_RATIO = 0.4


@dataclass(frozen=True)
class DetectedCode:
    """One symbol that was read whole: the tag's code, the text in full, where it lies."""

    code: str
    text: str
    corners: Corners


@dataclass(frozen=True)
class DetectedText:
    """One symbol that was read whole and is no tag's."""

    text: str
    corners: Corners


@dataclass(frozen=True)
class Reading:
    """All that was found in one photo.

    `seen` has every symbol, so a label with two codes may stand in it twice;
    `undecoded` are places where a symbol is seen that could not be read, and
    whose label was not told by its other code either.
    """

    seen: tuple[DetectedCode, ...] = ()
    others: tuple[DetectedText, ...] = ()
    undecoded: tuple[Corners, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """Each code once, in the order of reading: rows from the top, in a row from the left."""
        return tuple(dict.fromkeys(each.code for each in self.seen))


def center(corners: Corners) -> Corner:
    """The middle of a place.

    >>> center(((0, 0), (2, 0), (2, 2), (0, 2)))
    (1.0, 1.0)
    """
    return sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4


def mean_side(corners: Corners) -> float:
    """The mean side of a place."""
    return sum(math.dist(corners[each - 1], corners[each]) for each in range(4)) / 4


def is_same_symbol(one: Corners, other: Corners) -> bool:
    """Whether two findings are of the same symbol: their middles lie within half a side of the larger."""
    return math.dist(center(one), center(other)) < max(mean_side(one), mean_side(other)) / 2


def is_plausible_quad(corners: Corners) -> bool:
    """Whether a place may be a symbol seen from anywhere up to a steep slant, and not corners of several.

    >>> is_plausible_quad(((0, 0), (2, 0), (2, 2), (0, 2))), is_plausible_quad(((0, 0), (2, 0), (2, 9), (0, 9)))
    (True, False)
    """
    sides = [math.dist(corners[each - 1], corners[each]) for each in range(4)]
    across = [math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])]
    return min(sides) > MIN_SIDE_RATIO * max(sides) and min(across) > MIN_SIDE_RATIO * max(across)


def touches(place: Corners, symbol: Corners) -> bool:
    """Whether a corner of the place lies on the symbol, or its middle does."""
    near = mean_side(symbol) * 0.75
    return any(math.dist(each, center(symbol)) < near for each in (*place, center(place)))


def to_full_image(corners: Corners, left: float, top: float, scale: float) -> Corners:
    """A place that was found in a part of the picture, of which the part began at left, top and was scaled."""
    a, b, c, d = ((x / scale + left, y / scale + top) for x, y in corners)
    return (a, b, c, d)


@dataclass
class DetectionCollector:
    """What has been found so far; the same symbol found again counts once."""

    seen: list[DetectedCode] = field(default_factory=list)
    others: list[DetectedText] = field(default_factory=list)
    undecoded_quads: list[Corners] = field(default_factory=list)

    def add_code(self, detection: DetectedCode) -> None:
        """A symbol of ours; what was half read there is whole now."""
        if not any(
            each.code == detection.code and is_same_symbol(each.corners, detection.corners) for each in self.seen
        ):
            self.seen.append(detection)
        self.undecoded_quads = [each for each in self.undecoded_quads if not is_same_symbol(each, detection.corners)]

    def add_text(self, detection: DetectedText) -> None:
        """A symbol that is not ours."""
        known = [*(each.corners for each in self.others), *(each.corners for each in self.seen)]
        if not any(is_same_symbol(each, detection.corners) for each in known):
            self.others.append(detection)

    def add_undecoded(self, corners: Corners) -> None:
        """A place where a symbol is seen and not read."""
        known = (*(each.corners for each in self.seen), *self.undecoded_quads)
        if not any(is_same_symbol(each, corners) for each in known):
            self.undecoded_quads.append(corners)

    def result(self) -> Reading:
        """All of it in the order of reading; what a label's other code has told already is not half read."""
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


def _codes_seen_once(seen: Iterable[DetectedCode]) -> list[DetectedCode]:
    """The codes of which one symbol alone was read, so that a second may be near."""
    by_code: dict[str, list[DetectedCode]] = {}
    for each in seen:
        by_code.setdefault(each.code, []).append(each)
    return [group[0] for group in by_code.values() if len(group) == 1]


def _sort_by_rows(seen: list[DetectedCode]) -> tuple[DetectedCode, ...]:
    """Rows from the top, in a row from the left; what begins within a side of the row's first is in the row."""
    left = sorted(seen, key=lambda each: center(each.corners)[1])
    ordered: list[DetectedCode] = []
    while left:
        first = left[0]
        depth = center(first.corners)[1] + mean_side(first.corners)
        row = [each for each in left if center(each.corners)[1] <= depth]
        ordered += sorted(row, key=lambda each: center(each.corners)[0])
        left = [each for each in left if each not in row]
    return tuple(ordered)
