"""A photo of a piece turned, cropped and measured on its page, with a script and without."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser

from inventory.core.lengths import NM_PER_MM, Unit, read_length
from inventory.services.rack import editing, photo_editing, queries, tagging
from inventory.services.rack.photo_editing import CannotMeasure, Turn
from inventory.shop import Shop
from inventory.storage.photos import PhotoSize, read_photo
from inventory.storage.records import EventKind, PhotoRecord
from tests.labels.test_measuring import Shot, render_plane, shot, strip
from tests.web.browser import DESK, PHONE, accessibility_violations, browser_page, overflowing_elements
from tests.web.visitor import HttpClient, visible_text

PER_MM = 4.0
LENGTH, WIDTH = 500.0, 120.0
"""The piece in the photo, mm; it begins 25 mm from the left and is in the middle."""
WIDE, HIGH = 550.0, 300.0


def packed(picture: Image.Image) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=92)
    return out.getvalue()


@pytest.fixture
def code(shop: Shop) -> str:
    """A piece with a photo from straight above, the strips on its face."""
    record = tagging.tag(shop, tagging.read_line("ash 20 x 4 3/4 x 1", shop.settings()))
    lying = strip("A", WIDE * 0.28, HIGH / 2, 90) + strip("B", WIDE * 0.74, HIGH / 2, 90)
    photo = shop.photos.keep(read_photo(packed(render_plane(WIDE, HIGH, lying))))
    return editing.add_photo(shop, record.code, record.version, photo).code


@pytest.fixture
def number(shop: Shop, code: str) -> int:
    return photo_of(shop, code).id


def photo_of(shop: Shop, code: str) -> PhotoRecord:
    (photo,) = queries.record(shop, code).photos
    return photo


def marks(photo: PhotoRecord) -> str:
    """Both ends and both sides of the piece, as the address tells them."""
    scale = photo.width / WIDE
    ends = ((25, HIGH / 2), (525, HIGH / 2), (275, (HIGH - WIDTH) / 2), (275, (HIGH + WIDTH) / 2))
    return "+".join(f"{x * scale:.1f},{y * scale:.1f}" for x, y in ends)


def test_a_photo_is_turned_and_stays_the_main_one(shop: Shop, code: str, number: int) -> None:
    before = photo_of(shop, code)
    record = photo_editing.turn(shop, code, queries.record(shop, code).version, number, Turn.LEFT)
    after = photo_of(shop, code)
    assert (after.width, after.height) == (before.height, before.width)
    assert after.digest != before.digest and record.main_photo == after
    assert shop.photos.path(before.digest, PhotoSize.FULL).is_file()
    event = queries.piece(shop, code).history[0]
    assert (event.kind, event.detail) == (EventKind.PHOTO, "turned left")
    shop.photos.path(after.digest, PhotoSize.FULL).write_bytes(b"half of a photo")
    with pytest.raises(photo_editing.DamagedPhoto) as damaged:
        photo_editing.turn(shop, code, record.version, after.id, Turn.LEFT)
    assert str(damaged.value) == (
        "The photo's file is damaged and can't be read. Take the photo off the piece, and take another one."
    )


def test_what_lies_between_two_corners_is_kept(visitor: HttpClient, shop: Shop, code: str, number: int) -> None:
    page = f"/t/{code}/photos/{number}?do=crop&at=10,20+310,120"
    assert "Keep what lies in the frame?" in visible_text(visitor.get(page))
    version = str(queries.record(shop, code).version)
    done = visitor.post(f"/t/{code}/photos/{number}/crop", {"version": version, "at": "310,20 10,120"}, page=page)
    assert done.status_code == 303
    after = photo_of(shop, code)
    assert (after.width, after.height) == (300, 100)


def test_a_sliver_is_not_cut_out_and_nothing_is_lost(visitor: HttpClient, shop: Shop, code: str, number: int) -> None:
    before = photo_of(shop, code)
    page, version = f"/t/{code}/photos/{number}", str(queries.record(shop, code).version)
    done = visitor.post(f"{page}/crop", {"version": version, "at": "10,20 20,900"}, page=page)
    assert "Mark two corners further apart." in visible_text(visitor.get(done.location))
    done = visitor.post(f"{page}/crop", {"version": version, "at": "10,20"}, page=page)
    assert "Two corners must be marked to crop a photo." in visible_text(visitor.get(done.location))
    assert photo_of(shop, code) == before


def test_somebody_quicker_is_not_overwritten(visitor: HttpClient, shop: Shop, code: str, number: int) -> None:
    page, version = f"/t/{code}/photos/{number}", queries.record(shop, code).version
    photo_editing.turn(shop, code, version, number, Turn.RIGHT)
    after = photo_of(shop, code)
    done = visitor.post(f"{page}/turn", {"version": str(version), "way": "left"}, page=f"/t/{code}")
    assert done.status_code in (303, 422) and photo_of(shop, code) == after


def test_the_strips_tell_length_and_width_as_a_proposal(
    visitor: HttpClient, shop: Shop, code: str, number: int
) -> None:
    photo = photo_of(shop, code)
    scale = photo.width / WIDE
    spans = (
        ((25 * scale, 150 * scale), (525 * scale, 150 * scale)),
        ((275 * scale, 90 * scale), (275 * scale, 210 * scale)),
    )
    length, width = photo_editing.measure(shop, photo, spans, None, 1.0)
    assert abs(length.size - LENGTH * NM_PER_MM) <= length.within and length.share <= 0.02
    assert abs(width.size - WIDTH * NM_PER_MM) <= width.within
    message = visitor.get(f"/t/{code}/photos/{number}?do=measure&scale=1&at={marks(photo)}")
    assert message.status_code == 200
    words = visible_text(message)
    assert "With 95 % certainty the true size lies within these bounds." in words
    assert "Take these sizes over" in words
    form = visitor.get(f"/t/{code}/change?length=19+5%2F8+in&width=4+3%2F4")
    assert 'value="19 5/8 in"' in form.text


def test_a_photo_without_strips_or_tags_says_what_to_lay_down(visitor: HttpClient, shop: Shop, code: str) -> None:
    bare = shop.photos.keep(read_photo(packed(Image.new("L", (400, 300), 150))))
    record = editing.add_photo(shop, code, queries.record(shop, code).version, bare)
    number = record.photos[-1].id
    answer = visitor.get(f"/t/{code}/photos/{number}?do=measure&at=1,1+300,1+9,9+9,99")
    assert answer.status_code == 422
    said = visible_text(answer)
    assert "Not measured: one answer needs correction." in said and "Mark anew" in said
    assert "Lay the two measuring strips, or two tags, flat on the piece's face" in said


def test_two_tags_measure_too_by_the_size_of_their_codes(shop: Shop, code: str) -> None:
    taken: Shot = shot(104, with_strips=False)
    spans = measured_by(shop, taken, 17.0)
    assert abs(spans[0].size - taken.length * NM_PER_MM) <= spans[0].within
    with pytest.raises(CannotMeasure):
        measured_by(shop, taken, None)


def measured_by(shop: Shop, taken: Shot, side: float | None) -> tuple[photo_editing.SizeEstimate, ...]:
    photo = shop.photos.keep(read_photo(packed(taken.picture)))
    return photo_editing.measure(shop, PhotoRecord(0, photo.digest, photo.width, photo.height), taken.taps, side, 1.3)


@pytest.mark.parametrize("typed", ["wide", "3 in", "1 mm"])
def test_a_side_that_no_code_has_is_reported_beside_its_field(
    visitor: HttpClient, shop: Shop, code: str, number: int, typed: str
) -> None:
    at = marks(photo_of(shop, code))
    answer = visitor.get(f"/t/{code}/photos/{number}?do=measure&tag_side={typed}&at={at}")
    assert answer.status_code == 422
    assert "The side of " in visible_text(answer)


def test_the_page_of_strips_is_a_pdf(visitor: HttpClient) -> None:
    answer = visitor.get("/labels/strips.pdf")
    assert (answer.status_code, answer.data[:5]) == (200, b"%PDF-")


def test_a_photo_of_another_piece_is_no_photo_of_this_one(visitor: HttpClient, code: str, number: int) -> None:
    answer = visitor.get(f"/t/{code}/photos/{number + 5}")
    assert answer.status_code == 422 or answer.status_code == 404
    assert "has no such photo" in visible_text(answer)


@pytest.mark.browser
@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
def test_marks_are_set_one_after_the_other(
    chromium: Browser, live_url: str, screen: dict[str, Any], shop: Shop, code: str, number: int
) -> None:
    with browser_page(chromium, screen, bypass_csp=True) as page:
        page.goto(f"{live_url}/t/{code}/photos/{number}")
        assert accessibility_violations(page) == []
        page.get_by_role("link", name="Measure the piece").click()
        for done, (x, y) in enumerate(((25, 150), (525, 150), (275, 90), (275, 210))):
            page.wait_for_selector(f"text={done + 1} of 4")
            picture = page.locator(".photo-press.fitted input[type=image]")
            picture.scroll_into_view_if_needed()
            box = picture.bounding_box()
            assert box is not None
            scale = box["width"] / WIDE
            picture.click(position={"x": x * scale, "y": y * scale})
        page.wait_for_selector("text=What the photo tells")
        assert accessibility_violations(page) == []
        assert overflowing_elements(page) == []
        page.get_by_role("link", name="Take these sizes over").click()
        length = read_length(page.locator("#field-length").input_value(), Unit.INCH) / NM_PER_MM
        assert length == pytest.approx(LENGTH, rel=0.01)


@pytest.mark.browser
def test_without_a_script_a_press_on_the_photo_is_a_mark(
    chromium: Browser, live_url: str, code: str, number: int
) -> None:
    with browser_page(chromium, PHONE, java_script_enabled=False) as page:
        page.goto(f"{live_url}/t/{code}/photos/{number}?do=crop")
        for _ in range(2):
            page.locator("input[type=image]").click(position={"x": 40 + 100 * _, "y": 30 + 60 * _})
        page.wait_for_selector("text=Keep what lies in the frame?")
        assert overflowing_elements(page) == []
