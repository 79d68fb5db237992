"""Photos and silhouettes on labels, and files that are no picture."""

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
import zxingcpp
from numpy.typing import NDArray
from PIL import Image

import labels
from labels.geometry import LabelLayout, arrange, layout_label
from labels.pdf.printer import Tone
from labels.photos.cropping import FULL_PHOTO, Crop, find_piece
from labels.photos.print_photo import PreparedPhoto, fitted_size, open_photo, prepare_photo
from labels.stock import STOCKS, Stock

Page = NDArray[np.uint8]
PIXEL = 25.4 / 300
CARD = replace(labels.find_stock("roll-100x50"), tone=Tone.GREY, dpi=300)


def places(stock: Stock) -> LabelLayout:
    return layout_label(stock, 25, 15.0, with_picture=True)


def png_with_size(width: int, height: int) -> bytes:
    """A PNG with a size in its header and hardly any content."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def pictures_in(pdf: bytes) -> list[tuple[int, int, float, float]]:
    """Pixels across and down and millimeters across and down of each picture on the first page."""
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
    found = layout_label(stock, modules, 15.0, with_picture=with_picture)
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


def test_stocks_with_room_for_a_photo_are_reported_apart() -> None:
    assert [stock.key for stock in STOCKS if labels.has_picture_room(stock)] == [
        "letter-2x10",
        "letter-2x7",
        "letter-2x5",
        "letter-2x3",
        "a4-2x7",
        "a4-2x5",
        "a4-2x4",
        "roll-100x50",
        "tag-3.25x1.625in",
        "tag-4.75x2.375in",
    ]


def test_a_photo_is_embedded_at_print_size_and_in_its_place(
    make_labels: Callable[..., list[labels.LabelText]],
) -> None:
    made = [replace(make_labels(1)[0], picture=as_png(draw_board(0, 0, 480, 360)))]
    place = places(CARD).picture
    assert place is not None
    ((across, down, width, height),) = pictures_in(labels.sheet_pdf(made, CARD))
    assert (width, height) == pytest.approx((place.width, place.height), abs=PIXEL)
    assert (across, down) == pytest.approx((place.width / 25.4 * 300, place.height / 25.4 * 300), abs=1)


def as_png(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def ready(picture: bytes, across: int, down: int, tone: Tone = Tone.GREY) -> PreparedPhoto:
    photo = open_photo(picture, max(across, down))
    assert photo is not None
    return prepare_photo(photo, across, down, tone)


def greys(made: PreparedPhoto) -> NDArray[np.uint8]:
    with Image.open(BytesIO(made.content)) as shown:
        assert (shown.format, shown.mode, shown.size) == ("JPEG", "L", (made.across, made.down))
        return np.asarray(shown)


def dots(made: PreparedPhoto) -> NDArray[np.uint8]:
    return np.asarray(Image.frombytes("1", (made.across, made.down), made.content).convert("L"))


def test_a_small_photo_is_not_blown_up_in_gray() -> None:
    made = ready(as_png(Image.new("RGB", (80, 60), (120, 90, 60))), 307, 230)
    assert greys(made).shape == (60, 80)


def test_a_photo_is_gray_uses_the_tones_and_has_no_solid_black(photo: bytes) -> None:
    tones = greys(ready(photo, 307, 230))
    with Image.open(BytesIO(photo)) as taken:
        before = np.asarray(taken.convert("L"))
    assert np.percentile(tones, 1) >= 15
    assert np.ptp(np.percentile(tones, [2, 98])) > 1.4 * np.ptp(np.percentile(before, [2, 98]))


@pytest.mark.parametrize("dpi", [203, 300])
def test_a_photo_in_dots_has_as_much_black_as_its_tones_are_dark(dpi: int) -> None:
    wide = round(26 / 25.4 * dpi)
    ramp = np.tile(np.linspace(40, 220, 480).astype(np.uint8), (360, 1))
    made = dots(ready(as_png(Image.fromarray(ramp)), wide, round(wide * 0.75), Tone.BLACK))
    assert set(np.unique(made)) == {0, 255}
    shares = [float(column.mean() / 255) for column in np.array_split(made, 6, axis=1)]
    assert shares == sorted(shares)
    assert shares[0] < 0.3 and shares[-1] > 0.85


@pytest.mark.parametrize(
    ("size", "filled"),
    [
        # a photo of about 4 : 3 fills a box of 4 : 3; a panorama is shown whole
        ((400, 300), (26.0, 19.5)),
        ((400, 380), (26.0, 19.5)),
        ((1000, 200), (26.0, 5.2)),
        ((200, 1000), (3.9, 19.5)),
    ],
)
def test_a_photo_fills_its_place_or_is_shown_whole(size: tuple[int, int], filled: tuple[float, float]) -> None:
    assert fitted_size(Image.new("L", size, 128), 26.0, 19.5) == pytest.approx(filled)


def test_what_is_see_through_becomes_paper() -> None:
    assert greys(ready(as_png(Image.new("RGBA", (40, 30), (0, 0, 0, 0))), 40, 30)).min() > 120


def draw_board(left: int, top: int, wide: int, high: int, seed: int = 5) -> Image.Image:
    """A board of this place and size in pixels on a grainy gray bench of 480 × 360."""
    rng = np.random.default_rng(seed)
    drawn = np.full((360, 480, 3), (150, 146, 140), dtype=np.float64) + rng.normal(0, 9, (360, 480, 1))
    grain = 14 * np.sin(np.arange(high)[:, None] * 0.5 + np.sin(np.arange(wide)[None, :] * 0.02) * 3)
    drawn[top : top + high, left : left + wide] = np.array([186, 128, 74]) + grain[:, :, None]
    return Image.fromarray(np.clip(drawn, 0, 255).astype(np.uint8))


@pytest.mark.parametrize(
    ("left", "top", "wide", "high"), [(60, 120, 360, 90), (200, 20, 60, 320), (150, 100, 200, 180), (20, 150, 440, 40)]
)
def test_the_piece_is_found_on_an_even_bench(left: int, top: int, wide: int, high: int) -> None:
    found = find_piece(draw_board(left, top, wide, high)).in_pixels(480, 360)
    margin = 0.04 * max(wide, high)
    meant = (left - margin, top - margin, left + wide + margin, top + high + margin)
    within = [max(0, meant[0]), max(0, meant[1]), min(480, meant[2]), min(360, meant[3])]
    assert np.abs(np.array(found) - within).max() <= 8
    assert found[0] <= left and found[1] <= top and found[2] >= left + wide and found[3] >= top + high


def test_in_doubt_the_photo_stays_whole() -> None:
    rng = np.random.default_rng(7)
    clutter = Image.fromarray(rng.integers(0, 255, (12, 16, 3), dtype=np.uint8)).resize((480, 360))
    two = draw_board(20, 30, 190, 120)
    two.paste(draw_board(0, 0, 190, 120).crop((0, 0, 190, 120)), (270, 220))
    for doubtful in (clutter, two, Image.new("RGB", (480, 360), "tan"), draw_board(-0, 0, 480, 300)):
        assert find_piece(doubtful) == FULL_PHOTO


def test_a_knot_in_a_close_view_is_not_taken_for_the_piece() -> None:
    close = draw_board(0, 0, 480, 360)
    close.paste((60, 36, 22), (180, 120, 300, 220))
    assert find_piece(close) == FULL_PHOTO


def test_of_a_photo_at_least_one_pixel_is_left() -> None:
    assert Crop(0.999, 0.999, 1.0, 1.0).in_pixels(40, 30) == (39, 29, 40, 30)


def render_at_dpi(pdf: bytes, dpi: int) -> tuple[pypdfium2.PdfDocument, Page]:
    """The first page in the printer's dots, from its top left and without rescaling."""
    document = pypdfium2.PdfDocument(pdf)
    page = document[0]
    _, _, wide, high = page.get_mediabox()
    across, down = (-(-size * dpi // 72) for size in (wide, high))
    page.set_mediabox(0, high - down * 72 / dpi, across * 72 / dpi, high)
    page.set_cropbox(0, high - down * 72 / dpi, across * 72 / dpi, high)
    return document, page.render(scale=dpi / 72 * (1 - 1e-7), grayscale=True).to_numpy().squeeze().copy()


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", ["roll-100x50", "tag-4.75x2.375in", "letter-2x5"])
def test_black_and_white_photos_are_printed_dot_for_dot(
    key: str, dpi: int, make_labels: Callable[..., list[labels.LabelText]], photo: bytes
) -> None:
    stock = replace(labels.find_stock(key), tone=Tone.BLACK, dpi=dpi)
    made = [replace(label, picture=photo) for label in make_labels(2)]
    document, rendered = render_at_dpi(labels.sheet_pdf(made, stock), dpi)
    shown = next(iter(document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE])))
    bits = np.array(shown.get_bitmap().to_pil().convert("L"))
    left, bottom, _, _ = (value / 72 * dpi for value in shown.get_bounds())
    document.close()
    lower = float(stock.page.height) / 25.4 * dpi - bottom
    x, y = round(left), round(lower) - bits.shape[0]
    assert (left, lower) == pytest.approx((round(left), round(lower)), abs=0.05)
    assert (rendered[y : y + bits.shape[0], x : x + bits.shape[1]] == bits).all()


@pytest.mark.parametrize("dpi", [203, 300])
def test_every_module_of_both_codes_is_whole_dots_of_a_thermal_printer(
    dpi: int, make_labels: Callable[..., list[labels.LabelText]]
) -> None:
    for stock in (stock for stock in STOCKS if stock.is_roll):
        sized = replace(stock, dpi=dpi)
        blank = labels.LabelText("7KQ-4M9X", "HTTP://RACK.LOCAL:8765/T/7KQ4M9X", bare_code="7KQ4M9X")
        document, rendered = render_at_dpi(labels.sheet_pdf([blank], sized), dpi)
        document.close()
        found = zxingcpp.read_barcodes(rendered, formats=zxingcpp.BarcodeFormat.QRCode)
        assert len(found) == 2
        for code in found:
            first = code.position.top_left
            # along the upper side of the finder pattern: 7 modules of black
            run = rendered[first.y + 2, first.x - 3 :]
            begins = int(np.flatnonzero(run < 128)[0])
            wide = int(np.flatnonzero(run[begins:] > 128)[0])
            assert wide % 7 == 0 and run[begins : begins + wide].max() <= 1


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"not a picture",
        png_with_size(50_000, 50_000),
        png_with_size(10_000, 10_000),
        png_with_size(7_000, 7_000),
        png_with_size(40, 30),
    ],
    ids=["empty", "text", "2500 megapixels", "100 megapixels", "49 megapixels", "nothing in it"],
)
def test_a_picture_that_is_none_gives_way_to_the_silhouette(
    broken: bytes, make_labels: Callable[..., list[labels.LabelText]]
) -> None:
    made = [replace(make_labels(1)[0], picture=broken)]
    without = [replace(made[0], picture=None)]
    stock = CARD
    assert labels.sheet_pdf(made, stock) == labels.sheet_pdf(without, stock)


def test_a_photo_cut_off_in_the_middle_gives_way_to_the_silhouette(photo: bytes) -> None:
    assert open_photo(photo[: len(photo) // 2], 300) is None


@pytest.mark.parametrize("face", [(600.0, 80.0), (300.0, 290.0), (100.0, 400.0), (2440.0, 50.0)])
def test_a_silhouette_is_to_scale(
    face: tuple[float, float],
    make_labels: Callable[..., list[labels.LabelText]],
    render_pages: Callable[[bytes], list[Page]],
) -> None:
    made = [replace(make_labels(1)[0], picture=None, silhouette=face)]
    (page,) = render_pages(labels.sheet_pdf(made, CARD))
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
    make_labels: Callable[..., list[labels.LabelText]],
    render_pages: Callable[[bytes], list[Page]],
) -> None:
    made = [replace(make_labels(1)[0], picture=None, silhouette=face)]
    (page,) = render_pages(labels.sheet_pdf(made, CARD))
    place = places(CARD).picture
    assert place is not None
    assert (page[round(place.top / PIXEL) :, : round(place.right / PIXEL)] == 255).all()


def test_the_words_of_a_label_can_be_copied_from_the_page(
    make_labels: Callable[..., list[labels.LabelText]], page_text: Callable[[bytes], str]
) -> None:
    made = [replace(make_labels(1)[0], code_text="7KQ-4M9X", species="樫 / oak")]
    text = page_text(labels.sheet_pdf(made, CARD))
    for words in ("7KQ-4M9X", "▯ / oak", "23½ × 3¼ × ¹³⁄₁₆ in", "rough / planed", "Wall 2, shelf 3"):
        assert words in text
