"""What a person sees at the saw, on the rack, of a piece and of its label: no fault found by axe, nothing too wide."""

from __future__ import annotations

from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, Page

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.services.rack import editing, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.photos import read_photo
from tests.web.browser import (
    DESK,
    PHONE,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    small_targets,
)
from tests.web.sample_pictures import jpeg_file

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("rack")]

PAGES = (
    "/saw",
    "/saw?tagged=0000011",
    "/saw?like=0000022&code=0000033",
    "/rack",
    "/rack?view=table",
    "/rack?species=ash&length=12&view=table",
    "/rack?species=ebony",
    "/rack?length=two+feet",
    "/t/0000011",
    "/t/0000022",
    "/t/0000011/change",
    "/t/00000ZZ",
    "/labels",
    "/labels/sheet",
    "/labels/sheet?stock=papyrus&tag=0000011",
    "/labels/stocks",
    "/labels/stocks/new?like=letter-2x5&name=Own",
    "/labels/stocks/new?name=Own&paper=roll&cell_width=9&cell_height=2&hole_across=0&hole_down=1&hole_diameter=1",
    "/labels/stocks/roll-62x29/printing",
)


@pytest.fixture
def rack(shop: Shop) -> None:
    """Long names, many photos, a bundle, a piece that is gone, and enough pieces for a second page."""
    photos = tuple(shop.photos.keep(read_photo(jpeg_file(colour=each)[0])) for each in ("peru", "sienna", "tan"))
    long_names = Offcut(
        inches("123 15/16"),
        inches("11 63/64"),
        inches("1 13/16"),
        "European beech, steamed and then air dried for years",
        Face.FINISHED,
        Face.ROUGH,
        count=12,
        location="the long rack behind the band saw, second shelf from below",
        notes="From the stair at the old mill.\nMind the nails.",
    )
    tagging.tag_all(shop, [NewPiece(long_names, "0000011", photos), NewPiece(long_names, "0000022")])
    editing.remove(shop, "0000022", 1, RemovalReason.SPOILED, "a shake along its whole length")
    ash = Offcut(inches("20"), inches("3"), inches("1/16"), "ash")
    tagging.tag_all(shop, [NewPiece(ash) for _ in range(65)])


def open_details(page: Page) -> None:
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk in the dark"])
def test_axe_finds_nothing(
    chromium: Browser, live_url: str, screen: dict[str, Any], colours: Literal["light", "dark"]
) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        for path in PAGES:
            page.goto(live_url + path)
            open_details(page)
            assert accessibility_violations(page) == [], path
            # The other colors change nothing but contrast.
            page.emulate_media(color_scheme="dark" if colours == "light" else "light")
            assert accessibility_violations(page, "color-contrast") == [], path
            page.emulate_media(color_scheme=colours)


def test_axe_finds_nothing_on_rejected_forms_and_the_faults_have_the_focus(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE, bypass_csp=True) as page:
        for path, button in (("/saw", "Tag it"), ("/t/0000011/change", "Keep the changes")):
            page.goto(live_url + path)
            page.fill("#field-length", "1/0")
            page.click(f"text={button}")
            page.wait_for_selector("#faults")
            assert page.locator("#faults").evaluate("element => element === document.activeElement"), path
            assert accessibility_violations(page) == [], path


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_nothing_scrolls_sideways_on_the_smallest_phone_and_a_thumb_finds_everything(
    chromium: Browser, live_url: str, scripts: bool
) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=scripts) as page:
        for path in PAGES:
            page.goto(live_url + path)
            open_details(page)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path


def test_the_filter_is_folded_on_a_phone_and_open_on_a_desk(chromium: Browser, live_url: str) -> None:
    for screen, seen in ((PHONE, False), (DESK, True)):
        with browser_page(chromium, screen) as page:
            page.goto(f"{live_url}/rack")
            assert page.locator("#field-species").is_visible() is seen


def test_the_filter_lives_in_the_address_and_goes_back_with_the_browser(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/rack")
        page.select_option("#field-species", "ash")
        page.fill("#field-length", "12 1/2")
        page.click("text=Show these")
        page.wait_for_url("**/rack?species=ash&length=12+1%2F2+in")
        assert "65 pieces" in page.inner_text(".page-lead")
        page.click("text=12 1/2 in or longer")
        page.wait_for_url("**/rack?species=ash")
        page.go_back()
        assert page.input_value("#field-length") == "12 1/2 in"


def test_labels_are_ticked_all_at_once_and_counted(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/labels")
        assert page.inner_text("[data-ticked]") == "66 of 66 ticked"
        page.uncheck("[data-tick-all]")
        page.check("[name=tag] >> nth=1")
        assert page.inner_text("[data-ticked]") == "1 of 66 ticked"
        page.click("text=Lay out the ticked labels")
        assert page.inner_text("h1") == "Print 1 label"
