"""What tools, years and brushes left on a face: saw marks, scratches, varnish, old paint.

Works on the pixels that `grain` draws and knows nothing of light or the camera.
Sizes are millimetres as floats; how strong a mark is was judged by eye, no source.
"""

from __future__ import annotations

from enum import Enum
from itertools import pairwise

import numpy as np
from PIL import Image, ImageDraw

from inventory.core.offcuts import Face
from inventory.demo.grain import Dice, Pixels, clouds, paint, streaks
from inventory.demo.looks import Colour


class Coat(Enum):
    """The old coating on a finished face."""

    VARNISH = "varnish"
    DARK_STAIN = "dark stain"
    OIL = "oil"
    WHITE_PAINT = "white paint"
    CREAM_PAINT = "cream paint"
    GREEN_PAINT = "green paint"
    GREY_PAINT = "grey paint"
    BLUE_PAINT = "blue paint"


_PAINTS: dict[Coat, Colour] = {
    Coat.WHITE_PAINT: (232, 230, 222),
    Coat.CREAM_PAINT: (226, 212, 172),
    Coat.GREEN_PAINT: (72, 104, 84),
    Coat.GREY_PAINT: (146, 152, 152),
    Coat.BLUE_PAINT: (88, 116, 138),
}
_CLEAR: dict[Coat, tuple[tuple[float, float, float], float]] = {
    Coat.VARNISH: ((0.96, 0.82, 0.60), 1.2),
    Coat.DARK_STAIN: ((0.62, 0.44, 0.30), 1.15),
    Coat.OIL: ((0.93, 0.82, 0.66), 1.2),
}
_UNDERCOAT = (206, 168, 140)


def dressed(pixels: Pixels, condition: Face, coat: Coat, dice: Dice, pixel: float) -> Pixels:
    """The clean face as it lies on the rack: rough from the saw, planed, or under its old coat."""
    match condition:
        case Face.ROUGH:
            return _sawn(pixels, dice, pixel)
        case Face.PLANED:
            return _planed(pixels, dice, pixel)
        case Face.FINISHED:
            coated = (
                _painted(pixels, _PAINTS[coat], dice, pixel)
                if coat in _PAINTS
                else _varnished(pixels, coat, dice, pixel)
            )
            return coated


def _sawn(pixels: Pixels, dice: Dice, pixel: float) -> Pixels:
    """Band-saw ridges across the grain, torn fibres, dust in everything."""
    rows, columns, _ = pixels.shape
    along = np.arange(columns, dtype=np.float32) * np.float32(pixel)
    across = np.linspace(-1, 1, rows, dtype=np.float32)
    pitch = dice.uniform(max(3.2, 3.2 * pixel), max(5.5, 5.0 * pixel))
    lean = dice.uniform(-6, 6)
    bow = dice.uniform(-4, 4) if dice.random() < 0.4 else 0.0
    walk = clouds(dice, 2, columns, 2.0, 25 / pixel)[0] * np.float32(pitch * 0.35)
    course = (along + walk)[None, :] + (np.float32(lean) * across + np.float32(bow) * across * across)[:, None]
    ridges = np.sin(course * np.float32(2 * np.pi / pitch))
    firmness = np.clip(
        clouds(dice, rows, columns, 25 / pixel, 60 / pixel) * np.float32(0.5) + np.float32(0.75), 0.1, 1.4
    )
    coarse = np.repeat(clouds(dice, 2, columns, 2.0, 2.0)[:1], rows, axis=0) * np.float32(0.02)
    fuzz = dice.standard_normal((rows, columns), np.float32) * np.float32(0.035) + streaks(
        dice, rows, columns, 5 / pixel
    ) * np.float32(0.035)
    mean = pixels.mean(axis=(0, 1), keepdims=True)
    dusty = (pixels - mean) * np.float32(0.55) + mean * np.float32(0.90) + paint((196, 172, 140)) * np.float32(0.09)
    return np.asarray(dusty * (1 + (ridges * firmness) * np.float32(0.055) + coarse + fuzz)[..., None], np.float32)


def _planed(pixels: Pixels, dice: Dice, pixel: float) -> Pixels:
    """Clean, with a faint sheen and, now and then, the ripple of the cutter head."""
    rows, columns, _ = pixels.shape
    sheen = clouds(dice, rows, columns, 120 / pixel, 160 / pixel) * np.float32(0.018)
    shade = 1.02 + sheen
    if dice.random() < 0.4:
        along = np.arange(columns, dtype=np.float32) * np.float32(pixel)
        shade = shade + np.sin(along * np.float32(2 * np.pi / max(2.4, 3 * pixel)))[None, :] * np.float32(0.008)
    return np.asarray(pixels * shade[..., None], np.float32)


def _scratches(dice: Dice, rows: int, columns: int, pixel: float, many: float) -> Pixels:
    """Thin marks of wear, 0 to 1."""
    sheet = Image.new("L", (columns, rows), 0)
    pen = ImageDraw.Draw(sheet)
    for _ in range(int(many * (4 + rows * columns * pixel * pixel / 9000))):
        x, y = dice.uniform(0, columns), dice.uniform(0, rows)
        way, far = dice.uniform(-0.6, 0.6) + (np.pi / 2 if dice.random() < 0.2 else 0), dice.uniform(8, 70) / pixel
        bend = dice.uniform(-0.08, 0.08) * far
        middle = (x + far / 2 * np.cos(way) - bend * np.sin(way), y + far / 2 * np.sin(way) + bend * np.cos(way))
        pen.line(
            [(x, y), middle, (x + far * np.cos(way), y + far * np.sin(way))], fill=int(dice.integers(60, 230)), width=1
        )
    return np.asarray(sheet, np.float32) / np.float32(255)


def _worn(dice: Dice, rows: int, columns: int, pixel: float, wear: float) -> Pixels:
    """Where the coat is gone, 0 to 1: spots inside, more along the edges and at the ends."""
    spots = clouds(dice, rows, columns, 7 / pixel, 11 / pixel) + clouds(
        dice, rows, columns, 2.2 / pixel, 3 / pixel
    ) * np.float32(0.6)
    spots += clouds(dice, rows, columns, 45 / pixel, 90 / pixel) * np.float32(0.8)
    from_side = np.minimum(np.arange(rows), np.arange(rows)[::-1])[:, None] * np.float32(pixel)
    from_end = np.minimum(np.arange(columns), np.arange(columns)[::-1])[None, :] * np.float32(pixel)
    rim = np.exp(-np.minimum(from_side, from_end) / np.float32(2.5)) * np.float32(2.2)
    return np.asarray(np.clip((spots + rim - np.float32(3.1 - wear)) * 5, 0, 1), np.float32)


def _varnished(pixels: Pixels, coat: Coat, dice: Dice, pixel: float) -> Pixels:
    rows, columns, _ = pixels.shape
    tint, depth = _CLEAR[coat]
    mean = pixels.mean(axis=(0, 1), keepdims=True)
    coated = ((pixels - mean) * np.float32(depth) + mean) * np.asarray(tint, np.float32)
    coated *= (1 + clouds(dice, rows, columns, 30 / pixel, 120 / pixel) * np.float32(0.05))[..., None]
    gloss = np.clip(clouds(dice, rows, columns, 90 / pixel, 200 / pixel) - np.float32(0.2), 0, 2) * np.float32(0.09)
    coated += gloss[..., None]
    bare = _worn(dice, rows, columns, pixel, dice.uniform(0.2, 0.9))[..., None]
    coated += bare * (pixels * np.float32(0.9) - coated) * np.float32(0.8)
    mark = _scratches(dice, rows, columns, pixel, 1.0)[..., None]
    return np.asarray(coated + mark * (paint((222, 200, 168)) - coated) * np.float32(0.5), np.float32)


def _painted(pixels: Pixels, colour: Colour, dice: Dice, pixel: float) -> Pixels:
    rows, columns, _ = pixels.shape
    brush = streaks(dice, rows, columns, 55 / pixel) * np.float32(0.014)
    dirt = clouds(dice, rows, columns, 60 / pixel, 110 / pixel) * np.float32(0.022)
    dirt -= np.clip(clouds(dice, rows, columns, 5 / pixel, 5 / pixel) - np.float32(1.9), 0, 1) * np.float32(0.14)
    grain = (pixels.mean(axis=2) - pixels.mean()) * np.float32(0.16)
    coat = paint(colour) * (1 + brush + dirt + grain)[..., None]
    wear = dice.uniform(0.2, 1.1)
    under = _worn(dice, rows, columns, pixel, wear)
    bare = np.clip(under * 2.2 - 1.1, 0, 1)[..., None]
    rim = (np.clip(under * 3, 0, 1) - under)[..., None]
    coat += under[..., None] * (paint(_UNDERCOAT) * np.float32(0.95) - coat)
    coat += bare * (pixels * np.float32(0.82) - coat)
    coat *= 1 - rim * np.float32(0.35)
    mark = _scratches(dice, rows, columns, pixel, 0.7)[..., None]
    return np.asarray(coat + mark * (paint((120, 104, 84)) - coat) * np.float32(0.45), np.float32)


def pencilled(pixels: Pixels, dice: Dice, pixel: float) -> Pixels:
    """A joiner's pencil on the face: a line across, a cross, or two strokes that meet, drawn by hand."""
    rows, columns, _ = pixels.shape
    sheet = Image.new("L", (columns, rows), 0)
    x, y = dice.uniform(0.12, 0.88) * columns, dice.uniform(0.4, 0.6) * rows
    size = min(rows * 0.3, dice.uniform(14, 30) / pixel)
    tall = size * dice.uniform(0.6, 1.2)
    match int(dice.integers(0, 3)):
        case 0:
            strokes = [((x, 0.0), (x + dice.uniform(-2, 2), float(rows)))]
        case 1:
            strokes = [((x - size, y - tall), (x + size, y + tall)), ((x - size, y + tall), (x + size, y - tall))]
        case _:
            strokes = [((x - size, y + tall), (x, y - tall)), ((x, y - tall), (x + size, y + tall))]
    for (x1, y1), (x2, y2) in strokes:
        _stroke(sheet, dice, (x1 + dice.normal(0, size * 0.08), y1), (x2 + dice.normal(0, size * 0.08), y2))
    share = np.asarray(sheet, np.float32)[..., None] / np.float32(255)
    return np.asarray(pixels + share * (paint((92, 88, 86)) - pixels), np.float32)


def _stroke(sheet: Image.Image, dice: Dice, start: tuple[float, float], stop: tuple[float, float]) -> None:
    """One pencil stroke, a little bowed, pressed unevenly."""
    pen = ImageDraw.Draw(sheet)
    bow = dice.normal(0, 0.035) * (abs(stop[0] - start[0]) + abs(stop[1] - start[1]))
    steps = np.linspace(0, 1, 9)
    points = [
        (start[0] + (stop[0] - start[0]) * at + bow * np.sin(at * np.pi), start[1] + (stop[1] - start[1]) * at)
        for at in steps
    ]
    for here, there in pairwise(points):
        pen.line([here, there], fill=int(dice.integers(60, 150)), width=1)
