"""What a person sees of usual boards and of what to let go: no fault found by axe, nothing too wide or too small."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.pruning.storage_limit import StorageLimit
from inventory.pruning.usual_boards import UsualBoard
from inventory.services.boards import filling, usual_board_list
from inventory.services.jobs import Progress
from inventory.services.pruning import prune_advice
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.web.rack.pruning import JOB
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

PAGES = (
    "/usual-boards",
    "/usual-boards/1",
    "/usual-boards/new?length=18&width=6&thickness=1",
    "/pruning",
    "/pruning/1",
    "/t/0000011",
)


@pytest.fixture(autouse=True)
def asked(shop: Shop, app: Flask) -> None:
    """A rack with a usual board, an answer and a list made of it."""
    tag_sample_rack(shop)
    scraps = Offcut(
        inches("7 3/4"), inches("2"), inches("3/4"), "pine", count=9, location="the long rack, second shelf"
    )
    tagging.tag_all(shop, [NewPiece(replace(scraps, notes="salvaged"), "0000055")])
    request = filling.request(shop, {"length": "18 in", "width": "6 in", "thickness": "1 1/2 in"})
    usual_board_list.keep(
        shop, UsualBoard("the long stair tread", replace(request, prefer=request.prefer[:1]), Fraction(3), (3, 4))
    )
    jobs = app.extensions["rackful.jobs"]
    room = StorageLimit(pieces=8)
    jobs.start(JOB, "What to let go", lambda: prune_advice.prune_rack(shop, room, with_arrivals=True, replications=20))
    done = jobs.wait(JOB, 60)
    prune_advice.create_checklist(shop, done.outcome)


@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk"])
def test_axe_finds_nothing(chromium: Browser, live_url: str, screen: dict[str, Any], colours: str) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        for path in PAGES:
            page.goto(live_url + path)
            page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
            assert accessibility_violations(page) == [], path


def test_nothing_scrolls_sideways_and_a_thumb_finds_everything(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=False) as page:
        for path in PAGES:
            page.goto(live_url + path)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path


def test_the_page_follows_the_work_and_stops_it(chromium: Browser, app: Flask, live_url: str) -> None:
    """A work that never ends by itself: it yields as long as nobody stops it."""

    def endless() -> Generator[Progress, None, Any]:
        number = 0
        while True:
            number += 1
            yield Progress(0.25, f"{number} years drawn")

    jobs = app.extensions["rackful.jobs"]
    jobs.start(JOB, "What to let go", endless)
    with browser_page(chromium, PHONE, bypass_csp=True) as page:
        page.goto(f"{live_url}/pruning#work")
        assert page.locator("progress").get_attribute("value") == "25"
        # The work itself has the focus then: it must not keep the first figure for that.
        before = page.locator("#work").inner_text()
        page.wait_for_function("before => document.querySelector('#work').innerText !== before", arg=before)
        assert accessibility_violations(page) == []
        page.click("text=Stop here")
        page.wait_for_selector("text=Stopped too early to say anything.")
    jobs.wait(JOB, 10)


def test_a_piece_is_sent_and_taken_back_on_the_walk(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(f"{live_url}/pruning/1")
        page.fill("#field-code", "000 oo55")
        page.click("text=Is it on the list?")
        found = page.locator("#piece-0000055")
        assert "this is it" in found.inner_text()
        assert "Stove" not in found.inner_text().replace("Not for the stove", "")
        found.locator("text=Bin").click()
        assert "gone: bin" in page.locator("#piece-0000055").inner_text()
        page.locator("#piece-0000055 >> text=Undo").click()
        assert "gone" not in page.locator("#piece-0000055").inner_text()
