"""What a person sees at the bench and of a board: phone and desk, light and dark, without scripts, on paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from playwright.sync_api import Browser, Page, expect

from inventory.services.boards import filling, making
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import BoardState
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

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("boards")]

PAGES = (
    "/bench",
    f"/bench?{BOARD}",
    f"/bench?{BOARD}&grain=face",
    "/bench?length=18&width=30&thickness=1+1/2&species=walnut",
    "/bench?length=1/0&width=&thickness=1&rip_kerf=wide",
    "/boards",
    "/boards/1",
    "/boards/1/sheet",
    "/boards/1/cut",
    "/boards/2",
    "/boards/3",
)


@pytest.fixture
def boards(shop: Shop) -> None:
    """A rack with one board set aside, one that is cut and one that was abandoned."""
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(LONG_ASH), NewPiece(SHORT_ASH), NewPiece(WALNUT)])
    for name, species, width in (
        ("Stair tread", "ash", "4"),
        ("SortedAlternatives", "walnut", "2"),
        ("Step", "ash", "2"),
    ):
        given = {"length": "18", "width": width, "thickness": "1 1/2", "bands": [{"species": [species]}], "fills": 1}
        asked = filling.request(shop, given)
        made = making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], name)
        if made.id == 2:
            left = [
                making.ConfirmedLeftover(
                    each.cut, each.remainder, each.length, each.width, each.thickness, each.keep, each.location
                )
                for each in making.proposed_leftovers(shop, made.id)
            ]
            making.cut(shop, made.id, made.version, left)
        elif made.id == 3:
            making.abandon(shop, made.id, made.version)


def open_details(page: Page) -> None:
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk in the dark"])
def test_axe_finds_nothing(chromium: Browser, live_url: str, screen: dict[str, Any], colours: str) -> None:
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


def test_no_text_of_a_drawing_runs_out_of_its_paper(chromium: Browser, live_url: str) -> None:
    script = """() => [...document.querySelectorAll('svg.drawn text')].filter(text => {
        const paper = text.closest('svg').getBoundingClientRect(), ink = text.getBoundingClientRect();
        return ink.left < paper.left - 0.5 || ink.right > paper.right + 0.5 || ink.bottom > paper.bottom + 0.5;
    }).map(text => text.textContent)"""
    with browser_page(chromium, PHONE) as page:
        for path in PAGES:
            page.goto(live_url + path)
            open_details(page)
            assert page.evaluate(script) == [], path


def test_pages_keep_their_own_policy(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        for path in PAGES:
            page.goto(live_url + path)
        assert [each for each in said if "422" not in each] == []


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_from_the_question_to_the_leftovers_on_a_phone(
    chromium: Browser, live_url: str, shop: Shop, scripts: bool
) -> None:
    with browser_page(chromium, PHONE, java_script_enabled=scripts) as page:
        page.goto(f"{live_url}/bench")
        page.fill("#field-length", "18")
        page.fill("#field-width", "2 1/2")
        page.fill("#field-thickness", "1 1/2")
        page.locator("text=Look through the rack").click()
        assert page.locator("h1").inner_text() == "A board 18 × 2 1/2 × 1 1/2 in"
        page.locator("text=Set these aside").first.click()
        number = int(page.url.rsplit("/", 1)[1])
        page.click("text=It is cut")
        page.click("text=All is cut")
        assert page.url == f"{live_url}/boards/{number}"
        made = making.board(shop, number)
        assert made.state is BoardState.CUT
        for code in made.left_over:
            assert page.locator(f'a[href="/t/{code}"]').count() >= 1
        page.click("text=It is finished")
        page.click("text=Undo: not finished yet")
        assert making.board(shop, number).state is BoardState.CUT


def test_a_search_leaves_its_empty_answers_out_of_the_address(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/bench")
        for name, typed in (("length", "18"), ("width", "2"), ("thickness", "1 1/2")):
            page.fill(f"#field-{name}", typed)
        page.click("summary:has-text('Allowances')")
        page.fill("#field-end_trim", "2")
        page.locator("text=Look through the rack").click()
        assert "rip_kerf" not in page.url
        assert "end_trim=2" in page.url


def test_ticks_on_the_pick_list_stay_when_the_page_is_opened_again(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/boards/1")
        page.locator(".pick label").first.click()
        page.reload()
        assert page.locator(".pick input").first.is_checked()


def test_the_cut_sheet_prints_on_paper_alone(chromium: Browser, live_url: str, tmp_path: Path) -> None:
    with browser_page(chromium, DESK, color_scheme="dark") as page:
        page.goto(f"{live_url}/boards/1/sheet")
        assert page.locator("[data-print]").is_visible()
        page.emulate_media(media="print")
        assert not page.locator("[data-print]").is_visible()
        page.pdf(path=tmp_path / "sheet.pdf", format="A4")
    document = pypdfium2.PdfDocument(tmp_path / "sheet.pdf")
    said = " ".join(re.sub(r"\s+", " ", sheet.get_textpage().get_text_range()) for sheet in document)
    assert len(document) <= 3
    assert "Cut sheet: Stair tread" in said
    assert "7. Back to the rack" in said
    assert "Settings" not in said
    document.close()


def test_on_a_phone_the_sets_are_folded_and_one_is_opened_from_the_list(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE, base_url=live_url) as page:
        page.goto(f"/bench?{BOARD}&fills=3")
        folds = page.locator("details.set-fold")
        assert folds.count() > 1
        assert [folds.nth(place).get_attribute("open") for place in range(folds.count())] == [None] * folds.count()
        page.locator(".ranking a:not(.first)").first.tap()
        target = page.evaluate("location.hash")
        expect(page.locator(f"{target} details.set-fold")).to_have_attribute("open", "")
        page.locator(f"{target} >> text=Back to the list of sets").tap()
        assert page.evaluate("location.hash") == "#answer"


def test_at_a_desk_the_best_sets_lie_open_and_what_was_closed_by_hand_stays_closed(
    chromium: Browser, live_url: str
) -> None:
    with browser_page(chromium, DESK, base_url=live_url) as page:
        page.goto(f"/bench?{BOARD}&fills=1")
        first = page.locator("details.set-fold[data-open-wide]").first
        expect(first).to_have_attribute("open", "")
        first.locator("> summary").click()
        page.click("#what-if > summary")
        with page.expect_response("**/bench?*"):
            page.fill("#field-width", "6 1/4")
        expect(page.locator("#part-answer")).to_contain_text("1/4")
        expect(first).not_to_have_attribute("open", "")
