"""Taking stock by its pages: begun, seen by code, tick, photo and camera, fixed; two phones; how it looks."""

from __future__ import annotations

import re
from io import BytesIO
from random import Random

import pytest
from flask import Flask
from playwright.sync_api import Browser, expect
from werkzeug.test import TestResponse

from inventory.core.codes import new_code
from inventory.core.offcuts import State
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.tagging import NewPiece
from inventory.services.stock_check import stock_checks
from inventory.shop import Shop
from tests.conftest import Clock
from tests.labels.camera import render_shelf
from tests.web.browser import (
    DESK,
    PHONE,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    small_targets,
)
from tests.web.sample_rack import CODES, LONG_ASH, SHORT_ASH, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

ALSO = "0000066"
STRANGE = "0000077"
KEYS = """keys => { for (const key of keys)
    document.body.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true})); }"""


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    """The bench's rack, with one more piece at wall 2."""
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(SHORT_ASH, ALSO)])


@pytest.fixture
def address(shop: Shop) -> str:
    """A stock check in which something of every kind was seen."""
    number = stock_checks.begin(shop, "wall 2")
    gone = tagging.tag(shop, LONG_ASH, code="0000088")
    editing.remove(shop, gone.code, 1, RemovalReason.NOT_FOUND)
    stock_checks.see(shop, number, ",".join([CODES["short"], CODES["walnut"], CODES["bundle"], STRANGE, gone.code]))
    return f"/stock-check/{number}"


def test_a_stock_check_is_begun_from_the_rack_and_joined_by_a_second_phone(visitor: HttpClient, app: Flask) -> None:
    assert 'href="/stock-check"' in visitor.get("/rack").text
    assert "wall 2 (2 tags)" in visible_text(visitor.get("/stock-check"))
    first = visitor.post("/stock-check", {"location": "wall 2"}, page="/stock-check")
    assert (first.status_code, first.location) == (303, "/stock-check/1")
    second = HttpClient(app)
    assert "Under way wall 2" in visible_text(second.get("/stock-check"))
    assert second.post("/stock-check", {"other": "Wall  2"}, page="/stock-check").location == "/stock-check/1"
    done = second.post("/stock-check/1/seen", {"code": CODES["short"]}, page="/stock-check/1")
    assert done.location == "/stock-check/1"
    assert "000-0022 is where it should be." in visible_text(second.get("/stock-check/1"))
    assert "1 of 2 tags seen" in visible_text(visitor.get("/stock-check/1"))
    refused = visitor.post("/stock-check/1/away", {}, page="/stock-check/1")
    assert refused.status_code == 422
    assert "1 tag was seen at wall 2. Finish the stocktake, or take them off its list first." in visible_text(refused)
    visitor.post("/stock-check", {"other": "loft"}, page="/stock-check")
    assert "Begun by mistake: put it away" in visible_text(visitor.get("/stock-check/2"))
    assert visitor.post("/stock-check/2/away", {}, page="/stock-check/2").location == "/stock-check"
    assert "The stocktake of loft is put away. Nothing was changed." in visible_text(visitor.get("/stock-check"))
    assert "Put away on" in visible_text(visitor.get("/stock-check/2"))
    assert visitor.post("/stock-check/2/away", {}, page="/stock-check").status_code == 409
    none = visitor.post("/stock-check", {"location": ""}, page="/stock-check")
    assert none.status_code == 422
    assert "No location is chosen. Choose one, or type what stands on the shelf." in visible_text(none)


def test_a_tick_goes_on_to_the_next_piece_and_is_taken_back(visitor: HttpClient) -> None:
    visitor.post("/stock-check", {"location": "wall 2"}, page="/stock-check")
    done = visitor.post("/stock-check/1/seen", {"tick": CODES["short"]}, page="/stock-check/1")
    assert done.location == f"/stock-check/1#missing-{ALSO}"
    assert (
        visitor.post("/stock-check/1/seen", {"tick": ALSO}, page="/stock-check/1").location == "/stock-check/1#missing"
    )
    assert "All that should lie here was seen." in visible_text(visitor.get("/stock-check/1"))
    assert visitor.post("/stock-check/1/unseen", {"code": ALSO}, page="/stock-check/1").status_code == 303
    message = visible_text(visitor.get("/stock-check/1"))
    assert "000-0066 counts as not seen." in message and "1 of 2 tags seen" in message


def test_a_scanner_s_whole_list_is_noted_at_once(visitor: HttpClient) -> None:
    visitor.post("/stock-check", {"location": "wall 2"}, page="/stock-check")
    codes = {new_code(Random(seed).randrange) for seed in range(300)}
    typed = "\n".join([CODES["short"], *sorted(codes)])
    assert visitor.post("/stock-check/1/seen", {"code": typed}, page="/stock-check/1").status_code == 303
    message = visible_text(visitor.get("/stock-check/1"))
    assert "000-0022 is where it should be." in message
    assert f"And {len(codes) + 1 - 10} more tags, all noted below." in message


def photo_sent(visitor: HttpClient, path: str) -> TestResponse:
    stream = BytesIO()
    render_shelf([CODES["short"], CODES["walnut"], STRANGE]).save(stream, "JPEG", quality=85)
    stream.seek(0)
    return visitor.post(f"/stock-check/1/{path}", {"photo": (stream, "shelf.jpg")}, page="/stock-check/1")


def test_a_photo_of_the_shelf_counts(visitor: HttpClient, shop: Shop) -> None:
    visitor.post("/stock-check", {"location": "wall 2"}, page="/stock-check")
    assert photo_sent(visitor, "photo").status_code == 303
    message = visible_text(visitor.get("/stock-check/1"))
    assert "3 tags read in 1 photo." in message
    assert "1 of 2 tags seen, 1 from elsewhere, 1 without a piece." in message
    assert f'href="/saw?code={STRANGE}&amp;location=wall+2"' in visitor.get("/stock-check/1").text
    saw = visitor.get(f"/saw?code={STRANGE}&location=wall+2")
    assert re.search(r'name="location" value="wall 2" checked', saw.text)
    none = visitor.post("/stock-check/1/photo", {}, page="/stock-check/1")
    assert none.status_code == 422
    assert "No photo was chosen. Take one or choose one, then send it." in visible_text(none)
    assert re.fullmatch(r"000-00\d\d (is|was) .*\.", photo_sent(visitor, "frame").json["words"])
    blurred = visitor.post("/stock-check/1/frame", {"photo": (BytesIO(b"mist"), "frame.jpg")}, page="/stock-check/1")
    assert "photo" in blurred.json["words"]


def test_all_is_fixed_in_one_go_and_reported(visitor: HttpClient, shop: Shop, address: str) -> None:
    counted = {"code": CODES["bundle"], "pieces": "3"}
    assert visitor.post(f"{address}/count", counted, page=address).location == f"{address}#seen-{CODES['bundle']}"
    message = visible_text(visitor.get(f"{address}/finish"))
    assert "Missing: 1" in message and "From elsewhere: 2" in message and "Gone, and seen all the same: 1" in message
    assert "1 tag without a piece" in message
    asked = {"not_found": ALSO, "left": CODES["walnut"], "back": "0000088"}
    assert visitor.post(f"{address}/finish", asked, page=f"{address}/finish").location == address
    message = visible_text(visitor.get(address))
    for part in (
        "1 tag seen in its place.",
        "Let go as not found: 1",
        "Moved here: 1 000-0044 had no location",
        "To be carried back: 1 000-0033",
        "On the rack again: 1 000-0088",
        "Counted anew: 1 000-0044 4 → 3",
        "Tags without a piece then: 1 000-0077",
    ):
        assert part in message
    assert queries.record(shop, ALSO).state is State.GONE
    assert "not found: stocktake of wall 2" in visible_text(visitor.get(f"/t/{ALSO}"))
    late = visitor.post(f"{address}/seen", {"code": ALSO}, page="/stock-check")
    assert late.status_code == 409
    assert "The stocktake of wall 2 was finished meanwhile" in visible_text(late)
    assert visitor.get(f"{address}/finish").location == address
    second = visitor.post(f"{address}/finish", {"not_found": ALSO, "back": "0000088"}, page="/stock-check")
    assert second.status_code == 409
    assert "not as it was asked for here. Though not ticked here, carried back: 000-0033." in visible_text(second)
    assert "1 in place, 1 moved, 1 missing" in visible_text(visitor.get("/stock-check"))


def test_what_cannot_be_read_is_reported_and_stays_as_typed(visitor: HttpClient, address: str) -> None:
    code = visitor.post(f"{address}/seen", {"code": "shelf"}, page=address)
    assert code.status_code == 422
    assert '"shelf" is no code: a tag has 7 letters and digits' in visible_text(code) and 'value="shelf"' in code.text
    pieces = visitor.post(f"{address}/count", {"code": CODES["bundle"], "pieces": "a few"}, page=address)
    assert pieces.status_code == 422
    assert (
        '"a few" is no number of pieces. Type one such as 4.' in visible_text(pieces) and 'value="a few"' in pieces.text
    )
    assert visitor.get("/stock-check/77").status_code == 404
    assert visitor.post("/stock-check/77/seen", {"code": ALSO}, page=address).status_code == 404


def test_pieces_not_seen_for_long_are_asked_about(visitor: HttpClient, shop: Shop, clock: Clock) -> None:
    assert "Every piece was seen within 12 months." in visible_text(visitor.get("/stock-check"))
    clock.add(days=100)
    refused = visitor.post("/stock-check/unchecked/after", {"ask_after": "never"}, page="/stock-check/unchecked")
    assert refused.status_code == 422 and 'value="never"' in refused.text
    visitor.post("/stock-check/unchecked/after", {"ask_after": "3"}, page="/stock-check/unchecked")
    assert "5 tags not seen for 3 months" in visible_text(visitor.get("/stock-check"))
    assert "seen not for 3 months" in visible_text(visitor.get("/rack?unseen=3"))
    none = visitor.post("/stock-check/unchecked", {"settled": "here"}, page="/stock-check/unchecked")
    assert none.status_code == 422
    assert "No piece is ticked. Tick those that you have looked for." in visible_text(none)
    page = "/stock-check/unchecked"
    visitor.post(page, {"settled": "here", "code": [CODES["short"], CODES["long"]]}, page=page)
    visitor.post(page, {"settled": "not found", "code": [ALSO]}, page=page)
    assert "2 tags were not seen for 3 months." in visible_text(visitor.get(page))
    assert queries.record(shop, ALSO).state is State.GONE


@pytest.mark.browser
def test_axe_finds_nothing(chromium: Browser, live_url: str, clock: Clock, address: str) -> None:
    clock.add(days=400)
    with browser_page(chromium, DESK, color_scheme="dark", bypass_csp=True) as page:
        page.goto(live_url + address)
        assert accessibility_violations(page) == []
    with browser_page(chromium, PHONE, color_scheme="light", bypass_csp=True) as page:
        for path in ("/stock-check", address, f"{address}/finish", "/stock-check/unchecked"):
            page.goto(live_url + path)
            page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
            assert accessibility_violations(page) == [], path
        page.goto(f"{live_url}{address}/finish")
        page.get_by_role("button", name="Finish the stocktake").click()
        page.wait_for_url(f"**{address}")
        assert accessibility_violations(page) == []


@pytest.mark.browser
def test_nothing_scrolls_sideways_and_a_thumb_finds_everything(
    chromium: Browser, live_url: str, clock: Clock, address: str
) -> None:
    clock.add(days=400)
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=False) as page:
        for path in ("/stock-check", address, f"{address}/finish", "/stock-check/unchecked", "/rack"):
            page.goto(live_url + path)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path


@pytest.mark.browser
def test_a_phone_shows_what_the_other_one_saw_and_a_hand_scanner_notes_what_it_reads(
    chromium: Browser, live_url: str, address: str
) -> None:
    with browser_page(chromium, PHONE) as one, browser_page(chromium, DESK) as other:
        one.goto(live_url + address)
        expect(one.locator("#state")).to_contain_text("1 of 2 tags seen")
        other.goto(live_url + address)
        # As quick as a hand scanner, however busy this machine is: all keys within one step of the page.
        other.evaluate(KEYS, [*f"HTTP://OLD.EXAMPLE/T/{ALSO}", "Enter"])
        expect(other.get_by_text("000-0066 is where it should be.")).to_be_visible()
        expect(one.locator("#state")).to_contain_text("2 of 2 tags seen")
