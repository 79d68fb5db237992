"""Measuring in a photo: pieces of known size, rendered with strips or tags, seen by a simulated camera.

The camera is a plain pinhole (no figure was taken from a real one): any turn of the symbols, a tilt that takes up to
12 % off a side, blur, noise, JPEG, and a finger that taps a little beside the end.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw, ImageFilter

from labels import DEFAULT_STOCK, find_stock, measuring_strips_pdf, tag_payload
from labels.pdf.measuring_strips import SYMBOL_PITCH, SYMBOL_SIDE, symbol_text
from labels.qr import dark_rectangles, symbol_for
from labels.reading import (
    CalibrationTarget,
    Corner,
    MeasuredLength,
    MeasurementError,
    Reading,
    measure_lengths,
    read_photo,
    strip_targets,
    symbol_target,
)

WIDE = 1600
TAP = 0.002 * WIDE
TAG_SIDE = 17.0
PER_MM = 4.0


@dataclass(frozen=True)
class PlacedSymbol:
    """A symbol on the piece: its center and side in mm, its text, its rotation in degrees."""

    x: float
    y: float
    side: float
    text: str
    turn: float


def strip(letter: str, x: float, y: float, turn: float) -> list[PlacedSymbol]:
    """The three symbols of a strip with its center at x, y."""
    angle = math.radians(turn)
    return [
        PlacedSymbol(
            x - math.sin(angle) * off, y + math.cos(angle) * off, SYMBOL_SIDE, symbol_text(letter, number), turn
        )
        for number, off in ((1, -SYMBOL_PITCH), (2, 0.0), (3, SYMBOL_PITCH))
    ]


def render_plane(width: float, height: float, symbols: list[PlacedSymbol]) -> Image.Image:
    """The plane at PER_MM pixels per mm."""
    picture = Image.new("L", (int(width * PER_MM), int(height * PER_MM)), 150)
    for each in symbols:
        symbol = symbol_for(each.text)
        pixels = 8 * symbol.side
        tile = Image.new("L", (pixels + 64, pixels + 64), 235)
        draw = ImageDraw.Draw(tile)
        for column, row, wide, high in dark_rectangles(symbol):
            left, top = 32 + 8 * column, 32 + 8 * row
            draw.rectangle((left, top, left + 8 * wide - 1, top + 8 * high - 1), fill=40)
        scale, angle = each.side * PER_MM / pixels, math.radians(each.turn)
        cos, sin = math.cos(angle) / scale, math.sin(angle) / scale
        middle, x, y = tile.width / 2, each.x * PER_MM, each.y * PER_MM
        affine = (cos, sin, middle - cos * x - sin * y, -sin, cos, middle + sin * x - cos * y)
        # Four times finer, then reduced, so that edges are not rounded to whole pixels.
        picture = Image.composite(
            tile.transform(picture.size, Image.Transform.AFFINE, affine, Image.Resampling.BICUBIC, fillcolor=235),
            picture,
            Image.new("L", tile.size, 255).transform(picture.size, Image.Transform.AFFINE, affine),
        )
    return picture


def map_of(corners: list[Corner], width: float, height: float) -> np.ndarray:
    """The homography from the plane in mm to the photo, by the plane's four corners."""
    rows, right = [], []
    for (x, y), (u, v) in zip([(0, 0), (width, 0), (width, height), (0, height)], corners, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows, float), np.array(right, float)), 1.0).reshape(3, 3)


def through(by: np.ndarray, x: float, y: float) -> Corner:
    u, v, w = by @ (x, y, 1.0)
    return float(u / w), float(v / w)


@dataclass(frozen=True)
class Shot:
    """A photo of a piece, its true sizes, and the taps on its ends."""

    picture: Image.Image
    reading: Reading
    length: float
    width: float
    taps: tuple[tuple[Corner, Corner], ...]


def shot(seed: int, with_strips: bool) -> Shot:
    """A piece whose length fills eleven twelfths of the frame."""
    rng = random.Random(seed)
    length = rng.uniform(450, 700) if with_strips else rng.uniform(250, 380)
    width = length * rng.uniform(0.15, 0.3)
    wide, high = length * 1.1, length * 0.825
    middle = high / 2
    if with_strips:
        lying = strip("A", wide * 0.27, middle, rng.uniform(80, 100)) + strip(
            "B", wide * 0.73, middle, rng.uniform(-100, -80)
        )
        # Strips are parallel to the piece's length.
    else:
        lying = [
            PlacedSymbol(
                wide * place, middle, TAG_SIDE, tag_payload("http://192.168.1.20:8765", code), rng.uniform(0, 360)
            )
            for place, code in ((rng.uniform(0.15, 0.3), "7K3M0QV"), (rng.uniform(0.7, 0.85), "7K4M9XP"))
        ]
    tilt, tall = 0.06, WIDE * 3 // 4
    edge = [(rng.uniform(0, tilt) * WIDE, rng.uniform(0, tilt) * tall) for _ in range(4)]
    (a, b, c, d) = edge
    corners = [a, (WIDE - b[0], b[1]), (WIDE - c[0], tall - c[1]), (d[0], tall - d[1])]
    by = map_of(corners, wide, high)
    back = np.diag([PER_MM, PER_MM, 1.0]) @ np.linalg.inv(by)
    picture = render_plane(wide, high, lying).transform(
        (WIDE, tall),
        Image.Transform.PERSPECTIVE,
        tuple((back / back[2, 2]).ravel()[:8]),
        Image.Resampling.BICUBIC,
        fillcolor=120,
    )
    picture = picture.filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 0.9)))
    noisy = np.asarray(picture, float) + np.random.default_rng(seed).normal(0, 4, (tall, WIDE))
    out = BytesIO()
    Image.fromarray(noisy.clip(0, 255).astype(np.uint8)).save(out, "JPEG", quality=85)
    taken = Image.open(out)
    reading = read_photo(taken, lambda text: text[-7:] if "/T/" in text else None)
    left, top = (wide - length) / 2, middle - width / 2
    ends = [(left, middle), (left + length, middle), (wide / 2, top), (wide / 2, top + width)]
    tapped = [(x + rng.gauss(0, TAP), y + rng.gauss(0, TAP)) for x, y in (through(by, *end) for end in ends)]
    return Shot(taken, reading, length, width, ((tapped[0], tapped[1]), (tapped[2], tapped[3])))


def measure_shot(taken: Shot, figures: tuple[CalibrationTarget, ...]) -> list[tuple[MeasuredLength, float]]:
    spans = measure_lengths(figures, taken.taps, TAP)
    return list(zip(spans, (taken.length, taken.width), strict=True))


def test_lengths_by_the_strips_are_as_true_as_they_say_and_within_two_per_cent() -> None:
    right = []
    for seed in range(9):
        taken = shot(seed, with_strips=True)
        figures = strip_targets(taken.reading)
        assert len(figures) == 2, seed
        for span, true in measure_shot(taken, figures):
            right.append(abs(span.length - true) <= span.within)
        assert measure_lengths(figures, taken.taps, TAP)[0].within <= 0.02 * taken.length
    assert sum(right) >= 0.95 * len(right)


def test_two_tags_tell_a_short_piece_s_length_with_how_sure_it_is() -> None:
    right, shares = [], []
    for seed in range(5):
        taken = shot(100 + seed, with_strips=False)
        figures = tuple(symbol_target(each.corners, TAG_SIDE) for each in taken.reading.seen)
        assert len(figures) == 2, seed
        for span, true in measure_shot(taken, figures):
            right.append(abs(span.length - true) <= span.within)
        shares.append(measure_lengths(figures, taken.taps, TAP)[0].within / taken.length)
    assert sum(right) >= 0.95 * len(right)
    assert sorted(shares)[len(shares) // 2] <= 0.02


def test_a_wrong_size_of_the_symbols_is_a_wrong_length_in_the_same_ratio() -> None:
    taken = shot(3, with_strips=False)
    once, twice = (
        measure_lengths(tuple(symbol_target(each.corners, side) for each in taken.reading.seen), taken.taps, TAP)[0]
        for side in (TAG_SIDE, 2 * TAG_SIDE)
    )
    assert twice.length == pytest.approx(2 * once.length)


def test_without_a_symbol_nothing_can_be_measured() -> None:
    with pytest.raises(MeasurementError, match=r"No symbol of a known size is in the photo\."):
        measure_lengths((), (((0, 0), (1, 1)),), 1.0)


def test_symbols_that_can_t_lie_in_one_plane_are_reported() -> None:
    square = ((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0))
    away = tuple((x, y + 105.0) for x, y in square)
    seen = tuple((4 * x, 4 * y) for x, y in square)
    bent = CalibrationTarget(square + away, seen + tuple((x + 60.0, y + 300.0) for x, y in seen), 120.0)
    with pytest.raises(MeasurementError, match=r"can't be seen as lying in one plane"):
        measure_lengths((bent,), (((0, 0), (1, 1)),), 1.0)


def test_the_page_of_strips_has_its_symbols_where_they_are_said_to_be() -> None:
    with pypdfium2.PdfDocument(measuring_strips_pdf(find_stock(DEFAULT_STOCK))) as document:
        reading = read_photo(document[0].render(scale=150 / 72).to_pil(), lambda _text: None)
    figures = strip_targets(reading)
    assert [len(each.plane) for each in figures] == [12, 12]
    for each in figures:
        plane, seen = (np.array(points).reshape(3, 4, 2).mean(1) for points in (each.plane, each.seen))
        for number in (1, 2):
            away = math.dist(plane[number], plane[0]) * 150 / 25.4
            assert math.dist(seen[number], seen[0]) == pytest.approx(away, abs=2.5)
