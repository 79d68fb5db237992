"""What a person sees of several boards at once: the list, the look on its way, its answer; with and without scripts."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from inventory.services.boards import making, several_boards
from inventory.services.boards.several_boards import BatchSolution, BoardOrder
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
from tests.web.sample_rack import tag_sample_rack

pytestmark = pytest.mark.browser

BOARD = "board=length%3D8%26width%3D3%26thickness%3D1%2B1%252F2%26prefer%3Dleast-waste%26count%3D2"
OTHER = "board=length%3D6%26width%3D2%26thickness%3D1%2B1%252F2%26count%3D1"
LOOK = "text=Look for all of them"


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)


@pytest.fixture
def stepped_answers(monkeypatch: pytest.MonkeyPatch) -> list[BatchSolution]:
    """A look that tells two of nine until the test clears this list's only step."""
    whole = several_boards.search_rack
    steps: list[BatchSolution] = [BatchSolution(2, 9, None)]

    def slowly(shop: Shop, question: BoardOrder) -> Iterator[BatchSolution]:
        while steps:
            yield steps[0]
            time.sleep(0.05)
        yield from whole(shop, question)

    monkeypatch.setattr(several_boards, "search_rack", slowly)
    return steps


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk in the dark"])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    chromium: Browser, live_url: str, screen: dict[str, Any], colours: str, stepped_answers: list[BatchSolution]
) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        page.goto(f"{live_url}/several-boards")
        assert accessibility_violations(page) == []
        page.goto(f"{live_url}/several-boards?{BOARD}&{OTHER}")
        assert accessibility_violations(page) == [] and overflowing_elements(page) == []
        page.click(LOOK)
        page.wait_for_selector("text=2 boards found so far, at most 9.")
        assert accessibility_violations(page) == [] and overflowing_elements(page) == []
        stepped_answers.clear()
        page.wait_for_selector("text=All 3 boards can be filled", timeout=60_000)
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
        assert accessibility_violations(page) == [] and overflowing_elements(page) == []
        page.goto(f"{live_url}/several-boards?board=length%3Dlong%26count%3D1")
        page.click(LOOK)
        assert page.locator("#faults").count() == 1
        assert accessibility_violations(page) == []


def test_a_thumb_finds_everything_on_the_smallest_phone(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, SMALL_PHONE) as page:
        page.goto(f"{live_url}/several-boards?{BOARD}&{OTHER}")
        assert overflowing_elements(page) == [] and small_targets(page) == []
        page.click(LOOK)
        page.wait_for_selector("text=All 3 boards can be filled", timeout=60_000)
        assert overflowing_elements(page) == [] and small_targets(page) == []


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_from_one_board_to_as_many_as_there_are(chromium: Browser, live_url: str, shop: Shop, scripts: bool) -> None:
    with browser_page(chromium, PHONE, java_script_enabled=scripts) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.goto(f"{live_url}/bench?length=8&width=3&thickness=1+1/2&prefer=least-waste")
        page.click("text=How many of these are in the rack?")
        # Without scripts the page refreshes itself.
        page.wait_for_selector("text=Proven: the rack never gives more of them.", timeout=60_000)
        page.click("text=Set aside all of them")
        board = making.board(shop, 1)
        assert page.url == f"{live_url}/boards/1"
        assert board.boards == len(board.fill.glue_ups) > 1
        assert said == []


def test_the_look_is_stopped_when_it_is_enough(
    chromium: Browser, live_url: str, stepped_answers: list[BatchSolution]
) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/several-boards?{BOARD}")
        page.click(LOOK)
        page.wait_for_selector("text=2 boards found so far, at most 9.")
        stepped_answers[0] = BatchSolution(3, 9, None)
        page.wait_for_selector("text=3 boards found so far, at most 9.")
        page.click("text=This is enough")
        page.wait_for_selector("text=Stopped before anything was found")
