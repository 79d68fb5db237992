"""Photos and silhouettes on labels, and pictures that are none."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdfium2
import pypdfium2.raw
import pytest
from numpy.typing import NDArray
from PIL import Image

import labels
from labels.geometry import Places, arrange, places_on
from labels.pictures import print_ready
from labels.stock import STOCKS, Stock

Page = NDArray[np.uint8]
PIXEL = 25.4 / 300
CARD = "roll-100x50"


def places(key: str) -> Places:
    return places_on(labels.stock_named(key), 25, 15.0, with_picture=True)


def png_claiming(width: int, height: int) -> bytes:
    """A PNG whose header claims a size and that holds next to nothing."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def pictures_in(pdf: bytes) -> list[tuple[int, int, float, float]]:
    """Pixels across and down and millimetres across and down of each picture on the first page."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for shown in document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]):
        left, bottom, right, top = shown.get_bounds()
        found.append((*shown.get_px_size(), (right - left) / 72 * 25.4, (top - bottom) / 72 * 25.4))
    document.close()
    return found


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.key)
@pytest.mark.parametrize("modules", [21, 25, 29])
@pytest.mark.parametrize("with_picture", [True, False])
def test_code_words_and_picture_never_overlap_and_stay_on_the_label(
    stock: Stock, modules: int, with_picture: bool
) -> None:
    found = places_on(stock, modules, 15.0, with_picture=with_picture)
    boxes = [box for box in (found.quiet, found.words, found.picture) if box is not None]
    insets = stock.insets
    for number, box in enumerate(boxes):
        assert box.left >= float(insets.left) - 1e-9 and box.top >= float(insets.top) - 1e-9
        assert box.right <= float(stock.cell.width - insets.right) + 1e-9
        assert box.bottom <= float(stock.cell.height - insets.bottom) + 1e-9
        for other in boxes[number + 1 :]:
            apart = min(box.right, other.right) - max(box.left, other.left)
            below = min(box.bottom, other.bottom) - max(box.top, other.top)
            assert apart <= 1e-9 or below <= 1e-9


def test_a_label_too_small_for_the_code_has_no_places() -> None:
    found = places(CARD)
    assert arrange(found.quiet, 25, 15.0, False) is None


def test_stocks_with_room_for_a_photo_are_told_apart() -> None:
    assert [stock.key for stock in STOCKS if labels.has_picture_room(stock)] == [
        "letter-2x10",
        "letter-2x7",
        "letter-2x5",
        "letter-2x3",
        "a4-2x7",
        "a4-2x5",
        "a4-2x4",
        "roll-100x50",
    ]


def test_a_photo_is_embedded_at_print_size_and_in_its_place(
    some_labels: Callable[..., list[labels.LabelText]], photo: bytes
) -> None:
    made = [replace(some_labels(1)[0], picture=photo)]
    place = places(CARD).picture
    assert place is not None
    ((across, down, width, height),) = pictures_in(labels.sheet_pdf(made, labels.stock_named(CARD)))
    assert (width, height) == pytest.approx((place.width, place.height), abs=PIXEL)
    assert (across, down) == pytest.approx((place.width / 25.4 * 300, place.height / 25.4 * 300), abs=1)


def test_a_small_photo_is_not_blown_up() -> None:
    out = BytesIO()
    Image.new("RGB", (80, 60), (120, 90, 60)).save(out, "PNG")
    ready = print_ready(out.getvalue(), 26.0, 19.5)
    assert ready is not None
    with Image.open(BytesIO(ready[0])) as shown:
        assert shown.size == (80, 60)


def test_a_photo_is_grey_uses_the_tones_and_has_no_solid_black(photo: bytes) -> None:
    ready = print_ready(photo, 26.0, 19.5)
    assert ready is not None
    with Image.open(BytesIO(ready[0])) as shown:
        assert (shown.format, shown.mode) == ("JPEG", "L")
        tones = np.asarray(shown)
    with Image.open(BytesIO(photo)) as taken:
        before = np.asarray(taken.convert("L"))
    assert np.percentile(tones, 1) >= 15
    assert np.ptp(np.percentile(tones, [2, 98])) > 1.4 * np.ptp(np.percentile(before, [2, 98]))


@pytest.mark.parametrize(
    ("size", "filled"),
    [
        # 4 : 3 in a place of 4 : 3, and a little off, fill it; a panorama is shown whole
        ((400, 300), (26.0, 19.5)),
        ((400, 380), (26.0, 19.5)),
        ((1000, 200), (26.0, 5.2)),
        ((200, 1000), (3.9, 19.5)),
    ],
)
def test_a_photo_fills_its_place_or_is_shown_whole(size: tuple[int, int], filled: tuple[float, float]) -> None:
    out = BytesIO()
    Image.new("L", size, 128).save(out, "JPEG")
    ready = print_ready(out.getvalue(), 26.0, 19.5)
    assert ready is not None
    assert ready[1:] == pytest.approx(filled)


def test_what_is_see_through_becomes_paper() -> None:
    out = BytesIO()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(out, "PNG")
    ready = print_ready(out.getvalue(), 26.0, 19.5)
    assert ready is not None
    with Image.open(BytesIO(ready[0])) as shown:
        assert np.asarray(shown).min() > 120


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"not a picture",
        png_claiming(50_000, 50_000),
        png_claiming(10_000, 10_000),
        png_claiming(7_000, 7_000),
        png_claiming(40, 30),
    ],
    ids=["empty", "text", "2500 megapixels", "100 megapixels", "49 megapixels", "nothing in it"],
)
def test_a_picture_that_is_none_gives_way_to_the_silhouette(
    broken: bytes, some_labels: Callable[..., list[labels.LabelText]]
) -> None:
    made = [replace(some_labels(1)[0], picture=broken)]
    without = [replace(made[0], picture=None)]
    stock = labels.stock_named(CARD)
    assert labels.sheet_pdf(made, stock) == labels.sheet_pdf(without, stock)


def test_a_photo_cut_off_in_the_middle_gives_way_to_the_silhouette(photo: bytes) -> None:
    assert print_ready(photo[: len(photo) // 2], 26.0, 19.5) is None


@pytest.mark.parametrize("face", [(600.0, 80.0), (300.0, 290.0), (100.0, 400.0), (2440.0, 50.0)])
def test_a_silhouette_is_to_scale(
    face: tuple[float, float],
    some_labels: Callable[..., list[labels.LabelText]],
    pages_of: Callable[[bytes], list[Page]],
) -> None:
    made = [replace(some_labels(1)[0], picture=None, silhouette=face)]
    (page,) = pages_of(labels.sheet_pdf(made, labels.stock_named(CARD)))
    place = places(CARD).picture
    assert place is not None
    shown = page[
        round(place.top / PIXEL) : round(place.bottom / PIXEL), round(place.left / PIXEL) : round(place.right / PIXEL)
    ]
    down, across = (np.flatnonzero((shown < 128).any(axis=axis)) for axis in (1, 0))
    line = 0.3
    width = (down[-1] - down[0] + 1) * PIXEL - line
    length = (across[-1] - across[0] + 1) * PIXEL - line
    scale = min((place.width - line) / face[0], (place.height - line) / face[1])
    assert (length, width) == pytest.approx((face[0] * scale, face[1] * scale), abs=2 * PIXEL)


@pytest.mark.parametrize("face", [(0.0, 50.0), (-1.0, 50.0), (float("nan"), 50.0), (float("inf"), 50.0)])
def test_a_silhouette_without_a_size_is_left_out(
    face: tuple[float, float],
    some_labels: Callable[..., list[labels.LabelText]],
    pages_of: Callable[[bytes], list[Page]],
) -> None:
    made = [replace(some_labels(1)[0], picture=None, silhouette=face)]
    (page,) = pages_of(labels.sheet_pdf(made, labels.stock_named(CARD)))
    place = places(CARD).picture
    assert place is not None
    assert (page[round(place.top / PIXEL) :, : round(place.right / PIXEL)] == 255).all()


def test_the_words_of_a_label_can_be_copied_from_the_page(
    some_labels: Callable[..., list[labels.LabelText]], text_of: Callable[[bytes], str]
) -> None:
    made = [replace(some_labels(1)[0], code_shown="7KQ-4M9X", species="樫 / oak")]
    text = text_of(labels.sheet_pdf(made, labels.stock_named(CARD)))
    for words in ("7KQ-4M9X", "▯ / oak", "23½ × 3¼ × ¹³⁄₁₆ in", "rough / planed", "Wall 2, shelf 3"):
        assert words in text
