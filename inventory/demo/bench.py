"""What lies behind the piece in a drawn photo: benches, a saw table, the floor, and the lamp above.

They are drawn once for many photos, because each costs more than a piece does.
Knows nothing of pieces. Sizes are millimetres as floats, judged by eye.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from inventory.demo import grain
from inventory.demo.grain import Dice, Pixels, clouds, paint
from inventory.demo.looks import LOOKS

_PIXEL = 1.1
_SHEET = (1200, 900)
_KINDS = 4
_ZOOMS = (0.6, 0.8, 1.0)
"""How many pixels of a sheet lie under one of the photo, at 1200 × 900."""


class Bench:
    """A bench with its lamp, for photos of one size. All of it is drawn at once; threads may share it."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = size
        with ThreadPoolExecutor() as hands:
            sheets = list(hands.map(_sheet, range(_KINDS)))
        more = _SHEET[0] / size[0]
        self._sheets = [
            [
                sheet.resize((round(size[0] / zoom) + 1, round(size[1] / zoom) + 1), Image.Resampling.BILINEAR)
                for zoom in _ZOOMS
            ]
            for sheet in sheets
        ]
        self._millimetres = [_PIXEL * zoom * more for zoom in _ZOOMS]
        self._lamps = [_lamp(size, kind) for kind in range(4)]
        self._grits = [_grit(size, kind) for kind in range(2)]

    def backdrop(self, dice: Dice, pixel: float) -> Image.Image:
        """A piece of bench where a pixel is about `pixel` mm; a different part each time."""
        nearest = min(range(len(_ZOOMS)), key=lambda at: abs(self._millimetres[at] - pixel))
        sheet = self._sheets[int(dice.choice([0, 0, 1, 2, 3]))][nearest]
        left = int(dice.integers(0, sheet.width - self.size[0] + 1))
        top = int(dice.integers(0, sheet.height - self.size[1] + 1))
        part = sheet.crop((left, top, left + self.size[0], top + self.size[1]))
        return part.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if dice.random() < 0.5 else part

    def developed(self, canvas: Image.Image, dice: Dice) -> Image.Image:
        """The picture in the light of the lamp, with the grain of a small sensor."""
        lit = ImageChops.multiply(canvas, self._lamps[int(dice.integers(0, len(self._lamps)))])
        return ImageChops.add(lit, self._grits[int(dice.integers(0, len(self._grits)))], 1.0, -128)


def _sheet(kind: int) -> Image.Image:
    dice = np.random.default_rng([kind, 0xBE7C])
    columns, rows = _SHEET
    match kind:
        case 0:
            pixels = _plank_top(dice, rows, columns)
        case 1:
            pixels = _ply(dice, rows, columns)
        case 2:
            pixels = _iron(dice, rows, columns)
        case _:
            pixels = _concrete(dice, rows, columns)
    image = Image.fromarray((np.clip(pixels, 0, 1) * 255).astype(np.uint8))
    _sawdust(image, dice)
    return image.filter(ImageFilter.GaussianBlur(0.7))


def _plank_top(dice: Dice, rows: int, columns: int) -> Pixels:
    """An old bench: planks side by side, dark in the joints, stained and dented."""
    pixels = np.empty((rows, columns, 3), np.float32)
    at = 0
    while at < rows:
        high = min(rows - at, int(dice.uniform(85, 130) / _PIXEL))
        high = rows - at if rows - at - high < 12 else high
        plane = grain.plane_through(dice, high * _PIXEL)
        plank = grain.face(LOOKS["hard maple"], dice, columns * _PIXEL, high * _PIXEL, high, columns, plane)
        plank *= np.float32(dice.uniform(0.86, 1.0))
        plank[:2] *= np.float32(0.45)
        pixels[at : at + high] = plank
        at += high
    mean = pixels.mean(axis=(0, 1))
    pixels = (pixels - mean) * np.float32(0.7) + mean * np.asarray([0.70, 0.64, 0.57], np.float32)
    pixels *= (1 + clouds(dice, rows, columns, 130, 170) * np.float32(0.05))[..., None]
    stain = np.clip(clouds(dice, rows, columns, 60, 70) - np.float32(1.5), 0, 1) * np.float32(0.2)
    return np.asarray(_marked(pixels * (1 - stain)[..., None], dice, 70, (70, 56, 44)), np.float32)


def _ply(dice: Dice, rows: int, columns: int) -> Pixels:
    """A brown hardboard top with rings of cups and drops of glue."""
    mottle = dice.standard_normal((rows, columns), np.float32) * np.float32(0.03)
    mottle += clouds(dice, rows, columns, 3, 3) * np.float32(0.025) + clouds(
        dice, rows, columns, 200, 200
    ) * np.float32(0.05)
    pixels = paint((150, 118, 86)) * (1 + mottle)[..., None]
    drops = np.clip((clouds(dice, rows, columns, 11, 11) - np.float32(2.55)) * 6, 0, 1)
    pixels += drops[..., None] * (paint((206, 190, 150)) - pixels) * np.float32(0.75)
    return _marked(pixels.astype(np.float32), dice, 130, (92, 70, 50))


def _iron(dice: Dice, rows: int, columns: int) -> Pixels:
    """A cast-iron saw table: fine milling lines, a slot, some rust."""
    lines = np.repeat(dice.standard_normal((rows, 1), np.float32), columns, axis=1) * np.float32(0.018)
    lines += clouds(dice, rows, columns, 1.5, 40) * np.float32(0.014) + clouds(
        dice, rows, columns, 260, 260
    ) * np.float32(0.06)
    pixels = paint((146, 149, 150)) * (1 + lines)[..., None]
    rust = np.clip(
        clouds(dice, rows, columns, 50, 60) + clouds(dice, rows, columns, 5, 5) * np.float32(0.4) - np.float32(1.5),
        0,
        1,
    )
    pixels += rust[..., None] * (paint((126, 96, 74)) - pixels) * np.float32(0.5)
    for slot in (int(rows * 0.16), int(rows * 0.83)):
        pixels[slot : slot + 22] *= np.float32(0.42)
        pixels[slot + 21 : slot + 24] *= np.float32(1.5)
    return _marked(pixels.astype(np.float32), dice, 60, (170, 174, 176))


def _concrete(dice: Dice, rows: int, columns: int) -> Pixels:
    """A floor of smoothed concrete with specks and a crack."""
    tone = clouds(dice, rows, columns, 240, 240) * np.float32(0.03) + clouds(dice, rows, columns, 9, 9) * np.float32(
        0.013
    )
    tone += dice.standard_normal((rows, columns), np.float32) * np.float32(0.028)
    speck = np.clip((clouds(dice, rows, columns, 2.5, 2.5) - np.float32(2.1)) * 2, 0, 1) * np.float32(0.2)
    pixels = paint((168, 164, 157)) * (1 + tone - speck)[..., None]
    return _marked(pixels.astype(np.float32), dice, 25, (108, 104, 98))


def _marked(pixels: Pixels, dice: Dice, many: int, colour: tuple[int, int, int]) -> Pixels:
    """Knife and tool marks in a working surface."""
    rows, columns, _ = pixels.shape
    sheet = Image.new("L", (columns, rows), 0)
    pen = ImageDraw.Draw(sheet)
    for _ in range(many):
        x, y, way, far = dice.uniform(0, columns), dice.uniform(0, rows), dice.uniform(0, np.pi), dice.uniform(10, 150)
        pen.line([(x, y), (x + far * np.cos(way), y + far * np.sin(way))], fill=int(dice.integers(40, 170)), width=1)
    share = np.asarray(sheet, np.float32)[..., None] / np.float32(255)
    return np.asarray(pixels + share * (paint(colour) - pixels), np.float32)


def _sawdust(image: Image.Image, dice: Dice) -> None:
    """Specks and curls, thicker here and there."""
    pen = ImageDraw.Draw(image)
    for _ in range(14):
        x0, y0, spread = dice.uniform(0, image.width), dice.uniform(0, image.height), dice.uniform(30, 160)
        for x, y in zip(dice.normal(x0, spread, 60), dice.normal(y0, spread, 60), strict=True):
            shade = dice.uniform(0.82, 1.0)
            fill = (int(224 * shade), int(198 * shade), int(152 * shade))
            pen.line([(x, y), (x + dice.uniform(-2.2, 2.2), y + dice.uniform(-1.5, 1.5))], fill=fill, width=1)


def _lamp(size: tuple[int, int], kind: int) -> Image.Image:
    """The fall of light over the picture, warm or cool, to be multiplied."""
    dice = np.random.default_rng([kind, 0x1A3B])
    across = np.linspace(-1, 1, size[0], dtype=np.float32)[None, :]
    down = np.linspace(-1, 1, size[1], dtype=np.float32)[:, None]
    x, y = dice.uniform(-0.7, 0.4), dice.uniform(-0.9, -0.2)
    fall = np.exp(-((across - np.float32(x)) ** 2 + (down - np.float32(y)) ** 2) * np.float32(0.075))
    corner = 1 - np.float32(0.10) * (across * across + down * down) ** 2 / 4
    warm = [(1.0, 0.975, 0.93), (1.0, 0.99, 0.97), (0.97, 0.985, 1.0), (1.0, 0.965, 0.90)][kind]
    field = (fall * corner)[..., None] * np.asarray(warm, np.float32)
    return Image.fromarray((np.clip(field, 0, 1) * 255).astype(np.uint8))


def _grit(size: tuple[int, int], kind: int) -> Image.Image:
    """Sensor noise around 128, to be added."""
    dice = np.random.default_rng([kind, 0x6217])
    noise = dice.standard_normal((size[1], size[0], 1), np.float32) * np.float32(2.3)
    noise = noise + dice.standard_normal((size[1], size[0], 3), np.float32) * np.float32(1.2)
    return Image.fromarray((np.clip(noise + 128, 0, 255)).astype(np.uint8))
