"""At the bench: what a smaller allowance would bring, one tap away, and what to buy where the rack falls short."""

import re
from dataclasses import replace
from html import unescape

import pytest

from inventory.core.lengths import inches
from inventory.services.rack import tagging
from inventory.shop import Shop
from tests.web.sample_rack import LONG_ASH
from tests.web.visitor import HttpClient, visible_text

BOARD = "length=18&width=6&thickness=3/4&grain=face&prefer=least-waste&fills=1"


@pytest.fixture
def rack(shop: Shop) -> None:
    sizes = {"length": inches("19"), "width": inches("6 3/8")}
    tagging.tag(shop, replace(LONG_ASH, **sizes, thickness=inches("2")))
    tagging.tag(shop, replace(LONG_ASH, **sizes, thickness=inches("13/16")))


@pytest.mark.usefixtures("rack")
def test_half_an_allowance_that_helps_is_one_tap_away(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}")
    sentence = "With 1/16 in to flatten, 1 more piece serves: 82 % yield instead of 33 %."
    assert sentence in visible_text(page)
    [link] = re.findall(r'<p class="nearly">.*?<a href="([^"]+)">Search with that</a>', page.text, re.DOTALL)

    again = visitor.get(unescape(link))

    assert "82 % yield, 1 offcut" in visible_text(again)
    assert "1 allowance changed" in visible_text(again)


def test_what_to_buy_stands_beside_what_is_missing(visitor: HttpClient) -> None:
    page = visible_text(visitor.get(f"/bench?{BOARD}&species=ash"))
    # 3/4 in and 1/8 in to flatten: 13/16 in is too thin, 1 1/16 in is not.
    assert re.search(r"To buy \d\.\d board feet of 5/4 ash \(1 1/16 in surfaced\), at least 19 in long", page)
