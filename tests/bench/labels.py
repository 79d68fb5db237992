"""Time and memory for labels with photos, compared with labels without, and with the PDF library alone."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator, Sequence
from dataclasses import replace
from io import BytesIO

import numpy as np
from PIL import Image
from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from labels import LabelText, Stock, Tone, find_stock, sheet_pdf
from tests.bench.timing import Comparison, compare_times

STOCK = find_stock("letter-2x5")
PHOTO = (480, 360)


def compare_with_photos(many: int, times: int) -> Iterator[Comparison]:
    """`many` labels, each with a different photo, compared with the same labels with a silhouette."""
    plain = [_label(number) for number in range(many)]
    with_photos = [replace(label, picture=_photo(number)) for number, label in enumerate(plain)]
    yield compare_times(
        f"a PDF of {many} labels",
        ("silhouettes", lambda: sheet_pdf(plain, STOCK)),
        ("with photos", lambda: sheet_pdf(with_photos, STOCK)),
        times,
    )


def compare_with_library(many: int, times: int) -> Iterator[Comparison]:
    """`many` labels with photos, compared with the same text, codes and photos drawn by the PDF library alone.

    The library draws its own codes, the text in rows and the photo as it is, without cropping or halftoning.
    """
    labels = [replace(_label(number), picture=_photo(number)) for number in range(many)]
    for stock in (STOCK, replace(find_stock("roll-100x50"), dpi=203), replace(find_stock("roll-100x50"), dpi=300)):
        how = stock.tone.value if stock.tone is Tone.GREY else f"dots at {stock.dpi} dpi"
        yield compare_times(
            f"a PDF of {many} labels with photos ({how})",
            ("PDF library alone", lambda stock=stock: _library_alone(labels, stock)),  # type: ignore[misc]
            ("ours", lambda stock=stock: sheet_pdf(labels, stock)),  # type: ignore[misc]
            times,
        )


def _library_alone(labels: Sequence[LabelText], stock: Stock) -> bytes:
    out = BytesIO()
    high = float(stock.page.height) * mm
    canvas = Canvas(out, pagesize=(float(stock.page.width) * mm, high), pageCompression=1)
    for number, label in enumerate(labels):
        if number and number % stock.cells == 0:
            canvas.showPage()
        left, top = (float(value) * mm for value in stock.corner(number % stock.cells + 1))
        for text, side, x, y in ((label.qr_payload, 20, 2, 22), (label.bare_code, 15, 80, 45)):
            drawing = Drawing()
            drawing.add(QrCodeWidget(text, barLevel="M", barWidth=side * mm, barHeight=side * mm))
            renderPDF.draw(drawing, canvas, left + x * mm, high - top - y * mm)
        canvas.setFont("Helvetica", 12)
        for row, words in enumerate((label.code_text, label.species, label.sizes, label.condition, label.location)):
            canvas.drawString(left + 35 * mm, high - top - (8 + 6 * row) * mm, words)
        photo = ImageReader(BytesIO(label.picture or b""))
        canvas.drawImage(photo, left + 2 * mm, high - top - 45 * mm, 28 * mm, 21 * mm)
    canvas.save()
    return out.getvalue()


def label_memory(many: int) -> Iterator[str]:
    """Peak memory for `many` labels with photos and for a tenth of them; photos are made one at a time."""
    yield "| labels with photos | size of the PDF | most memory while it is made |"
    yield "|---|---|---|"
    for count in (max(1, many // 10), many):
        tracemalloc.start()
        size = len(sheet_pdf((replace(_label(number), picture=_photo(number)) for number in range(count)), STOCK))
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        yield f"| {count:,} | {size / 1e6:.1f} MB | {peak / 1e6:.1f} MB |"


def _label(number: int) -> LabelText:
    return LabelText(
        code_text=f"{number:04d}-000"[:8],
        qr_payload=f"HTTP://192.168.1.20:8765/T/{number:04d}000",
        bare_code=f"{number:04d}000",
        species="white oak",
        sizes="23 1/2 × 3 1/4 × 13/16 in",
        condition="rough",
        location=f"wall {number % 7}",
        silhouette=(596.9, 82.55),
    )


def _photo(number: int) -> bytes:
    """A picture about as compressible as one of wood: smooth noise, different for each number."""
    rng = np.random.default_rng(number)
    noise = Image.fromarray(rng.integers(60, 200, (36, 48, 3), dtype=np.uint8))
    stream = BytesIO()
    noise.resize(PHOTO, Image.Resampling.BICUBIC).save(stream, "JPEG", quality=80)
    return stream.getvalue()
