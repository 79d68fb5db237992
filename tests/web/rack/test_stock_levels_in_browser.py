"""The state of the pile on its page: what it says, how it looks, and a part of it picked out by a drag."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser

from inventory.core.offcuts import State
from inventory.services.rack import queries
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
from tests.web.sample_rack import CODES, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

PICKED = "/rack/stock-levels?length_from=20&length_to=46&width_from=2&width_to=5+1/2"


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)


def test_the_pile_is_reported_with_a_table_to_each_picture(visitor: HttpClient) -> None:
    message = visible_text(visitor.get("/rack/stock-levels"))
    assert "7 pieces, 5.51 bd ft in the shop." in message
    assert message.count("As a table") == 3
    assert "ash 6 3.36 bd ft none" in message
    assert "picked out" not in message


def test_a_part_is_picked_out_and_pruned(visitor: HttpClient, shop: Shop) -> None:
    message = visible_text(visitor.get(PICKED))
    assert "6 pieces picked out, 3.68 bd ft" in message
    asked = {
        "length_from": "20",
        "length_to": "46",
        "act": "let go",
        "reason": "burnt",
        "code": [CODES["walnut"] + ".1"],
    }
    refused = visitor.post("/rack/stock-levels", asked | {"reason": ""}, page=PICKED)
    assert refused.status_code == 422
    assert "No reason is chosen. Choose why the pieces go." in visible_text(refused)
    assert f'value="{CODES["walnut"]}.1" checked' in refused.text
    done = visitor.post("/rack/stock-levels", asked | {"reason": "other"}, page=PICKED)
    assert (done.status_code, done.location) == (303, "/rack/stock-levels?length_from=20&length_to=46#picked")
    assert "1 tag is let go." in visible_text(visitor.get(done.location))
    assert queries.record(shop, CODES["walnut"]).state is State.GONE


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"act": "pin"}, "No piece is ticked. Tick those that are meant."),
        ({"act": "paint", "code": CODES["walnut"]}, "Nothing was asked for. Press one of the buttons below the list."),
        ({"act": "let go", "reason": "moths", "code": CODES["walnut"]}, "That is none of the reasons."),
    ],
)
def test_what_can_t_be_done_is_reported_beside_the_list(
    visitor: HttpClient, asked: dict[str, str], sentence: str
) -> None:
    answer = visitor.post("/rack/stock-levels", asked | {"length_from": "20"}, page=PICKED)
    assert answer.status_code == 422
    assert sentence in visible_text(answer)


def test_the_room_given_is_kept_and_set_against_the_room_taken(visitor: HttpClient, shop: Shop) -> None:
    done = visitor.post("/rack/stock-levels/storage-limit", {"storage_limit": "5 bd ft"}, page="/rack/stock-levels")
    assert done.status_code == 303
    assert "0.51 bd ft more than the room given." in visible_text(visitor.get("/rack/stock-levels"))
    refused = visitor.post("/rack/stock-levels/storage-limit", {"storage_limit": "60 %"}, page="/rack/stock-levels")
    assert refused.status_code == 422
    assert "The room for offcuts is a volume here, no share." in visible_text(refused)
    assert shop.settings().storage_limit == 5 * 2359737 + 1


def test_bounds_that_cross_are_reported_and_kept_as_typed(visitor: HttpClient) -> None:
    answer = visitor.get("/rack/stock-levels?length_from=9&length_to=8")
    assert answer.status_code == 422
    assert "The least length is above the most. Swap the two." in visible_text(answer)
    assert 'value="9"' in answer.text and 'value="8"' in answer.text


@pytest.mark.browser
@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk"])
def test_axe_finds_nothing(chromium: Browser, live_url: str, screen: dict[str, Any], colours: str) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        page.goto(live_url + PICKED)
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
        assert accessibility_violations(page) == []


@pytest.mark.browser
def test_nothing_scrolls_sideways_and_a_thumb_finds_everything(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=False) as page:
        page.goto(live_url + PICKED)
        assert overflowing_elements(page) == []
        assert small_targets(page) == []


@pytest.mark.browser
def test_a_drag_across_the_dots_picks_them_out(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(live_url + "/rack/stock-levels")
        box = page.locator(".stock-plot svg").bounding_box()
        assert box is not None
        scale = box["width"] / 300
        page.locator(".stock-plot svg").scroll_into_view_if_needed()
        box = page.locator(".stock-plot svg").bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 36 * scale, box["y"] + 212 * scale)
        page.mouse.down()
        page.mouse.move(box["x"] + 200 * scale, box["y"] + 20 * scale, steps=4)
        page.mouse.up()
        page.wait_for_url("**/rack/stock-levels?*length_to=*")
        bounds = page.url.split("?")[1].split("#")[0]
        assert "%2F8" in bounds and "." not in bounds, "inches are filled in as a shop types them"
        assert page.locator("#picked tbody tr").count() == 3
        assert page.locator(".stock-region").count() == 1
