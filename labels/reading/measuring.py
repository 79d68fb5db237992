"""Lengths in a photo of a plane with symbols of known size.

A photo of a plane is a homography of it (pinhole camera). The homography and the places of the symbols are fitted to
the detected corners by least squares (Levenberg-Marquardt), and their covariance gives the uncertainty of a length
(propagation of uncertainty to first order: JCGM 100:2008, 5.2, from memory). Lengths in the plane are mm, places in the
photo pixels.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labels.errors import LabelError
from labels.pdf.measuring_strips import SYMBOL_SIDE, parse_symbol_text
from labels.reading.findings import Corner, Corners, Reading, mean_side

FloatArray = NDArray[np.float64]

CORNER_SIGMA = 0.4
CORNER_SIGMA_RATIO = 0.001
"""Standard deviation of a corner in pixels, plus a share of the symbol's side (measured on rendered photos)."""
MODEL_ERROR_RATIO = 0.004
"""Relative error of the pinhole camera: lens, paper that is not flat (common practice, no source)."""
Z_95 = 1.96
"""95 % of a normal distribution are within so many standard deviations of its mean."""
MAX_ITERATIONS = 40
MAX_REDUCED_CHI2 = 16.0
"""Corners with residuals of more than four standard deviations, in the mean, are not in one plane."""
NOT_COPLANAR = "The symbols can't be seen as lying in one plane."


class MeasurementError(LabelError):
    """Nothing can be measured in this photo."""


@dataclass(frozen=True)
class CalibrationTarget:
    """Points of known relative position, and their places in the photo.

    `plane` are mm in the target's own frame, `seen` are pixels in the same order; `side` is the side of its symbols in
    the photo, in pixels.
    """

    plane: tuple[Corner, ...]
    seen: tuple[Corner, ...]
    side: float

    def __post_init__(self) -> None:
        if len(self.plane) != len(self.seen) or len(self.plane) < 4:
            raise ValueError("a figure has four points or more, each of them seen")


@dataclass(frozen=True)
class MeasuredLength:
    """A length in mm with its 95 % confidence interval, ± `within` mm."""

    length: float
    within: float


def symbol_target(corners: Corners, side: float) -> CalibrationTarget:
    """The target of one square symbol whose sides are `side` mm long."""
    return CalibrationTarget(((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)), corners, mean_side(corners))


def measure_lengths(
    targets: Sequence[CalibrationTarget], segments: Sequence[tuple[Corner, Corner]], tap_sigma: float
) -> tuple[MeasuredLength, ...]:
    """The lengths between pairs of places in the photo, in the plane of the targets.

    `tap_sigma` is the standard deviation of a place, in pixels. Raises MeasurementError where there is no target, or
    the targets are not in one plane.
    """
    if not targets:
        raise MeasurementError("No symbol of a known size is in the photo.")
    with np.errstate(all="ignore"):
        found, covariance = _fit(targets)
        answer = tuple(_span(found, covariance, pair, tap_sigma) for pair in segments)
    if not all(math.isfinite(each.length) and math.isfinite(each.within) for each in answer):
        raise MeasurementError(NOT_COPLANAR)
    return answer


def _fit(targets: Sequence[CalibrationTarget]) -> tuple[FloatArray, FloatArray]:
    """The parameters and their covariance: eight of the homography, three of each further target's place."""
    seen = np.array([point for each in targets for point in each.seen])
    deviations = np.array([_corner_sigma(each) for each in targets for _ in each.seen for _ in "xy"])

    def residuals(params: FloatArray) -> FloatArray:
        return np.asarray((_project(params, targets) - seen).ravel() / deviations, dtype=np.float64)

    params = _initial_estimate(targets)
    damping, residual = 1e-3, residuals(params)
    for _ in range(MAX_ITERATIONS):
        jacobian = _jacobian(residuals, params)
        normal_matrix = jacobian.T @ jacobian
        step = _solve(normal_matrix + damping * np.diag(np.diag(normal_matrix)), -jacobian.T @ residual)
        after = residuals(params + step)
        if float(after @ after) < float(residual @ residual):
            done = float(residual @ residual) - float(after @ after) < 1e-9 * (1.0 + float(residual @ residual))
            params, residual, damping = params + step, after, damping / 4
            if done:
                break
        else:
            damping *= 8
            if damping > 1e9:
                break
    jacobian = _jacobian(residuals, params)
    degrees_of_freedom = max(residual.size - params.size, 1)
    # A worse fit than expected scales the covariance up; a better fit may be chance.
    reduced_chi2 = max(float(residual @ residual) / degrees_of_freedom, 1.0)
    if reduced_chi2 > MAX_REDUCED_CHI2:
        raise MeasurementError(NOT_COPLANAR)
    return params, reduced_chi2 * _solve(jacobian.T @ jacobian, np.eye(params.size))


def _solve(matrix: FloatArray, rhs: FloatArray) -> FloatArray:
    try:
        return np.asarray(np.linalg.solve(matrix, rhs), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise MeasurementError(NOT_COPLANAR) from None


def _inverse(matrix: FloatArray) -> FloatArray:
    return _solve(matrix, np.eye(len(matrix)))


def _corner_sigma(target: CalibrationTarget) -> float:
    return CORNER_SIGMA + CORNER_SIGMA_RATIO * target.side


def _jacobian(residuals: Callable[[FloatArray], FloatArray], params: FloatArray) -> FloatArray:
    columns = []
    for place in range(params.size):
        step = np.zeros_like(params)
        step[place] = 1e-6 * max(abs(float(params[place])), 1e-3)
        columns.append((residuals(params + step) - residuals(params - step)) / (2 * step[place]))
    return np.array(columns).T


def _project(params: FloatArray, targets: Sequence[CalibrationTarget]) -> FloatArray:
    """All points of the targets in the photo, by these parameters."""
    places = [np.array(targets[0].plane)]
    for number, each in enumerate(targets[1:]):
        x, y, angle = params[8 + 3 * number : 11 + 3 * number]
        points = np.array(each.plane)
        cos, sin = math.cos(float(angle)), math.sin(float(angle))
        places.append(points @ np.array([[cos, sin], [-sin, cos]]) + np.array([x, y]))
    return _apply_homography(_homography(params), np.concatenate(places))


def _homography(params: FloatArray) -> FloatArray:
    return np.append(params[:8], 1.0).reshape(3, 3)


def _apply_homography(homography: FloatArray, points: FloatArray) -> FloatArray:
    mapped = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return mapped[:, :2] / mapped[:, 2:]


def _initial_estimate(targets: Sequence[CalibrationTarget]) -> FloatArray:
    """The homography of the first target alone, and the other targets placed by it."""
    first = _estimate_homography(np.array(targets[0].plane), np.array(targets[0].seen))
    inverse = _inverse(first)
    places: list[float] = []
    for each in targets[1:]:
        there = _apply_homography(inverse, np.array(each.seen))
        own = np.array(each.plane)
        turned = (own - own.mean(0)).T @ (there - there.mean(0))
        angle = math.atan2(float(turned[0, 1] - turned[1, 0]), float(turned[0, 0] + turned[1, 1]))
        cos, sin = math.cos(angle), math.sin(angle)
        x, y = there.mean(0) - own.mean(0) @ np.array([[cos, sin], [-sin, cos]])
        places += [float(x), float(y), angle]
    return np.concatenate([first.ravel()[:8], places])


def _estimate_homography(plane: FloatArray, seen: FloatArray) -> FloatArray:
    """The homography from plane to photo, by direct linear transformation with its last element 1."""
    rows, rhs = [], []
    for (x, y), (u, v) in zip(plane, seen, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        rhs += [u, v]
    found, *_ = np.linalg.lstsq(np.array(rows), np.array(rhs), rcond=None)
    return np.append(found, 1.0).reshape(3, 3)


def _span(found: FloatArray, covariance: FloatArray, pair: tuple[Corner, Corner], tap_sigma: float) -> MeasuredLength:
    def length(params: FloatArray, ends: FloatArray) -> float:
        one, other = _apply_homography(_inverse(_homography(params)), ends.reshape(2, 2))
        return float(math.dist(one, other))

    ends = np.array(pair, dtype=np.float64).ravel()
    value = length(found, ends)
    homography_gradient = _jacobian(lambda params: np.array([length(params, ends)]), found)[0]
    tap_gradient = np.array([length(found, ends + step) - length(found, ends - step) for step in np.eye(4) * 0.5])
    variance = (
        float(homography_gradient @ covariance @ homography_gradient)
        + float(tap_gradient @ tap_gradient) * tap_sigma**2
    )
    return MeasuredLength(value, Z_95 * math.sqrt(variance) + MODEL_ERROR_RATIO * value)


def strip_targets(reading: Reading) -> tuple[CalibrationTarget, ...]:
    """The measuring strips in a photo, one target of all decoded symbols for each."""
    found: dict[str, list[tuple[Corner, Corners]]] = {}
    for each in reading.others:
        place = parse_symbol_text(each.text)
        if place is not None:
            found.setdefault(place[0], []).append((place[1:], each.corners))
    return tuple(_strip_target(symbols) for _, symbols in sorted(found.items()))


def _strip_target(symbols: Sequence[tuple[Corner, Corners]]) -> CalibrationTarget:
    own = symbol_target(symbols[0][1], SYMBOL_SIDE).plane
    plane = tuple((x + left, y + top) for (left, top), _ in symbols for x, y in own)
    seen = tuple(corner for _, corners in symbols for corner in corners)
    return CalibrationTarget(plane, seen, sum(mean_side(corners) for _, corners in symbols) / len(symbols))
