"""The page on which the strips of a board are put in order: by button, by mouse, by finger, by key."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from inventory.services.boards import filling, making, strip_order
from inventory.services.rack import editing, queries
from inventory.shop import Shop
from inventory.storage.photos import read_photo
from inventory.storage.records import BoardRecord
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
from tests.web.sample_rack import CODES, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

PAGE = "/boards/1/strip-order"
ASKED = {"length": "18", "width": "6", "thickness": "1 1/2", "prefer": ["least-milling"], "fills": 1}


@pytest.fixture
def board(shop: Shop) -> BoardRecord:
    """A board of ash and walnut; the long ash has a photo."""
    tag_sample_rack(shop)
    photo = shop.photos.keep(read_photo(jpeg_file()[0]))
    editing.add_photo(shop, CODES["long"], queries.record(shop, CODES["long"]).version, photo)
    bands = [{"species": ["ash"]}, {"species": ["walnut"], "strips": 2, "each": "1/4"}, {"species": ["ash"]}]
    asked = filling.request(shop, ASKED | {"bands": bands})
    return making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")


def now(shop: Shop) -> BoardRecord:
    return making.board(shop, 1)


def lying(shop: Shop) -> list[tuple[str, int, int]]:
    """The strips as they now lie, by what they are cut from."""
    return [(strip.offcut.tag, strip.piece, strip.nth) for strip in strip_order.laid_out(now(shop)).strips]


def press(visitor: HttpClient, shop: Shop, do: str, version: int | None = None) -> str:
    """Presses a button and answers with what the page then says."""
    fields = {"version": str(now(shop).version if version is None else version), "do": do}
    answer = visitor.post(PAGE, fields, page=PAGE)
    assert answer.status_code == 303
    return visible_text(visitor.get(answer.headers["Location"]))


@pytest.mark.usefixtures("board")
def test_the_page_lists_the_strips_band_after_band(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(PAGE)
    strips = strip_order.laid_out(now(shop)).strips
    assert page.text.count('class="strip"') == len(strips)
    assert re.findall(r"<p>(Band \d)</p>", page.text) == ["Band 1", "Band 2", "Band 3"]
    assert page.text.count("/thumb.jpg") == sum(strip.offcut.tag == CODES["long"] for strip in strips) > 0
    assert "/thumb.jpg" not in visitor.get(f"{PAGE}?look=drawing").text


@pytest.mark.usefixtures("board")
def test_a_button_moves_a_strip_and_the_order_goes_to_drawing_and_cut_sheet(shop: Shop, visitor: HttpClient) -> None:
    before = lying(shop)
    press(visitor, shop, "down-0-0")
    assert lying(shop) == [before[1], before[0], *before[2:]]
    press(visitor, shop, "up-0-1")
    assert lying(shop) == before
    press(visitor, shop, "move-0-0-1")
    press(visitor, shop, "turn-0-0")
    press(visitor, shop, "flip-0-0")
    for path in ("/boards/1", "/boards/1/sheet"):
        said = visible_text(visitor.get(path))
        assert "Turn strip 1 end for end." in said
        assert "Turn strip 1 over, the other face up." in said


@pytest.mark.usefixtures("board")
def test_an_order_can_be_proposed_again(shop: Shop, visitor: HttpClient) -> None:
    before = lying(shop)
    press(visitor, shop, "down-0-0")
    assert "The strips lie in the proposed order again." in press(visitor, shop, "propose")
    assert (lying(shop), now(shop).order) == (before, None)


@pytest.mark.usefixtures("board")
@pytest.mark.parametrize(
    ("do", "sentence"),
    [
        ("", "No strip was moved: this page has no such button. Use the buttons beside the strips."),
        ("up-0-0", "There is no strip in that place. Load the page again and choose one that it shows."),
        ("flip-7-0", "There is no strip in that place. Load the page again and choose one that it shows."),
        ("move-0-0-3", "A strip can't leave its band: the board would no longer be the one that was asked for."),
    ],
)
def test_what_can_not_be_is_said_and_nothing_is_kept(shop: Shop, visitor: HttpClient, do: str, sentence: str) -> None:
    assert sentence in press(visitor, shop, do)
    assert now(shop).order is None


@pytest.mark.usefixtures("board")
def test_a_page_out_of_date_moves_nothing(shop: Shop, visitor: HttpClient) -> None:
    press(visitor, shop, "down-0-0")
    kept = lying(shop)
    said = press(visitor, shop, "turn-0-0", version=1)
    assert '"Stair tread" was changed by somebody else since this page was shown' in said
    assert lying(shop) == kept


@pytest.mark.usefixtures("board")
def test_a_board_that_is_abandoned_has_no_strips_to_order(shop: Shop, visitor: HttpClient) -> None:
    assert PAGE in visitor.get("/boards/1").text
    making.abandon(shop, 1, 1)
    assert PAGE not in visitor.get("/boards/1").text
    answer = visitor.get(PAGE)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")
    assert visitor.get("/boards/9/strip-order").status_code == 404


@pytest.mark.usefixtures("board")
def test_the_boards_page_switches_between_drawing_and_photos(visitor: HttpClient) -> None:
    photos = visitor.get("/boards/1?look=photos").text
    assert "<image" in photos
    assert "<image" not in visitor.get("/boards/1").text
    assert re.search(r'look=photos#making" aria-current="true"', photos)


@pytest.fixture
def page(chromium: Browser, live_url: str, board: BoardRecord) -> Iterator[Page]:
    with browser_page(chromium, DESK, base_url=live_url) as desk:
        desk.goto(PAGE)
        yield desk


def middle(page: Page, strip: int) -> tuple[float, float]:
    box = page.locator(f"#strip-0-{strip} [data-grip]").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@pytest.mark.browser
def test_a_strip_is_dragged_by_its_grip_within_its_band(page: Page, shop: Shop) -> None:
    before = lying(shop)
    x, y = middle(page, 0)
    _, far = middle(page, len(before) - 1)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, far, steps=5)
    with page.expect_response(f"**{PAGE}*"):
        page.mouse.up()
    expect(page.locator("[data-strips] [name=version]")).to_have_value("2")
    band = sum(strip.band_group == 0 for strip in strip_order.laid_out(now(shop)).strips)
    assert lying(shop) == [*before[1:band], before[0], *before[band:]]


@pytest.mark.browser
def test_a_finger_drags_a_strip_and_the_page_comes_along(chromium: Browser, live_url: str, shop: Shop) -> None:
    tag_sample_rack(shop)
    asked = filling.request(shop, ASKED)
    making.set_aside(shop, asked, filling.fill(shop, asked).fills[0])
    before = lying(shop)
    with browser_page(chromium, {**PHONE, "viewport": {"width": 390, "height": 560}}, base_url=live_url) as phone:
        phone.goto(PAGE)
        phone.locator("#strip-0-0").evaluate("strip => strip.scrollIntoView({block: 'center'})")
        scrolled = phone.evaluate("scrollY")
        x, y = middle(phone, 0)
        fingers = phone.context.new_cdp_session(phone)
        for kind, at in (("Start", y), ("Move", y + 20), ("Move", 540)):
            fingers.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": [{"x": x, "y": at}]})
        phone.wait_for_selector(f"#strip-0-{len(before) - 1}.makes-room-below")
        assert phone.evaluate("scrollY") > scrolled
        with phone.expect_response(f"**{PAGE}*"):
            fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        expect(phone.locator("[data-strips] [name=version]")).to_have_value("2")
    assert lying(shop) == [*before[1:], before[0]]


@pytest.mark.browser
def test_keys_move_a_strip_and_stay_with_it(page: Page, shop: Shop) -> None:
    before = lying(shop)
    page.locator("#strip-0-0 [value='down-0-0']").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-strips] [name=version]")).to_have_value("2")
    assert lying(shop)[:2] == [before[1], before[0]]
    assert page.evaluate("document.activeElement.closest('[data-strip]').id") == "strip-0-1"
    assert page.text_content("[data-said]") != ""
    page.locator("#strip-0-1 [value='turn-0-1']").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-strips] [name=version]")).to_have_value("3")
    assert page.get_attribute("#strip-0-1 [value='turn-0-1']", "aria-pressed") == "true"
    assert page.evaluate("document.activeElement.value") == "turn-0-1"


@pytest.mark.browser
@pytest.mark.usefixtures("board")
def test_buttons_work_without_scripts(chromium: Browser, live_url: str, shop: Shop) -> None:
    before = lying(shop)
    with browser_page(chromium, PHONE, base_url=live_url, java_script_enabled=False) as phone:
        phone.goto(PAGE)
        phone.click("#strip-0-0 [value='down-0-0']")
        assert "/strip-order" in phone.url
    assert lying(shop)[:2] == [before[1], before[0]]


@pytest.mark.browser
@pytest.mark.usefixtures("board")
@pytest.mark.parametrize(("screen", "scheme"), [(SMALL_PHONE, "dark"), (DESK, "light")], ids=["small phone", "desk"])
def test_axe_finds_nothing_and_all_is_large_enough(
    chromium: Browser, live_url: str, screen: dict[str, object], scheme: str
) -> None:
    with browser_page(chromium, screen, base_url=live_url, color_scheme=scheme, bypass_csp=True) as seen:
        for path in (PAGE, f"{PAGE}?look=drawing", "/boards/1?look=photos"):
            seen.goto(path)
            assert accessibility_violations(seen) == []
            assert overflowing_elements(seen) == []
            if screen is SMALL_PHONE:
                assert small_targets(seen) == []


@pytest.mark.browser
def test_the_photos_are_loaded_under_the_strict_policy(page: Page) -> None:
    errors: list[str] = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.reload(wait_until="networkidle")
    assert errors == []
    href = page.locator("image").first.get_attribute("href")
    assert page.evaluate("async (href) => (await createImageBitmap(await (await fetch(href)).blob())).width", href) > 0
