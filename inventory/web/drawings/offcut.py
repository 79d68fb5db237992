"""One offcut drawn to scale: its face, and its end with what comes off each face.

Lengths come in as Length; the drawing's own units are CSS pixels at the width of a small phone, and floats serve
here for ink alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup, escape

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, format_length
from inventory.core.offcuts import Face, Offcut

PAPER_WIDTH = 360
MARGIN = 8
DIMENSION_GAP = 14
LINE_HEIGHT = 20
FACE_MAX_WIDTH, FACE_MAX_HEIGHT = 212, 130
END_MAX_WIDTH, END_MAX_HEIGHT = 150, 84
OUTLINE_WIDTH, OUTLINE_HEIGHT = 184, 134
MIN_SIZE = 2.0
GRAIN_SPACING = 9
LABEL_WIDTH = 104
"""Room for "face A finished" beside the end of a piece that is drawn narrow."""


@dataclass(frozen=True)
class _Rect:
    """A rectangle on the paper, in pixels."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height


def draw_offcut(offcut: Offcut, allowances: Allowances, display: Display) -> Markup:
    """The drawing of one offcut as an SVG that explains itself to a screen reader.

    The face is drawn length by width; below it the end, width by thickness, at a
    larger scale that the drawing names, with what cleaning takes off each face
    hatched.
    """
    face_scale = min(FACE_MAX_WIDTH / offcut.length, FACE_MAX_HEIGHT / offcut.width)
    end_scale = min(END_MAX_WIDTH / offcut.width, END_MAX_HEIGHT / offcut.thickness)
    face = _Rect(MARGIN, MARGIN, _visible_size(offcut.length * face_scale), _visible_size(offcut.width * face_scale))
    caption_line = face.bottom + DIMENSION_GAP + 2 * LINE_HEIGHT + 6
    end = _Rect(
        MARGIN,
        caption_line + LINE_HEIGHT + 10,
        _visible_size(offcut.width * end_scale),
        _visible_size(offcut.thickness * end_scale),
    )
    ratio = end_scale / face_scale
    clean = allowances.clean_thickness(offcut)
    cleaned = f"{format_length(clean, display)} clean" if clean > 0 else "nothing left clean"
    sizes = " by ".join(format_length(size, display) for size in (offcut.length, offcut.width, offcut.thickness))
    description = f"{sizes}; face A {offcut.face_a.value}, face B {offcut.face_b.value}; {cleaned}"
    height = end.bottom + LINE_HEIGHT + MARGIN
    parts = [
        *_face_view(face, offcut, display),
        _text(MARGIN, caption_line, _enlarged(ratio), "drawing-caption"),
        *_end_view(end, offcut, allowances, end_scale),
        _dimension_down(
            end, max(end.right, end.x + LABEL_WIDTH), [f"{format_length(offcut.thickness, display)} thick", cleaned]
        ),
    ]
    return Markup(
        f'<svg class="offcut-drawing" viewBox="0 0 {PAPER_WIDTH} {height:.1f}" role="img" '
        f'aria-labelledby="drawing-title"><title id="drawing-title">Drawn to scale: {escape(description)}.</title>'
        f"{''.join(parts)}</svg>"
    )


def draw_outline(offcut: Offcut) -> Markup:
    """The face alone, length by width, to fill the place of a photo that was not taken; silent to a screen reader."""
    scale = min(OUTLINE_WIDTH / offcut.length, OUTLINE_HEIGHT / offcut.width)
    long, wide = _visible_size(offcut.length * scale), _visible_size(offcut.width * scale)
    paper_width, paper_height = OUTLINE_WIDTH + 2 * MARGIN, OUTLINE_HEIGHT + 2 * MARGIN
    face = _Rect((paper_width - long) / 2, (paper_height - wide) / 2, long, wide)
    return Markup(
        f'<svg class="outline-drawing" viewBox="0 0 {paper_width} {paper_height}" aria-hidden="true" focusable="false">'
        f"{_rectangle(face, 'drawing-wood')}{_grain(face)}</svg>"
    )


def _visible_size(size: float) -> float:
    """A drawn size that can still be seen: a veneer is no thinner than a pencil line."""
    return max(size, MIN_SIZE)


def _enlarged(ratio: float) -> str:
    if 0.95 <= ratio <= 1.05:
        return "The end, at the same scale"
    if ratio > 1:
        return f"The end, {ratio:.1f} times the scale of the face"
    return f"The end, at {ratio:.2f} of the scale of the face"


def _face_view(face: _Rect, offcut: Offcut, display: Display) -> list[str]:
    return [
        _rectangle(face, "drawing-wood"),
        _grain(face),
        _dimension_along(face, f"{format_length(offcut.length, display)} along the grain"),
        _dimension_down(face, face.right, [format_length(offcut.width, display)]),
    ]


def _end_view(end: _Rect, offcut: Offcut, allowances: Allowances, scale: float) -> list[str]:
    parts = [_text(end.x, end.y - 6, f"face A {offcut.face_a.value}"), _rectangle(end, "drawing-wood")]
    top = min(allowances.off(offcut.face_a) * scale, end.height)
    bottom = min(allowances.off(offcut.face_b) * scale, end.height - top)
    parts += _removed_hatching(_Rect(end.x, end.y, end.width, top))
    parts += _removed_hatching(_Rect(end.x, end.bottom - bottom, end.width, bottom))
    parts += _edge_of(end.x, end.y, end.width, offcut.face_a)
    parts += _edge_of(end.x, end.bottom, end.width, offcut.face_b)
    parts.append(_text(end.x, end.bottom + 17, f"face B {offcut.face_b.value}"))
    return parts


def _rectangle(box: _Rect, kind: str) -> str:
    return (
        f'<rect class="{kind}" x="{box.x:.1f}" y="{box.y:.1f}" width="{box.width:.1f}" height="{box.height:.1f}" '
        'fill="none" stroke="currentColor"/>'
    )


def _grain(box: _Rect) -> str:
    """Pencil lines along the length; none where the piece is drawn too narrow for them."""
    lines = int(box.height // GRAIN_SPACING)
    paths = []
    for number in range(1, lines):
        y = box.y + box.height * number / lines
        bow = 1.5 if number % 2 else -1.5
        start, stop = box.x + 4 + 7 * (number % 3), box.right - 4 - 5 * (number % 2)
        if stop - start > 20:
            middle = (start + stop) / 2
            paths.append(f"M{start:.1f} {y:.1f}Q{middle:.1f} {y + bow:.1f} {stop:.1f} {y:.1f}")
    return f'<path class="drawing-grain" d="{"".join(paths)}" fill="none" stroke="currentColor"/>' if paths else ""


def _removed_hatching(box: _Rect) -> list[str]:
    """What cleaning takes off, hatched with slanted strokes."""
    if box.height <= 0:
        return []
    strokes = []
    x = box.x
    while x < box.right:
        strokes.append(f"M{x:.1f} {box.bottom:.1f}L{min(x + 4, box.right):.1f} {box.y:.1f}")
        x += 6
    return [f'<path class="drawing-off" d="{"".join(strokes)}" fill="none" stroke="currentColor"/>']


def _edge_of(x: float, y: float, width: float, face: Face) -> list[str]:
    """How a face looks from the end: rough is a saw-toothed line, finished a double one, planed straight."""
    match face:
        case Face.PLANED:
            return []
        case Face.FINISHED:
            path = f"M{x:.1f} {y - 2:.1f}H{x + width:.1f}M{x:.1f} {y + 2:.1f}H{x + width:.1f}"
        case Face.ROUGH:
            teeth = max(2, int(width // 6))
            step = width / teeth / 2
            path = f"M{x:.1f} {y:.1f}" + f"l{step:.2f} -2.5l{step:.2f} 2.5" * teeth
    return [f'<path class="drawing-edge" d="{path}" fill="none" stroke="currentColor"/>']


def _dimension_along(box: _Rect, text: str) -> str:
    y = box.bottom + DIMENSION_GAP
    line = f"M{box.x:.1f} {y - 5:.1f}v10M{box.right:.1f} {y - 5:.1f}v10M{box.x:.1f} {y:.1f}H{box.right:.1f}"
    return _measure_line(line) + _text(box.x, y + LINE_HEIGHT, text)


def _dimension_down(box: _Rect, right: float, texts: list[str]) -> str:
    x = right + DIMENSION_GAP
    ticks = f"M{box.right + 4:.1f} {box.y:.1f}H{x + 5:.1f}M{box.right + 4:.1f} {box.bottom:.1f}H{x + 5:.1f}"
    line = f"{ticks}M{x:.1f} {box.y:.1f}V{box.bottom:.1f}"
    first = (box.y + box.bottom) / 2 + 5 - (len(texts) - 1) * LINE_HEIGHT / 2
    return _measure_line(line) + "".join(
        _text(x + 10, first + number * LINE_HEIGHT, text) for number, text in enumerate(texts)
    )


def _measure_line(path: str) -> str:
    return f'<path class="drawing-measure" d="{path}" fill="none" stroke="currentColor"/>'


def _text(x: float, y: float, text: str, kind: str = "drawing-text") -> str:
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" fill="currentColor">{escape(text)}</text>'
