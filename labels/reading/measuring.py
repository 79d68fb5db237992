"""Measuring: how long something is that lies flat in a photo beside symbols of known size.

Knows planes, pictures and what can be known from them. Knows nothing of what is
measured. A photo of a plane is that plane under a projective map (the pinhole
camera); the map and the places of the symbols are fitted to the corners that were
seen, by least squares, and what is uncertain in them is carried through to the
length (propagation of uncertainty to first order: JCGM 100:2008, 5.2, from memory).
Plane lengths are mm, places in the photo pixels.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labels.pdf.measuring_strips import SIDE, place_of
from labels.reading.findings import Corner, Corners, Reading, side_of

Numbers = NDArray[np.float64]

CORNER_FLOOR = 0.4
CORNER_SHARE = 0.001
"""A corner is found to so many pixels, and so much of the symbol's side (measured on rendered photos by the tests)."""
MODEL_SHARE = 0.004
"""Part of a length that the pinhole camera leaves out: lens, paper that is not flat (common practice, no source)."""
SURE = 1.96
"""Standard deviations on either side that hold 95 % of a normal distribution."""
MOST_STEPS = 40
MOST_WORSE = 16.0
"""Corners that miss their places by more than four times what they should, in the mean, are no plane's."""
NOT_PLANE = "The symbols can't be seen as lying in one plane."


class NotMeasurable(Exception):
    """Nothing can be measured by this; the message says why and what helps."""


@dataclass(frozen=True)
class Figure:
    """Points whose places among each other are known, and where each was seen.

    `plane` are mm in the figure's own frame, `seen` pixels in the same order;
    `side` is the side of its symbols in the photo, pixels.
    """

    plane: tuple[Corner, ...]
    seen: tuple[Corner, ...]
    side: float

    def __post_init__(self) -> None:
        if len(self.plane) != len(self.seen) or len(self.plane) < 4:
            raise ValueError("a figure has four points or more, each of them seen")


@dataclass(frozen=True)
class Span:
    """A length in mm; with 95 % certainty it is right to `within` mm."""

    length: float
    within: float


def symbol_figure(corners: Corners, side: float) -> Figure:
    """The figure of one square symbol whose sides are `side` mm long."""
    return Figure(((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)), corners, side_of(corners))


def measured(
    figures: Sequence[Figure], spans: Sequence[tuple[Corner, Corner]], tapped_within: float
) -> tuple[Span, ...]:
    """The lengths between pairs of places in the photo that lie in the plane of the figures.

    `tapped_within` is the standard deviation of a place, pixels. Raises NotMeasurable
    where there is no figure, or the figures can't be seen of one plane.
    """
    if not figures:
        raise NotMeasurable("No symbol of a known size is in the photo.")
    with np.errstate(all="ignore"):
        found, spread = _fitted(figures)
        answer = tuple(_span(found, spread, pair, tapped_within) for pair in spans)
    if not all(math.isfinite(each.length) and math.isfinite(each.within) for each in answer):
        raise NotMeasurable(NOT_PLANE)
    return answer


def _fitted(figures: Sequence[Figure]) -> tuple[Numbers, Numbers]:
    """The eight numbers of the map (and three of each further figure's place), and how they vary together."""
    seen = np.array([point for each in figures for point in each.seen])
    deviations = np.array([_corner_deviation(each) for each in figures for _ in each.seen for _ in "xy"])

    def missing(numbers: Numbers) -> Numbers:
        return np.asarray((_projected(numbers, figures) - seen).ravel() / deviations, dtype=np.float64)

    numbers = _first_guess(figures)
    damping, off = 1e-3, missing(numbers)
    for _ in range(MOST_STEPS):
        slope = _slope(missing, numbers)
        square = slope.T @ slope
        step = _solved(square + damping * np.diag(np.diag(square)), -slope.T @ off)
        after = missing(numbers + step)
        if float(after @ after) < float(off @ off):
            done = float(off @ off) - float(after @ after) < 1e-9 * (1.0 + float(off @ off))
            numbers, off, damping = numbers + step, after, damping / 4
            if done:
                break
        else:
            damping *= 8
            if damping > 1e9:
                break
    slope = _slope(missing, numbers)
    freedom = max(off.size - numbers.size, 1)
    # What fits worse than corners are usually found is less sure; what fits better may be luck.
    worse = max(float(off @ off) / freedom, 1.0)
    if worse > MOST_WORSE:
        raise NotMeasurable(NOT_PLANE)
    return numbers, worse * _solved(slope.T @ slope, np.eye(numbers.size))


def _solved(matrix: Numbers, right: Numbers) -> Numbers:
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise NotMeasurable(NOT_PLANE) from None


def _inverse(matrix: Numbers) -> Numbers:
    return _solved(matrix, np.eye(len(matrix)))


def _corner_deviation(figure: Figure) -> float:
    return CORNER_FLOOR + CORNER_SHARE * figure.side


def _slope(missing: Callable[[Numbers], Numbers], numbers: Numbers) -> Numbers:
    columns = []
    for place in range(numbers.size):
        step = np.zeros_like(numbers)
        step[place] = 1e-6 * max(abs(float(numbers[place])), 1e-3)
        columns.append((missing(numbers + step) - missing(numbers - step)) / (2 * step[place]))
    return np.array(columns).T


def _projected(numbers: Numbers, figures: Sequence[Figure]) -> Numbers:
    """Where the map and the places of the figures put all points in the photo."""
    places = [np.array(figures[0].plane)]
    for number, each in enumerate(figures[1:]):
        x, y, turn = numbers[8 + 3 * number : 11 + 3 * number]
        points = np.array(each.plane)
        cos, sin = math.cos(float(turn)), math.sin(float(turn))
        places.append(points @ np.array([[cos, sin], [-sin, cos]]) + np.array([x, y]))
    return _through(_map_of(numbers), np.concatenate(places))


def _map_of(numbers: Numbers) -> Numbers:
    return np.append(numbers[:8], 1.0).reshape(3, 3)


def _through(by: Numbers, points: Numbers) -> Numbers:
    mapped = np.column_stack([points, np.ones(len(points))]) @ by.T
    return mapped[:, :2] / mapped[:, 2:]


def _first_guess(figures: Sequence[Figure]) -> Numbers:
    """The map by the first figure alone, the others placed by it."""
    first = _map_between(np.array(figures[0].plane), np.array(figures[0].seen))
    back = _inverse(first)
    places: list[float] = []
    for each in figures[1:]:
        there = _through(back, np.array(each.seen))
        own = np.array(each.plane)
        turned = (own - own.mean(0)).T @ (there - there.mean(0))
        turn = math.atan2(float(turned[0, 1] - turned[1, 0]), float(turned[0, 0] + turned[1, 1]))
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = there.mean(0) - own.mean(0) @ np.array([[cos, sin], [-sin, cos]])
        places += [float(x), float(y), turn]
    return np.concatenate([first.ravel()[:8], places])


def _map_between(plane: Numbers, seen: Numbers) -> Numbers:
    """The projective map of plane points to seen ones, by the direct linear method with its last number 1."""
    rows, right = [], []
    for (x, y), (u, v) in zip(plane, seen, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    found, *_ = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)
    return np.append(found, 1.0).reshape(3, 3)


def _span(found: Numbers, spread: Numbers, pair: tuple[Corner, Corner], tapped_within: float) -> Span:
    def length(numbers: Numbers, ends: Numbers) -> float:
        one, other = _through(_inverse(_map_of(numbers)), ends.reshape(2, 2))
        return float(math.dist(one, other))

    ends = np.array(pair, dtype=np.float64).ravel()
    told = length(found, ends)
    by_map = _slope(lambda numbers: np.array([length(numbers, ends)]), found)[0]
    by_tap = np.array([length(found, ends + step) - length(found, ends - step) for step in np.eye(4) * 0.5])
    varies = float(by_map @ spread @ by_map) + float(by_tap @ by_tap) * tapped_within**2
    return Span(told, SURE * math.sqrt(varies) + MODEL_SHARE * told)


def strip_figures(reading: Reading) -> tuple[Figure, ...]:
    """The strips to measure by that are in a photo, one figure each of all its symbols that were read."""
    found: dict[str, list[tuple[Corner, Corners]]] = {}
    for each in reading.others:
        place = place_of(each.text)
        if place is not None:
            found.setdefault(place[0], []).append((place[1:], each.corners))
    return tuple(_strip_figure(symbols) for _, symbols in sorted(found.items()))


def _strip_figure(symbols: Sequence[tuple[Corner, Corners]]) -> Figure:
    own = symbol_figure(symbols[0][1], SIDE).plane
    plane = tuple((x + left, y + top) for (left, top), _ in symbols for x, y in own)
    seen = tuple(corner for _, corners in symbols for corner in corners)
    return Figure(plane, seen, sum(side_of(corners) for _, corners in symbols) / len(symbols))
