"""What a person sees of several boards at once: the list, the look on its way, its answer; with and without scripts."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from inventory.services.boards import making, several_boards
from inventory.services.boards.several_boards import Found, Question
from inventory.shop import Shop
from tests.web.browser import DESK, PHONE, SMALL_PHONE, axe_findings, opened, too_small, too_wide
from tests.web.sample_rack import tag_the_rack

pytestmark = pytest.mark.browser

BOARD = "board=length%3D8%26width%3D3%26thickness%3D1%2B1%252F2%26prefer%3Dleast-waste%26count%3D2"
OTHER = "board=length%3D6%26width%3D2%26thickness%3D1%2B1%252F2%26count%3D1"
LOOK = "text=Look for all of them"


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    tag_the_rack(shop)


@pytest.fixture
def in_steps(monkeypatch: pytest.MonkeyPatch) -> list[Found]:
    """A look that tells two of nine until the test clears this list's only step."""
    whole = several_boards.look
    steps: list[Found] = [Found(2, 9, None)]

    def slowly(shop: Shop, question: Question) -> Iterator[Found]:
        while steps:
            yield steps[0]
            time.sleep(0.05)
        yield from whole(shop, question)

    monkeypatch.setattr(several_boards, "look", slowly)
    return steps


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk in the dark"])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    chromium: Browser, live: str, screen: dict[str, Any], colours: str, in_steps: list[Found]
) -> None:
    with opened(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        page.goto(f"{live}/batch")
        assert axe_findings(page) == []
        page.goto(f"{live}/batch?{BOARD}&{OTHER}")
        assert axe_findings(page) == [] and too_wide(page) == []
        page.click(LOOK)
        page.wait_for_selector("text=2 boards found so far, at most 9.")
        assert axe_findings(page) == [] and too_wide(page) == []
        in_steps.clear()
        page.wait_for_selector("text=All 3 boards can be filled", timeout=60_000)
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
        assert axe_findings(page) == [] and too_wide(page) == []
        page.goto(f"{live}/batch?board=length%3Dlong%26count%3D1")
        page.click(LOOK)
        assert page.locator("#faults").count() == 1
        assert axe_findings(page) == []


def test_a_thumb_finds_everything_on_the_smallest_phone(chromium: Browser, live: str) -> None:
    with opened(chromium, SMALL_PHONE) as page:
        page.goto(f"{live}/batch?{BOARD}&{OTHER}")
        assert too_wide(page) == [] and too_small(page) == []
        page.click(LOOK)
        page.wait_for_selector("text=All 3 boards can be filled", timeout=60_000)
        assert too_wide(page) == [] and too_small(page) == []


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_from_one_board_to_as_many_as_there_are(chromium: Browser, live: str, shop: Shop, scripts: bool) -> None:
    with opened(chromium, PHONE, java_script_enabled=scripts) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.goto(f"{live}/bench?length=8&width=3&thickness=1+1/2&prefer=least-waste")
        page.click("text=How many of these are in the rack?")
        # Without scripts the page refreshes itself.
        page.wait_for_selector("text=Proven: the rack never gives more of them.", timeout=60_000)
        page.click("text=Set aside all of them")
        board = making.board(shop, 1)
        assert page.url == f"{live}/boards/1"
        assert board.boards == len(board.fill.glue_ups) > 1
        assert said == []


def test_the_look_is_stopped_when_it_is_enough(chromium: Browser, live: str, in_steps: list[Found]) -> None:
    with opened(chromium, DESK) as page:
        page.goto(f"{live}/batch?{BOARD}")
        page.click(LOOK)
        page.wait_for_selector("text=2 boards found so far, at most 9.")
        in_steps[0] = Found(3, 9, None)
        page.wait_for_selector("text=3 boards found so far, at most 9.")
        page.click("text=This is enough")
        page.wait_for_selector("text=Stopped before anything was found")
