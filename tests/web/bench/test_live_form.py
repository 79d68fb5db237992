"""At the bench with a pass on the page: the drawing and the answer follow, bands are dragged and moved by keys."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from tests.web.browser import (
    DESK,
    PHONE,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    small_targets,
)
from tests.web.sample_rack import BOARD, LONG_ASH, SHORT_ASH, WALNUT, tag_sample_rack

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("rack")]

STRIPED = "band1=field&band1_species=ash&band2=stripe&band2_species=walnut&band2_each=1/4&band3=field&band3_species=ash"
PAGES = (
    f"/bench/form?{BOARD}&{STRIPED}",
    f"/bench/form?{BOARD}&grain=end&panels=2&{STRIPED}",
    f"/bench?{BOARD}&{STRIPED}",
    f"/bench?{BOARD}&{STRIPED}&grain=face",
    f"/bench?{BOARD}&{STRIPED}&grain=end&panels=2&row_depth=3/4",
    f"/bench?length=19+1/8&width=40&thickness=1+1/2&{STRIPED}",
    f"/bench?{BOARD}&band1=field&band1_weight=half&band2=stripe&band2_each=thin",
)


@pytest.fixture
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(each) for each in (LONG_ASH, LONG_ASH, SHORT_ASH, WALNUT)])


def kinds(page: Page) -> list[str]:
    return [each.split()[-1] for each in page.locator(".band-title").all_inner_texts()]


def keys_in(page: Page) -> dict[str, list[str]]:
    return parse_qs(urlsplit(page.url).query)


def open_details(page: Page) -> None:
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")


def settled(page: Page) -> None:
    """Waits until the page has asked what it had to ask."""
    page.wait_for_timeout(350)
    page.wait_for_load_state("networkidle")


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk in the dark"])
def test_axe_finds_nothing(chromium: Browser, live_url: str, screen: dict[str, object], colours: str) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        for path in PAGES:
            page.goto(live_url + path)
            open_details(page)
            assert accessibility_violations(page) == [], path


def test_nothing_scrolls_sideways_on_the_smallest_phone_and_a_thumb_finds_everything(
    chromium: Browser, live_url: str
) -> None:
    with browser_page(chromium, SMALL_PHONE) as page:
        for path in PAGES:
            page.goto(live_url + path)
            open_details(page)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path


def test_pages_keep_their_own_policy_and_break_nothing(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        for path in PAGES:
            page.goto(live_url + path)
        assert [each for each in said if "422" not in each] == []


def test_the_board_is_drawn_while_it_is_typed_and_the_address_keeps_it(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench")
        assert page.locator(".drawn-asked").count() == 0
        page.locator("#field-length").press_sequentially("18")
        page.locator("#field-width").press_sequentially("6 1/2")
        expect(page.locator(".drawn-asked title")).to_have_text("The board asked for, 18 in × 6 1/2 in")
        expect(page.locator("#field-width")).to_be_focused()
        assert page.locator("#field-width").input_value() == "6 1/2"
        page.click("text=Two thin stripes")
        expect(page.locator(".band")).to_have_count(5)
        page.locator("#field-band2_each").fill("1/2")
        expect(page.locator(".drawn-asked desc")).to_contain_text("2: walnut, 1/2")
        kept = page.url
        assert keys_in(page)["band2_each"] == ["1/2"]
        page.goto(kept)
        assert page.locator("#field-band2_each").input_value() == "1/2"
        assert page.locator("#field-width").input_value() == "6 1/2"


def test_bands_move_by_key_with_the_focus_and_mirror_in_one_press(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench/form?{BOARD}&band1=field&band2=stripe&band2_each=1/4&band3=field&band3_weight=3")
        page.locator("#band2 [value=down-2]").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#band3 .band-title")).to_contain_text("stripe")
        assert kinds(page) == ["field", "field", "stripe"]
        expect(page.locator("#band3")).to_be_focused()
        page.locator("#band3 [value=up-3]").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#band2 [value=up-2]")).to_be_focused()
        assert kinds(page) == ["field", "stripe", "field"]
        page.click("text=Mirror")
        expect(page.locator(".band")).to_have_count(5)
        assert kinds(page) == ["field", "stripe", "field", "stripe", "field"]
        assert keys_in(page)["band3_weight"] == ["3"]
        assert "do" not in keys_in(page)


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["mouse", "phone"])
def test_a_band_is_dragged_to_its_place(chromium: Browser, live_url: str, screen: dict[str, object]) -> None:
    with browser_page(chromium, screen) as page:
        page.goto(f"{live_url}/bench/form?{BOARD}&{STRIPED}")
        grip, last = page.locator("#band2 [data-grip]"), page.locator("#band3")
        page.evaluate("document.querySelector('#band1').scrollIntoView()")
        start, end = grip.bounding_box(), last.bounding_box()
        assert start and end
        x, y = start["x"] + start["width"] / 2, start["y"] + start["height"] / 2
        below = end["y"] + end["height"] - 4
        if screen is DESK:
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x, (y + below) / 2)
            page.mouse.move(x, below)
            page.mouse.up()
        else:
            touch = page.context.new_cdp_session(page)
            for kind, at in (
                ("touchStart", y),
                ("touchMove", (y + below) / 2),
                ("touchMove", below),
                ("touchEnd", None),
            ):
                points = [] if at is None else [{"x": x, "y": at}]
                touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        expect(page.locator("#band3 .band-title")).to_contain_text("stripe")
        assert kinds(page) == ["field", "field", "stripe"]


def test_enter_in_a_band_searches_and_moves_nothing(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench/form?{BOARD}&{STRIPED}")
        page.locator("#field-band2_each").fill("1/8")
        page.keyboard.press("Enter")
        page.wait_for_selector("#answer")
        keys = keys_in(page)
        assert (urlsplit(page.url).path, keys["band2"], keys["band2_each"]) == ("/bench", ["stripe"], ["1/8"])


def test_bands_work_without_scripts(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE, java_script_enabled=False) as page:
        page.goto(f"{live_url}/bench")
        page.locator("label.choice", has_text="walnut").click()
        page.click("text=Dark middle")
        assert kinds(page) == ["field", "field", "field"]
        assert page.locator("[data-grip]").first.is_hidden()
        page.locator("#band1 [value=remove-1]").click()
        page.click("text=Add a stripe")
        page.locator("#field-band3_each").fill("1/4")
        page.locator("#band3 [value=up-3]").click()
        assert kinds(page) == ["field", "stripe", "field"]
        for name, typed in (("length", "18"), ("width", "3"), ("thickness", "1 1/2")):
            page.fill(f"#field-{name}", typed)
        page.locator("text=Look through the rack").last.click()
        assert page.locator("h1").inner_text() == "A board 18 × 3 × 1 1/2 in"


def test_the_answer_follows_an_allowance_at_once_with_the_focus_where_it_was(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench?{BOARD}&species=walnut&fills=1")
        page.click("text=What if?")
        before = page.locator("#part-answer").inner_text()
        field = page.locator("#field-end_trim")
        field.press_sequentially("2 in")
        expect(page.locator("#part-answer")).to_contain_text("Crosscut 2 lengths of 20")
        assert page.locator("#part-answer").inner_text() != before
        expect(field).to_be_focused()
        assert field.input_value() == "2 in"
        assert keys_in(page)["end_trim"] == ["2 in"]
        assert page.locator("#what-if").get_attribute("open") is not None
        expect(page.locator("#part-head")).to_contain_text("1 allowance changed")
        page.fill("#field-width", "60")
        expect(page.locator("#part-brief")).to_contain_text("The rack can't fill it")
        expect(page).to_have_title(re.compile("Board 18 × 60"))


def test_what_cannot_be_read_leaves_the_last_answer_marked_and_says_why(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench?{BOARD}&species=walnut&fills=1")
        page.click("text=What if?")
        page.fill("#field-rip_kerf", "1/0")
        expect(page.locator("#part-faults")).to_contain_text("the fraction has 0 below the line")
        expect(page.locator("#part-answer")).to_have_class(re.compile("stale"))
        expect(page.locator("#field-rip_kerf")).to_be_focused()
        page.fill("#field-rip_kerf", "1/16")
        expect(page.locator("#part-answer")).not_to_have_class(re.compile("stale"))
        expect(page.locator("#part-faults")).to_be_empty()


def test_a_set_found_while_following_can_be_on_hold(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/bench?{BOARD}&species=walnut&fills=1")
        page.click("text=What if?")
        page.fill("#field-end_trim", "1/2")
        expect(page.locator("#part-answer")).to_contain_text("18 1/2")
        settled(page)
        page.locator("text=Set these aside").first.click()
        page.wait_for_url(re.compile(r"/boards/\d+$"))
        assert page.locator("text=18 1/2").count() >= 1


def test_bands_can_be_changed_on_the_answers_page_and_the_answer_follows(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench?{BOARD}&{STRIPED}&prefer=least-waste&fills=1")
        page.click("text=What if?")
        page.click("text=Grain, woods and what matters")
        page.locator("#band2 [value=remove-2]").click()
        expect(page.locator(".band")).to_have_count(2)
        expect(page.locator("#part-head")).to_contain_text("2 bands")
        page.wait_for_url(re.compile(r"/bench\?"))
        settled(page)
        assert page.locator("#whole-question").get_attribute("open") is not None


def test_the_panel_is_asked_about_for_end_grain_alone(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/bench")
        assert page.locator("#field-row_depth").is_hidden()
        page.locator("label", has_text="End grain").click()
        assert page.locator("#field-row_depth").is_visible()
        page.locator("label", has_text="Face grain").first.click()
        settled(page)
        assert "panel_grain" not in page.url
