"""Photos of the demo's offcuts: a wood texture laid in perspective on a bench, with a soft shadow.

The pictures in `textures/` are the project's own: two faces for each species, one above the other, three benches,
and gray overlays for saw marks, brush strokes and worn spots. Each piece shows another part of its texture.
The same piece and seed give the same bytes on the same machine. World lengths are millimeters as floats: x to the
right, y towards the camera, z up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib.resources import files
from io import BytesIO
from random import Random

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageEnhance, ImageFilter

from inventory.core.lengths import NM_PER_MM
from inventory.core.offcuts import Face, Offcut, species_key
from inventory.storage.photos import IncomingPhoto, PhotoSize

PHOTO_SIZE = (800, 600)
MAX_PIECES_SHOWN = 6
"""Of a larger bundle, six pieces are shown."""

_TEXTURES = files("inventory.demo").joinpath("textures")
_OTHER_SPECIES = "hard_maple"
_BENCHES = ("bench", "saw_table", "floor")
_FACE_SIZE = (1200, 400)
_TEXTURE_PIXELS_PER_MM = 1.2
_MARGIN = 0.05
_TILT = math.radians(17)
_QUALITY = 82
_RESAMPLING = Image.Resampling.BILINEAR

Point = tuple[float, float]
Corners = tuple[Point, ...]
"""A piece seen from above: clockwise from its far left corner, in mm."""

Color = tuple[int, int, int]


class Coat(Enum):
    """The old coating on a finished face."""

    VARNISH = "varnish"
    DARK_STAIN = "dark stain"
    OIL = "oil"
    WHITE_PAINT = "white paint"
    CREAM_PAINT = "cream paint"
    GREEN_PAINT = "green paint"
    GRAY_PAINT = "gray paint"
    BLUE_PAINT = "blue paint"


_PAINTS: dict[Coat, Color] = {
    Coat.WHITE_PAINT: (232, 230, 222),
    Coat.CREAM_PAINT: (226, 212, 172),
    Coat.GREEN_PAINT: (72, 104, 84),
    Coat.GRAY_PAINT: (146, 152, 152),
    Coat.BLUE_PAINT: (88, 116, 138),
}
_TINTS: dict[Coat, Color] = {
    Coat.VARNISH: (245, 209, 153),
    Coat.DARK_STAIN: (158, 112, 77),
    Coat.OIL: (237, 209, 168),
}
_SAWDUST = (196, 172, 140)
_SHADOW = (24, 19, 15)


def photo(offcut: Offcut, seed: int, coat: Coat = Coat.VARNISH) -> IncomingPhoto:
    """The offcut's picture as JPEGs, ready to be stored."""
    full = picture(offcut, seed, coat)
    thumb = full.copy()
    thumb.thumbnail((PhotoSize.THUMB.longest_side,) * 2, Image.Resampling.BILINEAR)
    return IncomingPhoto(_jpeg(full), _jpeg(thumb), *full.size)


def picture(offcut: Offcut, seed: int, coat: Coat = Coat.VARNISH) -> Image.Image:
    """A picture of the offcut, or of the pieces of a bundle side by side, in their true proportions."""
    random = Random(seed)
    length, width, thickness = (side / NM_PER_MM for side in (offcut.length, offcut.width, offcut.thickness))
    laid = _laid_out(length, width, thickness, min(offcut.count, MAX_PIECES_SHOWN), random)
    camera = _Camera.framing(laid, thickness)
    canvas = _cut_out(_texture(random.choice(_BENCHES)), PHOTO_SIZE, random)
    for corners in laid:
        bare = _bare_face(offcut.species, length, width, random)
        low, high = ([camera.pixel(x, y, z) for x, y in corners] for z in (0, thickness))
        _shade(canvas, low, thickness * camera.scale)
        _lay(canvas, low, high, bare, _surfaced(bare, offcut.face_a, coat, random))
    return ImageChops.multiply(canvas, _lamp())


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()


@cache
def _texture(name: str) -> Image.Image:
    with _TEXTURES.joinpath(f"{name}.webp").open("rb") as stream, Image.open(stream) as opened:
        return opened.convert("RGB")


@cache
def _lamp() -> Image.Image:
    """Warm light that falls off towards the corners, to be multiplied."""
    fall_off = Image.radial_gradient("L").resize(PHOTO_SIZE, Image.Resampling.BICUBIC)
    bands = [fall_off.point([round(most - 46 * (at / 255) ** 2) for at in range(256)]) for most in (255, 251, 243)]
    return Image.merge("RGB", bands)


def _cut_out(texture: Image.Image, size: tuple[int, int], random: Random) -> Image.Image:
    """A part of the texture, of `size` pixels: at some offset, perhaps mirrored."""
    left, top = random.randint(0, texture.width - size[0]), random.randint(0, texture.height - size[1])
    return _mirrored(texture.crop((left, top, left + size[0], top + size[1])), random)


def _mirrored(image: Image.Image, random: Random) -> Image.Image:
    for flip in (Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.FLIP_TOP_BOTTOM):
        if random.random() < 0.5:
            image = image.transpose(flip)
    return image


def _bare_face(species: str, length: float, width: float, random: Random) -> Image.Image:
    """A face of `length` by `width` mm; an unknown species looks like a plain pale one."""
    name = species_key(species).replace(" ", "_")
    both = _texture(name if _TEXTURES.joinpath(f"{name}.webp").is_file() else _OTHER_SPECIES)
    top = random.choice((0, _FACE_SIZE[1]))
    texture = both.crop((0, top, _FACE_SIZE[0], top + _FACE_SIZE[1]))
    pixels_per_mm = min(_TEXTURE_PIXELS_PER_MM, texture.width / length, texture.height / width)
    return _cut_out(texture, (int(length * pixels_per_mm), int(width * pixels_per_mm)), random)


def _surfaced(bare: Image.Image, face: Face, coat: Coat, random: Random) -> Image.Image:
    """The bare face as it is on the rack: with saw marks, clean, or under its old coat."""
    match face:
        case Face.ROUGH:
            dusty = Image.blend(bare, Image.new("RGB", bare.size, _SAWDUST), 0.2)
            return ImageChops.overlay(dusty, _cut_out(_texture("rough"), bare.size, random))
        case Face.PLANED:
            return bare
        case Face.FINISHED:
            return _coated(bare, coat, random)


def _coated(bare: Image.Image, coat: Coat, random: Random) -> Image.Image:
    if coat in _PAINTS:
        coated = Image.blend(Image.new("RGB", bare.size, _PAINTS[coat]), bare, 0.06)
    else:
        tint = Image.new("RGB", bare.size, _TINTS[coat])
        coated = ImageEnhance.Contrast(ImageChops.multiply(bare, tint)).enhance(1.05)
    coated = ImageChops.overlay(coated, _cut_out(_texture("old_finish"), bare.size, random))
    # Stretched over the whole face: a coat wears off at the edges first.
    worn = _texture("worn").convert("L")
    half = random.choice((0, worn.height // 2))
    mask = _mirrored(worn.crop((0, half, worn.width, half + worn.height // 2)), random).resize(bare.size)
    return Image.composite(bare, coated, mask)


def _laid_out(length: float, width: float, thickness: float, pieces: int, random: Random) -> list[Corners]:
    """One piece alone, a slender one near the picture's diagonal, or a few side by side."""
    slender = pieces * width < length / 4
    turn = random.choice((-1, 1)) * (random.uniform(0.25, 0.45) if slender else random.uniform(0.02, 0.16))
    laid = []
    y = 0.0
    for _ in range(pieces):
        askew = turn + random.uniform(-0.01, 0.01)
        x = random.uniform(-0.03, 0.03) * length * (pieces > 1)
        far, near, left, right = y - width / 2, y + width / 2, x - length / 2, x + length / 2
        square = ((left, far), (right, far), (right, near), (left, near))
        laid.append(tuple(_turned(corner, askew) for corner in square))
        y += width * random.uniform(1.03, 1.1) + thickness * 0.12
    return laid


def _turned(point: Point, by: float) -> Point:
    x, y = point
    return x * math.cos(by) - y * math.sin(by), x * math.sin(by) + y * math.cos(by)


@dataclass(frozen=True)
class _Camera:
    """Looks down on the bench, a little from the front: world millimeters to pixels."""

    scale: float = 1.0
    middle: Point = (0.0, 0.0)

    @classmethod
    def framing(cls, laid: list[Corners], thickness: float) -> _Camera:
        """The camera that shows all pieces as large as possible inside a margin."""
        flat = cls()
        points = [flat.pixel(x, y, z) for corners in laid for x, y in corners for z in (0, thickness)]
        (left, top), (right, bottom) = (tuple(map(pick, zip(*points, strict=True))) for pick in (min, max))
        scale = (1 - 2 * _MARGIN) * min(PHOTO_SIZE[0] / (right - left), PHOTO_SIZE[1] / (bottom - top))
        center = ((left + right - PHOTO_SIZE[0]) / 2, (top + bottom - PHOTO_SIZE[1]) / 2 / math.cos(_TILT))
        return cls(scale, center)

    def pixel(self, x: float, y: float, z: float) -> Point:
        x, y = x - self.middle[0], y - self.middle[1]
        nearer = self.scale * (1 + (y * 0.10 + z * 0.12) * self.scale / 1000)
        return (
            PHOTO_SIZE[0] / 2 + x * nearer,
            PHOTO_SIZE[1] / 2 + (y * math.cos(_TILT) - z * math.sin(_TILT)) * nearer,
        )


def _lay(canvas: Image.Image, low: list[Point], high: list[Point], bare: Image.Image, face: Image.Image) -> None:
    """Draws the sides of a piece that face the camera, then its top. The sides show a strip of the bare face."""
    visible = math.dist(low[2], high[2]) / math.dist(high[1], high[2])
    strip = bare.crop((0, 0, bare.width, max(4, round(min(1, visible) * bare.height))))
    side = ImageEnhance.Brightness(strip).enhance(0.68)
    for here, there in ((1, 2), (2, 3), (3, 0)):
        if high[there][0] < high[here][0]:
            _paste(canvas, side, (high[there], high[here], low[here], low[there]))
    _paste(canvas, face, high)


def _shade(canvas: Image.Image, outline: list[Point], height: float) -> None:
    """A soft shadow to the lower right, and the dark line where the piece meets the bench."""
    for reach, blur, dark in ((0.5, 0.35, 130), (0.05, 0.06, 170)):
        mask = Image.new("L", (PHOTO_SIZE[0] // 2, PHOTO_SIZE[1] // 2))
        cast = [((x + height * reach * 0.8) / 2, (y + height * reach) / 2) for x, y in outline]
        ImageDraw.Draw(mask).polygon(cast, fill=dark)
        soft = mask.filter(ImageFilter.GaussianBlur(max(1.0, height * blur / 2))).resize(PHOTO_SIZE)
        canvas.paste(_SHADOW, mask=soft)


def _paste(canvas: Image.Image, texture: Image.Image, shown: Sequence[Point]) -> None:
    """Lays a texture into the quadrilateral `shown`, given clockwise from the texture's upper left corner."""
    left, top = (math.floor(min(side)) - 1 for side in zip(*shown, strict=True))
    right, bottom = (math.ceil(max(side)) + 1 for side in zip(*shown, strict=True))
    size = (right - left, bottom - top)
    inside = [(x - left, y - top) for x, y in shown]
    mask = Image.new("L", (2 * size[0], 2 * size[1]))
    ImageDraw.Draw(mask).polygon([(2 * x, 2 * y) for x, y in inside], fill=255)
    seen = texture.transform(size, Image.Transform.PERSPECTIVE, _homography(inside, texture.size), _RESAMPLING)
    canvas.paste(seen, (left, top), mask.reduce(2))


def _homography(shown: list[Point], size: tuple[int, int]) -> tuple[float, ...]:
    """The eight coefficients that map a shown point to its pixel in a texture of `size`."""
    # Half a pixel inside: what is outside of the texture would be black.
    right, bottom = size[0] - 0.5, size[1] - 0.5
    rows, values = [], []
    for (x, y), (u, v) in zip(shown, ((0.5, 0.5), (right, 0.5), (right, bottom), (0.5, bottom)), strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    return tuple(np.linalg.solve(np.array(rows), np.array(values)).tolist())
