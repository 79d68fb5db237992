"""The drawing of one label: QR codes, text, pencil stroke, photo or silhouette."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from labels.geometry import OVERHANG, Box, LabelLayout, layout_label, second_code_box
from labels.photos.dot_grid import nearest_dot, snap_box
from labels.photos.print_photo import crop_to_piece, fitted_size, open_photo, prepare_photo
from labels.qr import QUIET_MODULES, Symbol, dark_rectangles, min_side, symbol_for
from labels.shapes import PhotoShape, Polygon, Rectangles, Shape, Stroke, Text
from labels.stock import Stock
from labels.typesetting.around_code import set_text_around
from labels.typesetting.fonts import MM_PER_POINT, with_fractions
from labels.typesetting.words import LineKind, TextRow, set_text

# common practice, no source: lines that a 203 dpi printer (0.125 mm a dot) still draws whole
PENCIL_WIDTH = 0.3
HAIRLINE = 0.15

# How far below the baseline the pencil stroke is, in type sizes: clear of the foot of a J.
STROKE_BELOW = 0.27

# Distance of a silhouette's grain lines, in mm on the label.
GRAIN_SPACING = 1.1
MAX_GRAIN_LINES = 5


@dataclass(frozen=True)
class LabelText:
    """The content of a label: text as printed, a picture, a length and width in mm.

    `bare_code` is the text of a second, smaller QR code where the label has room for one; empty for none.
    """

    code_text: str
    qr_payload: str
    species: str = ""
    sizes: str = ""
    condition: str = ""
    location: str = ""
    picture: bytes | None = None
    silhouette: tuple[float, float] | None = None
    bare_code: str = ""


def draw_label(label: LabelText, stock: Stock, cell: int = 1) -> list[Shape]:
    """The shapes of one label, in mm from its top left. Raises LabelError where its code or its text has no room.

    `cell` is the label's place on the page, from 1; the dots of a thermal printer are aligned to the page.
    """
    symbol = symbol_for(label.qr_payload)
    wants_picture = label.picture is not None or label.silhouette is not None
    places = layout_label(stock, symbol.side, min_side(label.qr_payload, symbol.side), with_picture=wants_picture)
    shapes: list[Shape] = [
        _code_shape(symbol, places.symbol, stock, cell),
        *_text_and_second_code(label, places, stock, cell),
    ]
    if places.picture is not None:
        shapes += _picture(label, places.picture, stock, cell)
    return shapes


def main_code_side(stock: Stock, qr_payload: str, *, with_picture: bool) -> float:
    """The side of a label's main code in mm, without its quiet zone. Raises LabelError where it has no room."""
    symbol = symbol_for(qr_payload)
    places = layout_label(stock, symbol.side, min_side(qr_payload, symbol.side), with_picture=with_picture)
    return places.symbol.width


def _text_and_second_code(label: LabelText, places: LabelLayout, stock: Stock, cell: int) -> list[Shape]:
    """The text, around a second code where there is one to print and room for it."""
    words, room = _text_lines(label), places.words
    with_text = any(text.strip() for line, text in words if line is not LineKind.CODE)
    dot = float(stock.dot / stock.correction.across)
    second = second_code_box(places, with_text=with_text, dot=dot) if label.bare_code else None
    if second is None:
        return [*_rows(set_text(words, room.width, room.height), room)]
    corner = room.right - second.left + OVERHANG, second.height
    symbol = symbol_for(label.bare_code)
    quiet = second.width * QUIET_MODULES / (symbol.side + 2 * QUIET_MODULES)
    return [
        *_rows(set_text_around(words, room.width, room.height, corner), room),
        _code_shape(symbol, second.inset(quiet), stock, cell),
    ]


def _text_lines(label: LabelText) -> list[tuple[LineKind, str]]:
    return [
        (LineKind.CODE, label.code_text),
        (LineKind.SPECIES, label.species),
        (LineKind.SIZES, with_fractions(label.sizes)),
        (LineKind.CONDITION, label.condition),
        (LineKind.LOCATION, label.location),
    ]


def _code_shape(symbol: Symbol, box: Box, stock: Stock, cell: int) -> Shape:
    left, top = nearest_dot(stock, cell, box.left, box.top)
    return Rectangles(left, top, box.width / symbol.side, dark_rectangles(symbol))


def _rows(rows: tuple[TextRow, ...], box: Box) -> Iterator[Shape]:
    for row in rows:
        yield Text(box.left, box.top + row.baseline, row.text, row.face, row.size)
        if row.line is LineKind.CODE:
            yield _pencil_stroke(box.left, box.top + row.baseline + STROKE_BELOW * row.size * MM_PER_POINT, row.width)


def _pencil_stroke(left: float, y: float, length: float) -> Shape:
    """The stroke under the code, thick at its left end and thin at its right."""
    thick, thin = 0.26, 0.08
    right = left + length
    points = (
        (left, y - thick),
        (left + 0.5, y - thick - 0.05),
        (right, y - thin),
        (right, y + thin),
        (left + 0.3, y + thick),
    )
    return Polygon(points)


def _picture(label: LabelText, box: Box, stock: Stock, cell: int) -> list[Shape]:
    """The photo; if there is none or it can't be read, the silhouette; else nothing."""
    max_pixels = round(max(box.width, box.height) / 25.4 * stock.dpi)
    photo = None if label.picture is None else open_photo(label.picture, max_pixels)
    if photo is not None:
        photo = crop_to_piece(photo)
        width, height = fitted_size(photo, box.width, box.height)
        filled = Box(box.left + (box.width - width) / 2, box.top + (box.height - height) / 2, width, height)
        filled, across, down = snap_box(stock, cell, filled)
        frame = Stroke((filled.inset(HAIRLINE / 2).outline,), HAIRLINE)
        return [PhotoShape(filled, prepare_photo(photo, across, down, stock.tone)), *([] if stock.dot else [frame])]
    if label.silhouette is not None:
        return _silhouette(label.silhouette, box)
    return []


def _silhouette(sizes: tuple[float, float], box: Box) -> list[Shape]:
    """The outline of the piece's face to scale, its length across, with a few grain lines."""
    length, width = sizes
    if not (math.isfinite(length) and math.isfinite(width) and length > 0 and width > 0):
        return []
    room = box.inset(PENCIL_WIDTH / 2)
    scale = min(room.width / length, room.height / width)
    across, down = length * scale, width * scale
    face = Box(room.left + (room.width - across) / 2, room.top + (room.height - down) / 2, across, down)
    return [Stroke((face.outline,), PENCIL_WIDTH), *_grain(face)]


def _grain(face: Box) -> list[Shape]:
    """Grain lines that bend around a knot; none where the face is too small for them."""
    count = min(MAX_GRAIN_LINES, int(face.height / GRAIN_SPACING) - 1)
    if count < 1 or face.width < 4:
        return []
    spacing = face.height / (count + 1)
    lines = []
    for number in range(1, count + 1):
        level = face.top + number * spacing
        swell = 0.32 * spacing * math.copysign(1.0, number - (count + 1) / 2 + 0.1)
        start, end = face.left + 0.06 * face.width * (1 + number % 2), face.right - 0.05 * face.width * (1 + number % 3)
        steps = 24
        points = []
        for step in range(steps + 1):
            x = start + (end - start) * step / steps
            near = math.exp(-(((x - face.left) / face.width - 0.62) ** 2) / 0.02)
            points.append((x, level + swell * near))
        lines.append(tuple(points))
    return [Stroke(tuple(lines), HAIRLINE, shade=0.35)]
