"""PDFs of labels with exact sizes: sheets, rolls, test sheets.

The same labels make the same bytes.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from io import BytesIO
from itertools import chain, repeat
from typing import Any

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFImageXObject
from reportlab.pdfgen.canvas import Canvas

from labels.drawing import LabelText, draw_label
from labels.errors import LabelError
from labels.pdf.measuring_strips import strip_shapes
from labels.pdf.printer import IDENTITY, Tone
from labels.pdf.test_sheet import cut_mark_shapes, measuring_label, ruler_label, test_sheet_shapes
from labels.photos.print_photo import PreparedPhoto
from labels.shapes import PhotoShape, Point, Polygon, Rectangles, Shape, Stroke, Text, translated
from labels.stock import Stock, checked_copies, checked_start
from labels.typesetting.fonts import MM_PER_POINT, FontFace, font_runs, load_font

# In mm: far more than rounding errors in a PDF, far less than a dot.
EPSILON = 0.002


class NothingToPrint(LabelError):
    """A sheet without any label."""


def sheet_pdf(
    labels: Iterable[LabelText],
    stock: Stock,
    *,
    start_cell: int = 1,
    copies: int = 1,
    ruler: bool = False,
    cut_marks: bool = False,
) -> bytes:
    """The labels as a PDF, from `start_cell` on; rolls have one label a page.

    Each label is printed `copies` times in a row. `labels` is read one at a time. With `ruler`, the first cell has a
    scale that shows whether the page was printed at 100 %; with `cut_marks`, the corners of the cells are marked.
    Raises LabelError.
    """
    first, copies = checked_start(stock, start_cell) - 1, checked_copies(copies)
    repeated: Iterator[LabelText] = chain.from_iterable(repeat(label, copies) for label in labels)
    first_label = next(repeated, None)
    if first_label is None:
        raise NothingToPrint("There is no label to print: none was chosen and none waits. Choose the pieces to label.")
    paper = _PdfWriter(stock, "Labels")
    queue: Iterator[LabelText | None] = chain([None] if ruler else [], [first_label], repeated)
    for place, label in enumerate(queue, start=first):
        cell = place % stock.cells + 1
        if place == first or cell == 1:
            paper.next_page()
            paper.draw(cut_mark_shapes(stock) if cut_marks else [])
        if label is None:
            paper.draw(ruler_label(stock, cell))
        else:
            left, top = stock.corner(cell)
            paper.draw(translated(shape, float(left), float(top)) for shape in draw_label(label, stock, cell))
    return paper.to_bytes()


def test_sheet_pdf(stock: Stock, *, corrected: bool = False) -> bytes:
    """One page that shows whether sheets are printed at 100 %, and where labels are: outlines, scales, instructions.

    A roll has a second label with the lines to measure. They are measured on a page without the stock's correction;
    `corrected` shows the result with it.
    """
    paper = _PdfWriter(stock if corrected else replace(stock, correction=IDENTITY), "Test sheet for labels")
    paper.next_page()
    paper.draw(test_sheet_shapes(stock))
    if stock.is_roll:
        paper.next_page()
        paper.draw(measuring_label(stock))
    return paper.to_bytes()


def measuring_strips_pdf(stock: Stock) -> bytes:
    """One page on the stock's paper with the measuring strips."""
    paper = _PdfWriter(replace(stock, correction=IDENTITY), "Strips to measure by")
    paper.next_page()
    paper.draw(strip_shapes(float(stock.page.width), float(stock.page.height)))
    return paper.to_bytes()


class _PdfWriter:
    """Writes shapes, in mm from the page's top left, to a PDF."""

    def __init__(self, stock: Stock, title: str) -> None:
        # Binary streams instead of ASCII: a fifth smaller. In the library this is a global setting.
        rl_config.useA85 = 0
        self._stock = stock
        self._height = float(stock.page.height) / MM_PER_POINT
        self._has_page = False
        self._canvas = Canvas(
            BytesIO(),
            pagesize=(float(stock.page.width) / MM_PER_POINT, self._height),
            pageCompression=1,
            invariant=1,
            initialFontName=load_font(FontFace.REGULAR).fontName,
        )
        load_font(FontFace.BOLD)
        self._canvas.setTitle(f"{title}: {stock.name}")
        # ISO 32000-1, table 150: print dialogs that support it begin at 100 %
        self._canvas.setViewerPreference("PrintScaling", "None")

    def draw(self, shapes: Iterable[Shape]) -> None:
        for shape in shapes:
            match shape:
                case Rectangles():
                    self._rectangles(shape)
                case Polygon():
                    self._polygon(shape)
                case Stroke():
                    self._stroke(shape)
                case Text():
                    self._text(shape)
                case PhotoShape():
                    self._photo(shape)

    def next_page(self) -> None:
        if self._has_page:
            self._canvas.showPage()
        self._has_page = True
        correction = self._stock.correction
        if correction != IDENTITY:
            # The correction is relative to the top left, PDF coordinates to the bottom left.
            right, lower = float(correction.right) / MM_PER_POINT, float(correction.lower) / MM_PER_POINT
            across, down = float(correction.across), float(correction.down)
            self._canvas.transform(across, 0, 0, down, right, self._height * (1 - down) - lower)

    def to_bytes(self) -> bytes:
        self._canvas.showPage()
        output: bytes = self._canvas.getpdfdata()
        return output

    def _point(self, x: float, y: float) -> tuple[float, float]:
        return x / MM_PER_POINT, self._height - y / MM_PER_POINT

    def _rectangles(self, shape: Rectangles) -> None:
        """All rectangles as one path in whole units, so that neighbors share their edges exactly."""
        x, y = self._point(shape.left, shape.top)
        unit = shape.unit / MM_PER_POINT
        self._canvas.saveState()
        self._canvas.setFillGray(0)
        self._canvas.transform(unit, 0, 0, -unit, x, y)
        self._canvas.addLiteral(" ".join(f"{x} {y} {wide} {high} re" for x, y, wide, high in shape.rectangles) + " f")
        self._canvas.restoreState()

    def _polygon(self, shape: Polygon) -> None:
        self._canvas.setFillGray(shape.shade)
        self._canvas.addLiteral(f"{self._path(shape.points)} h f")

    def _stroke(self, shape: Stroke) -> None:
        self._canvas.setStrokeGray(shape.shade)
        self._canvas.setLineWidth(shape.width / MM_PER_POINT)
        self._canvas.setDash([dash / MM_PER_POINT for dash in shape.dashes])
        self._canvas.addLiteral(" ".join(map(self._path, shape.lines)) + " S")

    def _path(self, points: Sequence[Point]) -> str:
        """A polyline. The library's own number formatting would take most of the time of a drawing."""
        high = self._height
        places = [f"{_format_number(x / MM_PER_POINT)} {_format_number(high - y / MM_PER_POINT)}" for x, y in points]
        return f"{places[0]} m {' l '.join(places[1:])} l"

    def _text(self, shape: Text) -> None:
        self._canvas.setFillGray(shape.shade)
        x, y = self._point(shape.x, shape.baseline)
        for font, run in font_runs(shape.text, shape.face):
            self._canvas.setFont(font, shape.size)
            self._canvas.drawString(x, y, run)
            x += self._canvas.stringWidth(run, font, shape.size)

    def _photo(self, shape: PhotoShape) -> None:
        """The photo's bytes as they are: the library would decode every picture to compare it with the others."""
        prepared, box = shape.prepared, shape.box
        if prepared.tone is Tone.BLACK:
            # Renderers fill every dot that a box touches, so a rounding error would add a dot and stretch the photo.
            box = box.inset(EPSILON)
        x, y = self._point(box.left, box.bottom)
        name = sha256(prepared.content + f"{prepared.across} {prepared.tone}".encode()).hexdigest()
        document: Any = self._canvas._doc
        key = document.getXObjectName(name)
        if key not in document.idToObject:
            document.Reference(_image_object(name, prepared), key)
            document.addForm(name, document.idToObject[key])
        self._canvas._currentPageHasImages = 1
        self._canvas.saveState()
        self._canvas.transform(box.width / MM_PER_POINT, 0, 0, box.height / MM_PER_POINT, x, y)
        self._canvas.addLiteral(f"/{key} Do")
        self._canvas.restoreState()
        self._canvas._formsinuse.append(name)


def _format_number(points: float) -> str:
    """A number with about seven digits, as the library writes it."""
    large = abs(points)
    return f"{points:.6f}" if large < 10 else f"{points:.5f}" if large < 100 else f"{points:.4f}"


class _ReleasedImage(PDFImageXObject):  # type: ignore[misc]
    """An image of the library that frees its bytes after writing them, to save memory."""

    def format(self, document: Any) -> bytes:
        output: bytes = super().format(document)
        self.streamContent = b""
        return output


def _image_object(name: str, prepared: PreparedPhoto) -> Any:
    """A photo as a PDF image object (ISO 32000-1, 8.9.5): DCTDecode for a JPEG, FlateDecode for dots."""
    image: Any = _ReleasedImage(name)
    image.width, image.height, image.colorSpace = prepared.across, prepared.down, "DeviceGray"
    if prepared.tone is Tone.GREY:
        image.bitsPerComponent, image._filters, image.streamContent = 8, ("DCTDecode",), prepared.content
    else:
        image.bitsPerComponent, image._filters = 1, ("FlateDecode",)
        # Dithered dots hardly compress: a higher level saves 1 % in twice the time.
        image.streamContent = zlib.compress(prepared.content, 1)
    return image
