"""A simulated camera: photos of a worn label on wood.

Each frame is seeded and the same on every machine. The models are simple, with their figures beside them; none was
measured with a real camera. Lengths are millimeters, grays 0 (black) to 255.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

import numpy as np
import pypdfium2
from PIL import Image, ImageDraw, ImageFilter

from labels import LabelText, find_stock, sheet_pdf, tag_payload
from labels.reading import Corner

CODE = "7K3M0QV"
BASE = "http://192.168.1.20:8765"
MARGIN = 6.0
"""Wood around the label, in mm."""

FINE = 12.0
"""Pixels per mm of a printed label, at any resolution of the printer: a little over 300 dpi."""


@dataclass(frozen=True)
class ShotConditions:
    """Wear of a label and conditions of a shot. Shares are of the area, angles degrees, blur in mm."""

    name: str
    dust: float = 0.0
    blob_on_code: float = 0.0
    blob_on_label: float = 0.0
    paper: float = 235.0
    ink: float = 35.0
    fades: bool = False
    tilt: float = 45.0
    blur: float = 0.08
    light: float = 0.9
    noise: float = 4.0
    jpeg: int = 80
    per_mm: float = 8.0


CLEAN = ShotConditions("turned and tilted to 45°")
WEATHERS = (
    CLEAN,
    ShotConditions("out of focus (σ 0.2 mm)", blur=0.2),
    ShotConditions("sawdust 2 %", dust=0.02),
    ShotConditions("sawdust 5 %", dust=0.05),
    ShotConditions("sawdust 10 %", dust=0.10),
    ShotConditions("faded on kraft", paper=160, ink=95, fades=True, noise=6),
    ShotConditions("low light", light=0.22, noise=8),
    ShotConditions("packed hard (JPEG 35)", jpeg=35),
    ShotConditions("blob on 5 % of the code", blob_on_code=0.05),
    ShotConditions("blob on 10 % of the code", blob_on_code=0.10),
    ShotConditions("blob on 5 % of the label", blob_on_label=0.05),
    ShotConditions("blob on 10 % of the label", blob_on_label=0.10),
    ShotConditions(
        "a bad day", dust=0.03, blob_on_label=0.03, paper=190, ink=70, blur=0.12, light=0.5, noise=6, jpeg=60
    ),
)
"""All of them also with any rotation, tilt up to 45°, a little blur, noise and JPEG."""


@dataclass(frozen=True)
class PrintedLabel:
    """One label as printed, in pure black and white; `code` is the box of its main QR code in mm."""

    picture: Image.Image
    per_mm: float
    code: tuple[float, float, float, float]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in mm."""
        return self.picture.width / self.per_mm, self.picture.height / self.per_mm


@lru_cache(maxsize=32)
def printed(
    dpi: int, stock: str = "letter-3x10", *, second: bool = True, code: str = CODE, base: str = BASE
) -> PrintedLabel:
    """A label as printed, with the second code or without it."""
    text = LabelText(
        code_text=f"{code[:3]}-{code[3:]}",
        qr_payload=tag_payload(base, code),
        bare_code=code if second else "",
        species="white oak",
        sizes="23 1/2 × 3 1/4 × 13/16 in",
        condition="rough",
        location="wall 3",
    )
    return _as_printed(sheet_pdf([text], find_stock(stock)), dpi, stock)


def _as_printed(pdf: bytes, dpi: int, stock: str) -> PrintedLabel:
    cell, (left, top) = find_stock(stock).cell, find_stock(stock).corner(1)
    document = pypdfium2.PdfDocument(pdf)
    page = document[0].render(scale=dpi / 72, grayscale=True).to_pil()
    document.close()
    per_mm = dpi / 25.4
    box = (round(left * per_mm), round(top * per_mm), round((left + cell.width) * per_mm), 0)
    label = page.crop((*box[:3], round((top + cell.height) * per_mm))) if not find_stock(stock).is_roll else page
    dots = label.convert("L").point(lambda grey: 255 if grey > 127 else 0)
    fine = (round(dots.width * FINE / per_mm), round(dots.height * FINE / per_mm))
    dots = dots.resize(fine, Image.Resampling.NEAREST)
    return PrintedLabel(dots, FINE, _main_code_box(dots, FINE))


def _main_code_box(dots: Image.Image, per_mm: float) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the label's main code in mm, by the first and last ink of its left part."""
    ink = np.asarray(dots) == 0
    rows = np.flatnonzero(ink[:, : int(20 * per_mm)].any(axis=1))
    columns = np.flatnonzero(ink[rows[0] : rows[0] + int(3 * per_mm)].any(axis=0))
    side = rows[-1] + 1 - rows[0]
    return (
        float(columns[0]) / per_mm,
        float(rows[0]) / per_mm,
        float(columns[0] + side) / per_mm,
        float(rows[-1] + 1) / per_mm,
    )


def render_frame(label: PrintedLabel, conditions: ShotConditions, seed: int) -> Image.Image:
    """A photo of one label on wood, in gray, after JPEG compression."""
    return render_with_corners(label, conditions, seed)[0]


def render_with_corners(
    label: PrintedLabel, conditions: ShotConditions, seed: int
) -> tuple[Image.Image, tuple[Corner, ...]]:
    """As `render_frame`, with the four corners of the label's main code in the photo."""
    rng = np.random.default_rng([seed, *conditions.name.encode()])
    scene = _render_on_wood(label, conditions, rng)
    width, height = scene.width / label.per_mm, scene.height / label.per_mm
    to_camera, side = _camera_homography(width, height, conditions, rng)
    scale = np.diag([label.per_mm, label.per_mm, 1.0])
    back = scale @ np.linalg.inv(to_camera)
    back /= back[2, 2]
    # Where the camera's pixels are larger than the label's, each gets the light of several.
    coarse = label.per_mm / conditions.per_mm
    if coarse > 1:
        scene = scene.filter(ImageFilter.GaussianBlur(0.4 * coarse))
    sent = scene.transform(
        (side, side), Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), Image.Resampling.BICUBIC, fillcolor=120
    )
    sigma = conditions.blur * conditions.per_mm * rng.uniform(0.6, 1.0)
    light = np.asarray(sent.filter(ImageFilter.GaussianBlur(sigma)), dtype=np.float32)
    light *= conditions.light * _light_gradient(side, 0.25, rng)
    light += conditions.noise * rng.standard_normal(light.shape, dtype=np.float32)
    stream = BytesIO()
    Image.fromarray(np.clip(light, 0, 255).astype(np.uint8)).save(stream, "JPEG", quality=conditions.jpeg)
    left, top, right, bottom = (place + MARGIN for place in label.code)
    corners = np.array([[left, right, right, left], [top, top, bottom, bottom], [1, 1, 1, 1]], dtype=float)
    there = to_camera @ corners
    found = tuple((float(x / w), float(y / w)) for x, y, w in there.T)
    return Image.open(stream).convert("L"), found


def _render_on_wood(label: PrintedLabel, conditions: ShotConditions, rng: np.random.Generator) -> Image.Image:
    """The label with ink, fading, dust and blobs, and wood around it, at FINE pixels per mm."""
    dots = np.asarray(label.picture, dtype=np.float32) / 255
    ink = np.full(dots.shape, conditions.ink, dtype=np.float32)
    if conditions.fades:
        # Sun from one side: on that side the label loses up to two fifths of its contrast.
        across = np.linspace(0, 1, dots.shape[1], dtype=np.float32)
        ink += 0.4 * (conditions.paper - conditions.ink) * (across if rng.random() < 0.5 else across[::-1])
    paper = ink + dots * (conditions.paper - ink)
    if conditions.fades:
        paper += 3 * rng.standard_normal(paper.shape, dtype=np.float32)
    edge = round(MARGIN * label.per_mm)
    wood = np.clip(150 + 12 * rng.standard_normal((1, dots.shape[1] + 2 * edge), dtype=np.float32), 90, 210)
    scene = np.repeat(wood, dots.shape[0] + 2 * edge, axis=0)
    scene[edge:-edge, edge:-edge] = paper
    picture = Image.fromarray(np.clip(scene, 0, 255).astype(np.uint8))
    _add_sawdust(picture, label, conditions, rng)
    _add_blob(picture, label, conditions, rng)
    return picture


def _add_sawdust(
    picture: Image.Image, label: PrintedLabel, conditions: ShotConditions, rng: np.random.Generator
) -> None:
    """Draws slivers of 0.2 to 1.2 mm in the grays of wood until the given share of the label is covered."""
    if not conditions.dust:
        return
    edge, layer = MARGIN * label.per_mm, Image.new("L", picture.size)
    pen, few = ImageDraw.Draw(layer), 60
    _draw_slivers(pen, label, few, rng)
    area = (round(edge), round(edge), round(edge) + label.picture.width, round(edge) + label.picture.height)
    covered = 1 - layer.crop(area).histogram()[0] / (label.picture.width * label.picture.height)
    # Slivers overlap: n of them that cover a share a each leave exp(−n·a) uncovered.
    many = few * math.log(1 - conditions.dust) / math.log(1 - covered)
    _draw_slivers(pen, label, round(many) - few, rng)
    picture.paste(layer, mask=layer.point(lambda grey: 255 if grey else 0))


def _draw_slivers(pen: ImageDraw.ImageDraw, label: PrintedLabel, many: int, rng: np.random.Generator) -> None:
    edge, (wide, high) = MARGIN * label.per_mm, label.picture.size
    for x, y, long, thick, turn, grey in rng.random((max(many, 0), 6)):
        x, y, turn = edge + x * wide, edge + y * high, turn * math.pi
        along, across = (0.1 + 0.5 * long) * label.per_mm, (0.06 + 0.14 * thick) * label.per_mm
        dx, dy, ex, ey = (
            math.cos(turn) * along, math.sin(turn) * along, -math.sin(turn) * across, math.cos(turn) * across
        )  # fmt: skip
        pen.polygon([(x - dx, y - dy), (x + ex, y + ey), (x + dx, y + dy), (x - ex, y - ey)], fill=int(95 + 120 * grey))


def _add_blob(picture: Image.Image, label: PrintedLabel, conditions: ShotConditions, rng: np.random.Generator) -> None:
    """Draws one blob of glue, tape or a thumb on the code or on the label: an ellipse within it."""
    edge = MARGIN * label.per_mm
    wide, high = label.size
    for share, box in ((conditions.blob_on_code, label.code), (conditions.blob_on_label, (0.0, 0.0, wide, high))):
        if not share:
            continue
        left, top, right, bottom = (place * label.per_mm + edge for place in box)
        area, aspect = share * (right - left) * (bottom - top), rng.uniform(0.6, 1.7)
        half_wide, half_high = math.sqrt(area * aspect / math.pi), math.sqrt(area / aspect / math.pi)
        x = rng.uniform(left + half_wide, right - half_wide)
        y = rng.uniform(top + min(half_high, (bottom - top) / 2), bottom - min(half_high, (bottom - top) / 2))
        grey = int(rng.uniform(40, 220))
        box = (x - half_wide, y - half_high, x + half_wide, y + half_high)
        ImageDraw.Draw(picture).ellipse(box, fill=grey)


def _camera_homography(
    width: float, height: float, conditions: ShotConditions, rng: np.random.Generator
) -> tuple[np.ndarray[tuple[int, int], np.dtype[np.float64]], int]:
    """The homography from mm to pixels of a camera at a random rotation and tilt, and the side of its picture."""
    turn, lean, tilt = rng.uniform(0, 2 * math.pi), rng.uniform(0, 2 * math.pi), math.radians(conditions.tilt)
    tilt *= rng.uniform(0, 1)
    far = 2.2 * math.hypot(width, height)
    middle = np.array([[1, 0, -width / 2], [0, 1, -height / 2], [0, 0, 1]])
    towards = _rotation(lean) @ np.diag([1, math.cos(tilt), 1.0]) @ _rotation(turn)
    # The tilted-away side is farther off and smaller.
    deeper = np.eye(3)
    deeper[2, :2] = _rotation(turn)[1, :2] * math.sin(tilt) / far
    in_mm = towards @ deeper @ middle
    corners = in_mm @ np.array([[0, width, width, 0], [0, 0, height, height], [1, 1, 1, 1]])
    points = corners[:2] / corners[2]
    low, span = points.min(axis=1), np.ptp(points, axis=1).max()
    scale = conditions.per_mm
    place = np.array([[scale, 0, -scale * low[0]], [0, scale, -scale * low[1]], [0, 0, 1]])
    return place @ in_mm, math.ceil(scale * span)


def _rotation(angle: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.array([[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0], [0, 0, 1.0]])


def _light_gradient(
    side: int, depth: float, rng: np.random.Generator
) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    """Light that decreases from one side to the other by up to `depth`."""
    turn = rng.uniform(0, 2 * math.pi)
    along = np.linspace(-0.5, 0.5, side, dtype=np.float32)
    slope = math.cos(turn) * along[None, :] + math.sin(turn) * along[:, None]
    return (1 - depth / 2 + depth * rng.uniform(0, 1) * slope).astype(np.float32)


def render_shelf(codes: Sequence[str], *, base: str = BASE, per_mm: float = 7.0, columns: int = 2) -> Image.Image:
    """A photo of clean labels in straight rows, in the order of the codes."""
    pitch = 66.7 * per_mm + 40
    rows = -(-len(codes) // columns)
    photo = Image.new("L", (int(columns * pitch) + 40, int(rows * 36 * per_mm) + 40), 130)
    for number, code in enumerate(codes):
        label = printed(203, code=code, base=base)
        size = round(label.size[0] * per_mm), round(label.size[1] * per_mm)
        row, column = divmod(number, columns)
        place = 40 + int(column * pitch), 40 + int(row * 36 * per_mm)
        photo.paste(label.picture.resize(size, Image.Resampling.BICUBIC).point(lambda grey: 30 + grey * 4 // 5), place)
    return photo
