"""The first page: the three places with what waits in each."""

from __future__ import annotations

import pytest

from inventory import __version__
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.rack import queries, tagging
from inventory.services.rack.queries import ShopSummary
from inventory.shop import Shop
from tests.web.visitor import HttpClient, visible_text


def test_an_empty_shop_is_invited_to_tag_its_first_piece(visitor: HttpClient) -> None:
    page = visible_text(visitor.get("/"))
    assert "The rack is empty" in page
    assert "Take the first offcut off the pile and go to the saw: a tag takes a few seconds." in page
    assert "Nothing. No label waits to be printed, no board to be cut." in page
    for call in ("Tag an offcut", "Ask for a board", "Look through the rack"):
        assert call in page


def test_a_shop_at_work_shows_what_waits_in_each_place(visitor: HttpClient, monkeypatch: pytest.MonkeyPatch) -> None:
    busy = ShopSummary(tags=1086, pieces=1, volume=2_359_738, labels_waiting=4, boards_set_aside=2, boards_cut=1)
    monkeypatch.setattr(queries, "shop_summary", lambda shop: busy)
    page = visible_text(visitor.get("/"))
    for part in (
        "1 offcut on the rack 1.00 bd ft of wood that is already paid for.",
        "1,086 tags hang on the rack",
        "3 boards are under way",
        "1 piece lies there now",
        "4 labels to print",
        "2 boards set aside, to be cut",
        "1 board cut, to be finished",
    ):
        assert part in page, part


def test_each_page_leads_to_all_places_and_says_where_one_is(visitor: HttpClient) -> None:
    page = visitor.get("/settings").text
    for path in ("/saw", "/bench", "/rack", "/boards", "/labels", "/settings"):
        assert f'href="{path}"' in page
    assert 'href="/settings" aria-current="page"' in page


def test_the_foot_of_a_page_says_the_programs_version_not_the_pieces(visitor: HttpClient, shop: Shop) -> None:
    code = tagging.tag(shop, Offcut(inches("9"), inches("3"), inches("1"))).code
    for path in ("/", f"/t/{code}", f"/t/{code}/change"):
        assert f"Rackful {__version__}. It counts and calculates" in visible_text(visitor.get(path)), path
