"""At the saw with a phone in the hand: few touches, fractions in reach, and all of it without scripts too."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.services.rack import queries, tagging
from inventory.services.rack.queries import StatusFilter
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from tests.web.browser import DESK, PHONE, SMALL_PHONE, browser_page
from tests.web.sample_pictures import jpeg_file, text_file

pytestmark = pytest.mark.browser

LAST = Offcut(
    inches("20"), inches("3"), inches("1"), "ash", Face.PLANED, Face.ROUGH, location="wall 2", notes="kiln dry"
)


@pytest.fixture
def last(shop: Shop) -> OffcutRecord:
    return tagging.tag(shop, LAST)


@pytest.fixture
def a_file(tmp_path: Path) -> Callable[[tuple[object, str]], Path]:
    """Puts a picture where a browser can choose it."""

    def written(sent: tuple[object, str]) -> Path:
        stream, name = sent
        place = tmp_path / name
        place.write_bytes(stream.read())  # type: ignore[attr-defined]
        return place

    return written


def keys(page: Page, *pressed: str) -> None:
    for key in pressed:
        page.tap(f'[data-key="{key}"]')


def sizes(page: Page) -> list[str]:
    return [page.input_value(f"#field-{name}") for name in ("length", "width", "thickness")]


def newest(shop: Shop) -> Offcut:
    return queries.all_pieces(shop, StatusFilter.HERE)[-1].offcut


def said(page: Page) -> str:
    return page.inner_text("[data-carried-over]")


def test_a_piece_like_the_last_one_takes_one_touch_beside_its_sizes(
    chromium: Browser, live_url: str, shop: Shop, last: OffcutRecord
) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        keys(page, "2", "3", "1/2", "next", "3", "1/4", "next", "13/16")
        assert sizes(page) == ["23 1/2", "3 1/4", "13/16"]
        page.tap("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
        assert sizes(page) == ["", "", ""]
        keys(page, "9", "next", "2", "next", "1")
        page.tap("text=Tag it")
        page.wait_for_function("document.querySelector('.tagged p').innerText.includes('9 × 2 × 1 in')")
    second, third = (record.offcut for record in queries.all_pieces(shop, StatusFilter.HERE)[1:])
    alike = replace(LAST, tag=second.tag, tagged_on=second.tagged_on)
    assert second == replace(alike, length=inches("23 1/2"), width=inches("3 1/4"), thickness=inches("13/16"))
    assert third == replace(
        alike, tag=third.tag, length=inches("9"), width=inches("2"), thickness=inches("1"), notes="kiln dry"
    )


@pytest.mark.usefixtures("last")
@pytest.mark.parametrize("height", [844, 664])
def test_the_sizes_and_the_tag_button_are_seen_without_scrolling(chromium: Browser, live_url: str, height: int) -> None:
    with browser_page(chromium, {**PHONE, "viewport": {"width": 390, "height": height}}) as page:
        for address in (f"{live_url}/saw", f"{live_url}/saw?tagged={page_code(page, live_url)}"):
            page.goto(address)
            bar = page.locator(".saw-bar").bounding_box()
            keypad = page.locator("[data-keypad]").bounding_box()
            assert bar and keypad
            assert keypad["y"] + keypad["height"] <= bar["y"] + 1, address
            assert bar["y"] + bar["height"] <= height


def page_code(page: Page, live_url: str) -> str:
    page.goto(f"{live_url}/rack")
    return str(page.get_attribute(".rack-piece a", "href")).rsplit("/", 1)[-1]


@pytest.mark.usefixtures("last")
def test_a_fraction_key_takes_the_place_of_another_and_goes_with_one_touch(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        for pressed, length in (
            (("2", "3", "1/2"), "23 1/2"),
            (("3/4",), "23 3/4"),
            (("back",), "23"),
            (("back",), "2"),
            (("clear", "15/16"), "15/16"),
            (("back",), ""),
            (("5", " ", "3", "/", "6", "4"), "5 3/64"),
            (("clear", "7", ".", "5"), "7.5"),
            (("clear", "5", "ft", "2", "1/2"), "5 ft 2 1/2"),
            (("clear", "8", "2", "ft", "mm"), "82 mm "),
            (("back",), "82"),
        ):
            keys(page, *pressed)
            assert page.input_value("#field-length") == length, pressed


@pytest.mark.usefixtures("last")
def test_a_size_that_is_touched_is_the_one_typed_and_the_phones_own_keyboard_stays_away(
    chromium: Browser, live_url: str
) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        page.tap("#field-thickness")
        keys(page, "3", "1/2")
        assert sizes(page) == ["", "", "3 1/2"]
        assert page.get_attribute("#field-thickness", "inputmode") == "none"


@pytest.mark.usefixtures("last")
def test_a_keyboard_that_is_plugged_in_types_the_sizes_as_they_are_said(
    chromium: Browser, live_url: str, shop: Shop
) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/saw")
        page.focus("#field-length")
        page.keyboard.type("23 1/2x3 1/4")
        page.keyboard.press("Enter")
        page.keyboard.type("13/16")
        assert sizes(page) == ["23 1/2", "3 1/4", "13/16"]
        page.keyboard.press("Enter")
        page.wait_for_url("**/saw?tagged=*")
    assert newest(shop).thickness == inches("13/16")


@pytest.mark.usefixtures("last")
def test_one_touch_sets_both_faces_and_a_second_the_other_one(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        assert said(page) == "ash · planed and rough · wall 2 · note: kiln dry"
        page.tap("[name=face_a][value=finished]")
        assert said(page) == "ash · both finished · wall 2 · note: kiln dry"
        page.tap("[name=face_b][value=planed]")
        assert said(page) == "ash · finished and planed · wall 2 · note: kiln dry"


@pytest.mark.usefixtures("last")
def test_the_bar_says_what_will_stand_on_the_tag(chromium: Browser, live_url: str, shop: Shop) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        page.fill("[name=species_other]", "black locust")
        page.tap("[name=location][value='']")
        page.fill("[name=notes]", "")
        page.tap("[aria-label='One piece more']")
        assert said(page) == "black locust · planed and rough · no location · 2 pieces"
        for word in ("metal", "live edge"):
            toggle = page.locator(".mark-toggles .choice", has_text=word)
            box = toggle.bounding_box()
            assert box is not None and box["height"] >= 44 and box["width"] >= 44
            toggle.tap()
        page.fill("[name=moisture]", "8.5 %")
        page.fill("[name=batch_other]", "elm 2029")
        marks = "black locust · planed and rough · no location · 2 pieces · metal · live edge"
        assert said(page) == f"{marks} · 8.5 % · batch: elm 2029"
        keys(page, "9", "next", "2", "next", "1")
        page.tap("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
    offcut = newest(shop)
    assert (offcut.species, offcut.location, offcut.count, offcut.notes) == ("black locust", "", 2, "")
    assert (offcut.marks, offcut.moisture, offcut.batch) == ((Mark.METAL, Mark.LIVE_EDGE), Fraction("8.5"), "elm 2029")


@pytest.mark.usefixtures("last")
def test_a_button_chosen_after_a_typed_word_is_what_counts(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        page.fill("[name=species_other]", "plum")
        page.tap("[name=species][value=ash]")
        assert page.input_value("[name=species_other]") == ""
        assert said(page).startswith("ash · ")


@pytest.mark.usefixtures("last")
def test_a_photo_is_shown_before_it_is_sent_and_kept_when_a_size_is_wrong(
    chromium: Browser, live_url: str, shop: Shop, a_file: Callable[[tuple[object, str]], Path]
) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        page.set_input_files("#field-photo", a_file(jpeg_file("face.jpg")))
        page.wait_for_selector("#photo-preview canvas[aria-label='Photo to be sent: face.jpg']")
        page.tap("text=Tag it")
        page.wait_for_selector("#faults")
        assert page.locator("[name=kept]").is_checked()
        keys(page, "9", "next", "2", "next", "1")
        page.tap("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
    record = queries.all_pieces(shop, StatusFilter.HERE)[-1]
    assert len(record.photos) == 1


def test_all_of_it_works_without_scripts(
    chromium: Browser, live_url: str, shop: Shop, last: OffcutRecord, a_file: Callable[[tuple[object, str]], Path]
) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=False) as page:
        page.goto(f"{live_url}/saw")
        assert not page.locator("[data-keypad]").is_visible()
        page.set_input_files("#field-photo", a_file(text_file()))
        for name, typed in (("length", "23 1/2"), ("width", "3 1/4"), ("thickness", "13/16")):
            page.fill(f"#field-{name}", typed)
        page.click("text=Tag it")
        page.wait_for_selector("#faults")
        assert sizes(page) == ["23 1/2", "3 1/4", "13/16"]
        page.set_input_files("#field-photo", a_file(jpeg_file()))
        page.click("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
    record = queries.all_pieces(shop, StatusFilter.HERE)[-1]
    assert record.offcut == replace(
        LAST,
        tag=record.code,
        tagged_on=record.offcut.tagged_on,
        length=inches("23 1/2"),
        width=inches("3 1/4"),
        thickness=inches("13/16"),
    )
    assert len(record.photos) == 1


@pytest.mark.usefixtures("last")
def test_a_shop_in_millimeters_has_a_plain_keypad(chromium: Browser, live_url: str, shop: Shop) -> None:
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        keys(page, "5", "9", "7", ".", "5", "next", "8", "3", "next", "2", "1")
        page.tap("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
    assert newest(shop).length == millimeters("597.5")


def test_undo_right_after_a_slip_gives_the_sizes_back(chromium: Browser, live_url: str, shop: Shop) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/saw")
        keys(page, "9", "next", "2", "next", "1")
        page.tap("text=Tag it")
        page.wait_for_url("**/saw?tagged=*")
        page.tap("text=Undo")
        page.wait_for_url("**/saw?like=*")
        assert sizes(page) == ["9", "2", "1"]
    assert queries.all_pieces(shop, StatusFilter.HERE) == ()
