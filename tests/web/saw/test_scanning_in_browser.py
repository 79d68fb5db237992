"""Scanning in a real browser: live before a camera, by a hand scanner, and what axe says of the pages."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_content
from inventory.services.rack import tagging
from inventory.shop import Shop
from tests.labels.camera import CLEAN, CODE, printed, render_frame, render_shelf
from tests.web.browser import (
    CHROMIUM,
    DESK,
    FLAGS,
    PHONE,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    small_targets,
)

pytestmark = pytest.mark.browser

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 3")
KEYS = """keys => { for (const key of keys)
    document.body.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true})); }"""
SCREENS = [pytest.param(SMALL_PHONE, id="phone"), pytest.param(DESK, id="desk")]


@pytest.fixture
def camera_browser(tmp_path: Path, chromium: Browser) -> Iterator[Browser]:
    """A browser whose camera sees a tag: a film of one picture, over and over."""
    stream = BytesIO()
    seen = render_frame(printed(203), CLEAN, 5)
    picture = render_shelf([], columns=1).resize((640, 640))
    picture.paste(seen.resize((600, 600)), (20, 20))
    picture.convert("RGB").save(stream, "JPEG", quality=90)
    film = tmp_path / "tag.mjpeg"
    film.write_bytes(stream.getvalue() * 30)
    camera = (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    )
    browser = chromium.browser_type.launch(executable_path=CHROMIUM, headless=True, args=[*FLAGS, *camera])
    yield browser
    browser.close()


def test_a_tag_before_the_live_camera_opens_its_piece(shop: Shop, live_url: str, camera_browser: Browser) -> None:
    tagging.tag(shop, ASH, code=CODE)
    with browser_page(camera_browser, DESK) as page:
        page.goto(live_url + "/scan")
        page.get_by_role("button", name="Start the camera").click()
        page.wait_for_url(f"{live_url}/t/{CODE}", timeout=60_000)


def test_where_the_browser_lends_no_camera_the_page_offers_a_photo_and_the_code(
    chromium: Browser, live_url: str
) -> None:
    with browser_page(chromium, PHONE) as page:
        page.add_init_script("Object.defineProperty(Navigator.prototype, 'mediaDevices', {value: undefined})")
        page.goto(live_url + "/scan")
        assert not page.get_by_role("button", name="Start the camera").is_visible()
        assert page.get_by_label("Type the code on the tag").is_visible()


def test_a_hand_scanner_opens_a_piece_from_any_page(shop: Shop, chromium: Browser, live_url: str) -> None:
    piece = tagging.tag(shop, ASH)
    with browser_page(chromium, DESK) as page:
        page.goto(live_url + "/boards")
        # As quick as a hand scanner, however busy this machine is: all keys within one step of the page.
        page.evaluate(KEYS, [*f"HTTP://OLD.EXAMPLE/T/{piece.code}", "Enter"])
        page.wait_for_url(f"{live_url}/t/{piece.code}")


@pytest.mark.parametrize("screen", SCREENS)
def test_the_pages_of_scanning_are_in_order(
    shop: Shop, chromium: Browser, live_url: str, screen: dict[str, object]
) -> None:
    piece = tagging.tag(shop, ASH)
    (blank,) = label_content.blank_codes(shop, 1)
    seen = f"/scan/seen?tag={piece.code}&tag={blank}&tag=0000022&half=1&other=a+parcel&unread=1"
    with browser_page(chromium, screen, bypass_csp=True) as page:
        for path in ("/scan", seen, "/scan/code?text=0000012"):
            page.goto(live_url + path)
            assert accessibility_violations(page) == []
            assert overflowing_elements(page) == []
            assert small_targets(page) == []
