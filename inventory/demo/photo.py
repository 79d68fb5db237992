"""Drawn photos: one offcut, or a bundle, as it lies on a bench under a workshop lamp.

The piece has its true proportions. Knows the
camera, the light and the bench; the wood itself is `grain` and `surfaces`. The
same piece and seed give the same bytes on the same machine. World lengths are
millimetres as floats: x to the right, y towards the camera, z up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from inventory.core.lengths import NM_PER_MM
from inventory.core.offcuts import Face, Offcut
from inventory.demo import grain
from inventory.demo.bench import Bench
from inventory.demo.grain import Dice, Pixels
from inventory.demo.looks import Look, appearance_of
from inventory.demo.surfaces import Coat, dressed, pencilled
from inventory.storage.photos import IncomingPhoto, PhotoSize

MOST_DRAWN = 6
"""Of a larger bundle, the top six are seen."""

_TILT = math.radians(17)
_QUALITY = 82

Point = tuple[float, float]


@dataclass(frozen=True)
class _Camera:
    """Looks down on the bench, a little from the front: world millimetres to pixels."""

    scale: float
    middle: Point
    centre: Point

    def sees(self, x: float, y: float, z: float) -> Point:
        x, y = x - self.middle[0], y - self.middle[1]
        nearer = 1 + (y * 0.10 + z * 0.12) * self.scale / 1000
        return (
            self.centre[0] + x * self.scale * nearer,
            self.centre[1] + (y * math.cos(_TILT) - z * math.sin(_TILT)) * self.scale * nearer,
        )


@dataclass(frozen=True)
class _Lying:
    """One piece where it lies: its middle, its turn, how high, and its outline seen from above."""

    x: float
    y: float
    z: float
    turn: float
    outline: tuple[Point, ...]

    def world(self, along: float, across: float, size: tuple[float, float]) -> Point:
        u, v = along - size[0] / 2, across - size[1] / 2
        return (
            self.x + u * math.cos(self.turn) - v * math.sin(self.turn),
            self.y + u * math.sin(self.turn) + v * math.cos(self.turn),
        )


def picture(offcut: Offcut, seed: int, bench: Bench, coat: Coat = Coat.VARNISH) -> Image.Image:
    """A picture of the offcut, of the bench's size; `coat` is what lies on a finished face.

    Method: one face, edge and end are drawn for each piece that shows and laid on
    the bench in perspective. About 0.1 s at 1200 × 900.
    """
    dice = np.random.default_rng([seed, 0x0FFC])
    look = appearance_of(offcut.species)
    shape = (offcut.length / NM_PER_MM, offcut.width / NM_PER_MM, offcut.thickness / NM_PER_MM)
    laid = _laid_out(dice, shape, min(offcut.count, MOST_DRAWN))
    camera = _framed(laid, shape, bench.size, dice)
    canvas = bench.backdrop(dice, 1 / camera.scale)
    for place in laid:
        _lay(canvas, camera, place, shape, look, offcut.face_a, coat, dice)
    return bench.developed(canvas, dice)


def photo(offcut: Offcut, seed: int, bench: Bench, coat: Coat = Coat.VARNISH) -> IncomingPhoto:
    """The same picture, as a phone would have sent it: ready to be kept by the shop's photos."""
    full = picture(offcut, seed, bench, coat)
    thumb = full.copy()
    thumb.thumbnail((PhotoSize.THUMB.longest_side,) * 2, Image.Resampling.BILINEAR)
    return IncomingPhoto(_jpeg(full), _jpeg(thumb), *full.size)


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()


def _laid_out(dice: Dice, shape: tuple[float, float, float], shown: int) -> list[_Lying]:
    """Where the pieces lie: one alone, a few side by side, the last now and then across the others."""
    length, width, thickness = shape
    lean = 0.10 if shown > 1 else 0.30 if length > 4 * width else 0.20
    turn = dice.uniform(-lean, lean)
    places = []
    y = 0.0
    for number in range(shown):
        on_top = shown > 2 and number == shown - 1 and dice.random() < 0.5
        askew = dice.choice([-1, 1]) * dice.uniform(0.05, 0.11) if on_top else dice.uniform(-0.012, 0.012)
        spot = y - (shown / 2) * width if on_top else y
        places.append(
            _Lying(
                dice.uniform(-0.03, 0.03) * length * (shown > 1),
                spot,
                thickness if on_top else 0.0,
                turn + askew,
                _outline(dice, length, width),
            )
        )
        y += width + dice.uniform(0.02, 0.12) * width + thickness * 0.12
    return places


def _outline(dice: Dice, length: float, width: float) -> tuple[Point, ...]:
    """The piece seen from above: sawn ends a little out of square, sometimes a corner off."""
    out = [dice.uniform(-0.018, 0.018) * width for _ in range(2)]
    corners: list[Point] = [
        (max(out[0], 0), 0),
        (length + min(out[1], 0), 0),
        (length - max(out[1], 0), width),
        (-min(out[0], 0), width),
    ]
    if dice.random() < 0.22:
        at = int(dice.integers(0, 4))
        back = dice.uniform(0.06, 0.14) * width
        x, y = corners[at]
        inward = back if x < length / 2 else -back
        down = back * dice.uniform(0.6, 1.3) * (1 if y < width / 2 else -1)
        cut = [(x, y + down), (x + inward, y)]
        if at in (1, 3):
            cut.reverse()
        corners[at : at + 1] = cut
    return tuple(corners)


def _framed(laid: list[_Lying], shape: tuple[float, float, float], size: tuple[int, int], dice: Dice) -> _Camera:
    """A camera that has all pieces in the picture with some bench around."""
    near = _Camera(1.0, (0.0, 0.0), (0.0, 0.0))
    points = [
        near.sees(*place.world(x, y, shape[:2]), z)
        for place in laid
        for x, y in place.outline
        for z in (place.z, place.z + shape[2])
    ]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    margin = dice.uniform(0.035, 0.075)
    scale = min(size[0] * (1 - 2 * margin) / (max(xs) - min(xs)), size[1] * (1 - 2 * margin) / (max(ys) - min(ys)))
    scale = min(scale, 2.6)
    aside = (dice.uniform(-0.02, 0.02) * size[0], dice.uniform(-0.05, 0.05) * size[1])
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2 / math.cos(_TILT))
    return _Camera(scale, middle, (size[0] / 2 + aside[0], size[1] / 2 + aside[1]))


def _lay(
    canvas: Image.Image, camera: _Camera, place: _Lying, shape: tuple[float, float, float],
    look: Look, condition: Face, coat: Coat, dice: Dice,
) -> None:  # fmt: skip
    """Draws one piece with its shadow: the sides that face the camera, then the top."""
    length, width, thickness = shape
    above = [(*place.world(x, y, shape[:2]), place.z + thickness) for x, y in place.outline]
    _shade(canvas, camera, above, place.z, thickness)
    pixel = 1 / camera.scale
    columns, rows, deep = (max(8, round(side * camera.scale)) for side in (length, width, thickness * 0.6))
    plane = grain.plane_through(dice, width)
    for here, there in zip(range(len(above)), [*range(1, len(above)), 0], strict=True):
        (x1, y1, top), (x2, y2, _) = above[here], above[there]
        if x2 >= x1 - 1e-9:
            continue  # turned away from the camera
        along = abs(place.outline[here][0] - place.outline[there][0]) > abs(
            place.outline[here][1] - place.outline[there][1]
        )
        if along:
            side = grain.edge(look, dice, length, thickness, deep, columns // 2) * np.float32(0.66)
        else:
            side = grain.end(look, dice, width, thickness, deep, rows, plane) * np.float32(0.8)
        if condition is Face.ROUGH:
            side *= 1 + dice.standard_normal(side.shape[:2], np.float32)[..., None] * np.float32(0.05)
        quad = [
            camera.sees(x1, y1, top),
            camera.sees(x2, y2, top),
            camera.sees(x2, y2, place.z),
            camera.sees(x1, y1, place.z),
        ]
        _paste(canvas, side[:, ::-1], quad, quad)
    top_side = grain.face(look, dice, length, width, rows, columns, plane)
    top_side = dressed(top_side, condition, coat, dice, pixel)
    top_side = _checked(top_side, dice, pixel)
    if condition is not Face.FINISHED and dice.random() < 0.2:
        top_side = pencilled(top_side, dice, pixel)
    _arris(top_side)
    square = [place.world(x, y, shape[:2]) for x, y in ((0, 0), (length, 0), (length, width), (0, width))]
    quad = [camera.sees(x, y, place.z + thickness) for x, y in square]
    _paste(canvas, top_side, quad, [camera.sees(*corner) for corner in above])


def _shade(
    canvas: Image.Image, camera: _Camera, above: list[tuple[float, float, float]], z: float, thickness: float
) -> None:
    """The soft shadow to the lower right, and the dark line where the piece meets the bench."""
    casts = [
        ([camera.sees(x + thickness * reach * 0.8, y + thickness * reach, z) for x, y, _ in above], dark)
        for reach, dark in ((0.55, 70), (0.3, 110), (0.06, 185))
    ]
    blur = max(0.8, thickness * camera.scale * 0.05)
    edge = math.ceil(blur * 3) * 4
    left, top, wide, high = _around([point for cast, _ in casts for point in cast], edge)
    mask = Image.new("L", (wide // 4 + 1, high // 4 + 1), 0)
    pen = ImageDraw.Draw(mask)
    for cast, dark in casts:
        pen.polygon([((x - left) / 4, (y - top) / 4) for x, y in cast], fill=dark)
    soft = mask.filter(ImageFilter.GaussianBlur(blur))
    canvas.paste((24, 19, 15), (left, top), soft.resize((soft.width * 4, soft.height * 4), Image.Resampling.BILINEAR))


def _around(points: list[Point], edge: int) -> tuple[int, int, int, int]:
    """Left, top, width and height of the pixels around these points, with `edge` pixels more on each side."""
    left, top = math.floor(min(x for x, _ in points)) - edge, math.floor(min(y for _, y in points)) - edge
    return (
        left,
        top,
        math.ceil(max(x for x, _ in points)) + edge + 1 - left,
        math.ceil(max(y for _, y in points)) + edge + 1 - top,
    )


def _checked(pixels: Pixels, dice: Dice, pixel: float) -> Pixels:
    """Drying checks at the ends of some pieces: short dark lines along the grain."""
    if dice.random() > 0.35:
        return pixels
    rows, columns, _ = pixels.shape
    left = bool(dice.random() < 0.5)
    for _ in range(int(dice.integers(1, 4))):
        row = int(dice.integers(2, max(3, rows - 2)))
        far = int(min(columns * 0.25, dice.uniform(10, 45) / pixel))
        fade = np.linspace(0.55, 0.0, max(far, 2), dtype=np.float32)[:, None]
        part = pixels[row, :far] if left else pixels[row, ::-1][:far]
        part *= 1 - fade[: len(part)]
    return pixels


def _arris(pixels: Pixels) -> None:
    """The edge towards the lamp catches light, the one away from it is a shade darker."""
    pixels[:1] *= np.float32(1.10)
    pixels[-1:] *= np.float32(1.16)
    pixels[:, :1] *= np.float32(1.08)
    pixels[:, -1:] *= np.float32(0.9)


def _paste(canvas: Image.Image, pixels: Pixels, quad: list[Point], outline: list[Point]) -> None:
    """Lays pixels into the four-cornered place `quad`, seen only inside `outline`."""
    pad = 2
    padded = np.pad((np.clip(pixels, 0, 1) * 255).astype(np.uint8), ((pad, pad), (pad, pad), (0, 0)), mode="edge")
    source = Image.fromarray(padded)
    rows, columns = pixels.shape[:2]
    corners = [(pad, pad), (columns + pad, pad), (columns + pad, rows + pad), (pad, rows + pad)]
    a, b, c, d, e, f, g, h = _perspective(quad, corners)
    for left, top, wide, high in _slices(outline):
        # The same eight numbers, for a picture that begins at (left, top).
        one = g * left + h * top + 1
        moved = (a, b, a * left + b * top + c, d, e, d * left + e * top + f, g, h)
        seen = source.transform(
            (wide, high),
            Image.Transform.PERSPECTIVE,
            tuple(each / one for each in moved),
            Image.Resampling.BILINEAR,
        )
        mask = Image.new("L", (wide * 2, high * 2), 0)
        ImageDraw.Draw(mask).polygon([((x - left) * 2, (y - top) * 2) for x, y in outline], fill=255)
        canvas.paste(seen, (left, top), mask.reduce(2))


def _slices(outline: list[Point]) -> Iterator[tuple[int, int, int, int]]:
    """The pixels around a convex outline in upright slices: one box would be empty for the most part."""
    left, top, wide, high = _around(outline, 1)
    step = -(-wide // min(8, max(1, high // 40)))
    sides = list(zip(outline, [*outline[1:], outline[0]], strict=True))
    for begin in range(left, left + wide, step):
        end = min(begin + step, left + wide)
        ys = [y for x, y in outline if begin <= x <= end]
        for (x1, y1), (x2, y2) in sides:
            ys += [y1 + (x - x1) / (x2 - x1) * (y2 - y1) for x in (begin, end) if min(x1, x2) < x < max(x1, x2)]
        if ys:
            upper = max(top, math.floor(min(ys)) - 1)
            yield begin, upper, end - begin, math.ceil(max(ys)) + 2 - upper


def _perspective(shown: list[Point], source: list[tuple[int, int]]) -> tuple[float, ...]:
    """The eight numbers that take a shown point back to its source pixel."""
    rows, right = [], []
    for (x, y), (u, v) in zip(shown, source, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return tuple(float(each) for each in np.linalg.solve(np.asarray(rows, float), np.asarray(right, float)))
