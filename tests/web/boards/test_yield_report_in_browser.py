"""What became of the wood, on its pages: yields, the offcuts of a board, and the card that goes with it."""

from __future__ import annotations

from typing import Any

import pypdfium2 as pdfium
import pytest
from playwright.sync_api import Browser

from inventory.services.boards import filling, making
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from tests.services.fills import cut
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
from tests.web.test_settings import form_of
from tests.web.visitor import HttpClient, visible_text

ASKED = {"length": "18", "width": "10", "thickness": "1 1/2", "prefer": ["least-milling"], "fills": 1}


@pytest.fixture
def board(shop: Shop) -> BoardRecord:
    """A board of ash and walnut, cut and finished."""
    tag_sample_rack(shop)
    asked = filling.request(
        shop, ASKED | {"bands": [{"species": ["ash"], "weight": 3}, {"species": ["walnut"], "weight": 1}]}
    )
    aside = making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")
    done = cut(shop, aside)
    return making.finish(shop, done.id, done.version)


def test_no_wood_yet_leads_to_the_saw(visitor: HttpClient) -> None:
    assert "No wood was tagged yet" in visible_text(visitor.get("/boards/yield-report"))


def test_wood_on_the_rack_alone_has_no_yield(visitor: HttpClient, shop: Shop) -> None:
    tag_sample_rack(shop)
    message = visible_text(visitor.get("/boards/yield-report"))
    assert "0 % of all wood ever tagged, 0.00 bd ft of 5.51 bd ft, is in finished boards." in message
    assert "No board is finished yet." in message


def test_yields_are_reported_by_month_and_by_board(visitor: HttpClient, board: BoardRecord) -> None:
    assert 'href="/boards/yield-report"' in visitor.get("/boards").text
    message = visible_text(visitor.get("/boards/yield-report"))
    # 18 × 10 × 1 1/2 in = 270 in³ = 1.875 bd ft.
    assert "34 % of all wood ever tagged, 1.87 bd ft of 5.51 bd ft, is in finished boards." in message
    assert "1 finished board: 1.87 bd ft made of " in message
    assert message.count("As a table") == 2
    assert "Stair tread" in message


def test_a_board_shows_the_offcuts_it_is_made_of(visitor: HttpClient, board: BoardRecord) -> None:
    page = visitor.get(f"/boards/{board.id}")
    message = visible_text(page)
    assert "What it is made of" in message
    assert "· ash" in message and "· walnut" in message
    assert f'href="/boards/{board.id}/card"' in page.text


def test_the_card_says_species_sizes_care_and_year(visitor: HttpClient, board: BoardRecord, shop: Shop) -> None:
    message = visible_text(visitor.get(f"/boards/{board.id}/card"))
    assert "Stair tread ash 68 %, walnut 32 % 18 × 10 × 1 1/2 in" in message
    assert "Never soak it and keep it out of the dishwasher" in message
    assert "Food: the makers of its glue and its finish say what these are good for" in message
    assert "On record of food on walnut: a reaction of somebody with a nut allergy cannot be ruled out" in message
    assert message.count(str(shop.today().year)) == 1


def test_there_is_no_card_before_the_board_is_cut(visitor: HttpClient, shop: Shop) -> None:
    tag_sample_rack(shop)
    asked = filling.request(shop, ASKED | {"bands": [{"species": ["ash"]}]})
    aside = making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")
    answer = visitor.get(f"/boards/{aside.id}/card")
    assert (answer.status_code, answer.location) == (303, f"/boards/{aside.id}")
    assert '"Stair tread" is set aside: its card can be printed once it is cut.' in visible_text(
        visitor.get(answer.location)
    )


def test_an_end_grain_board_has_its_rows_on_its_card(visitor: HttpClient, shop: Shop) -> None:
    tag_sample_rack(shop)
    asked = filling.request(shop, {"grain": "end", "length": "8", "width": "5", "thickness": "1", "fills": 1})
    aside = making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Block")
    done = cut(shop, aside)
    page = visitor.get(f"/boards/{done.id}/card")
    assert "8 × 5 × 1 in" in visible_text(page)
    assert 'id="card-0-title"' in page.text


@pytest.mark.browser
@pytest.mark.parametrize(("screen", "colours"), [(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk"])
def test_axe_finds_nothing(
    chromium: Browser, live_url: str, board: BoardRecord, screen: dict[str, Any], colours: str
) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        for path in ("/boards/yield-report", f"/boards/{board.id}", f"/boards/{board.id}/card"):
            page.goto(live_url + path)
            page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
            assert accessibility_violations(page) == [], path


@pytest.mark.browser
def test_nothing_scrolls_sideways_and_a_card_is_one_sheet(chromium: Browser, live_url: str, board: BoardRecord) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=False) as page:
        for path in ("/boards/yield-report", f"/boards/{board.id}/card"):
            page.goto(live_url + path)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path
        with pdfium.PdfDocument(page.pdf(format="A4")) as sheets:
            assert len(sheets) == 1


def priced(shop: Shop, lines: str = "ash 10") -> None:
    shop.update_settings(lambda settings: settings.changed({"species_prices": lines, "currency": "crowns"}))


def test_without_prices_nothing_is_said_of_money(visitor: HttpClient, board: BoardRecord) -> None:
    for path in ("/rack/stock-levels", f"/boards/{board.id}", f"/t/{CODES['bundle']}"):
        message = visible_text(visitor.get(path))
        assert "your prices" not in message, path
        assert "Worth" not in message, path


def test_the_pile_is_valued_and_weighed_and_what_has_no_price_is_named(visitor: HttpClient, shop: Shop) -> None:
    tag_sample_rack(shop)
    priced(shop)
    message = visible_text(visitor.get("/rack/stock-levels"))
    # Ash: 66 × 4 × 1, 20 × 4 × 1 and four of 20 × 2 × 7/8 in are 484 in³, 3.361 board feet at 10.
    assert "At your prices it is worth 33.61 crowns, without walnut." in message
    assert "at 12 % moisture and the published specific gravities." in message
    assert "3.36 bd ft none about" in message
    assert "no price" in message


def test_a_piece_and_a_board_are_valued(visitor: HttpClient, shop: Shop, board: BoardRecord) -> None:
    priced(shop, "ash 10\nblack walnut 20")
    # The four pieces of the bundle, 20 × 2 × 7/8 in each, are 140 in³ or 0.9722 board feet.
    assert "Worth at your prices 9.72 crowns" in visible_text(visitor.get(f"/t/{CODES['bundle']}"))
    message = visible_text(visitor.get(f"/boards/{board.id}"))
    assert "Wood in it, at your prices" in message
    assert "Wood off the rack, at your prices" in message


def test_a_bad_line_of_prices_stands_beside_the_field_as_typed(visitor: HttpClient, shop: Shop) -> None:
    page = visitor.get("/settings")
    assert 'name="species_prices"' in page.text
    answer = visitor.post("/settings", form_of(page) | {"species_prices": "ash 10\r\nwalnut"}, page="/settings")
    assert answer.status_code == 422
    assert 'Line 2, "walnut", is no price: ' in visible_text(answer)
    assert "ash 10\nwalnut</textarea>" in answer.text
    assert shop.settings().prices.prices == ()
