"""What became of the wood, on its pages: yields, the offcuts of a board, and the card that goes with it."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser

from inventory.services import filling, making
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from tests.services.fills import cut
from tests.web.a_rack_to_fill import CODES, tag_the_rack
from tests.web.browsing import DESK, PHONE, SMALL_PHONE, axe_findings, opened, too_small, too_wide
from tests.web.visiting import Visitor, words_of

ASKED = {"length": "18", "width": "10", "thickness": "1 1/2", "prefer": ["least-milling"], "fills": 1}


@pytest.fixture
def board(shop: Shop) -> BoardRecord:
    """A board of ash and walnut, cut and finished."""
    tag_the_rack(shop)
    asked = filling.request(shop, ASKED | {"bands": [{"species": ["ash"], "weight": 3}, {"species": ["walnut"], "weight": 1}]})
    aside = making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")
    done = cut(shop, aside)
    return making.finish(shop, done.id, done.version)


def test_no_wood_yet_leads_to_the_saw(visitor: Visitor) -> None:
    assert "No wood was tagged yet" in words_of(visitor.get("/boards/yield"))


def test_wood_on_the_rack_alone_has_no_yield(visitor: Visitor, shop: Shop) -> None:
    tag_the_rack(shop)
    told = words_of(visitor.get("/boards/yield"))
    assert "0 % of all wood ever tagged, 0.00 bd ft of 5.51 bd ft, is in finished boards." in told
    assert "No board is finished yet." in told


def test_yields_are_told_by_month_and_by_board(visitor: Visitor, board: BoardRecord) -> None:
    assert 'href="/boards/yield"' in visitor.get("/boards").text
    told = words_of(visitor.get("/boards/yield"))
    # 18 × 10 × 1 1/2 in = 270 in³ = 1.875 bd ft.
    assert "34 % of all wood ever tagged, 1.87 bd ft of 5.51 bd ft, is in finished boards." in told
    assert "1 finished board: 1.87 bd ft made of " in told
    assert told.count("As a table") == 2
    assert "Stair tread" in told
