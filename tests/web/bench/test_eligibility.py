"""At the bench: which pieces may serve, which must, and one species or several."""

from __future__ import annotations

import re
from html import unescape

import pytest
from werkzeug.test import TestResponse

from inventory.shop import Shop
from tests.web.sample_rack import BOARD, CODES, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)


def tags_used(page: TestResponse) -> set[str]:
    """The sample rack's pieces of the options on the page."""
    return {name for name, code in CODES.items() if re.search(rf'href="/t/{code}"', page.text)}


def test_a_piece_that_is_left_out_is_in_no_option(visitor: HttpClient) -> None:
    assert "long" in tags_used(visitor.get(f"/bench?{BOARD}&species=ash&mix=free"))
    page = visitor.get(f"/bench?{BOARD}&mix=free&without=000-0011")
    assert page.status_code == 200
    assert "long" not in tags_used(page)


def test_a_piece_that_must_be_used_is_in_every_option(visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{BOARD}&mix=free&with=000+0022,+0000033&fills=1&prefer=fewest-pieces")
    assert {"short", "walnut"} <= tags_used(page)


def test_pieces_longer_than_asked_or_with_an_old_finish_stay_whole(visitor: HttpClient) -> None:
    assert "long" not in tags_used(visitor.get(f"/bench?{BOARD}&mix=free&longest=50"))
    assert "short" not in tags_used(visitor.get(f"/bench?{BOARD}&mix=free&faces=bare"))
    # 20 in is longer than 12 in: no piece here is short.
    assert tags_used(visitor.get(f"/bench?{BOARD}&short_work=no")) == tags_used(visitor.get(f"/bench?{BOARD}"))


def test_a_board_is_of_one_species_unless_mixing_is_ticked(visitor: HttpClient) -> None:
    one = visitor.get(f"/bench?{BOARD}")
    said = visible_text(one)
    assert "Other species that would do: walnut" in said or "Other species that would do: ash" in said
    assert re.search(r'href="/bench\?[^"]*species=(walnut|ash)', unescape(one.text))
    mixed = visitor.get(f"/bench?{BOARD}&mix=free")
    assert "Other species that would do" not in visible_text(mixed)
    assert 'name="mix" value="free" checked' in re.sub(r"\s+", " ", mixed.text)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("with=000-0011&without=0000011", '"000-0011" is under both with and without. Take it off one of them.'),
        ("longest=0", "longest is 0: no piece is so short. Type the length of the longest piece, or leave it out."),
        ("faces=shiny", 'faces can\'t be "shiny". Choose one of: any, bare, planed.'),
        ("mix=some", 'mix can\'t be "some". Choose one or free.'),
    ],
)
def test_a_demand_that_cannot_be_read_is_reported_beside_its_field(
    visitor: HttpClient, typed: str, sentence: str
) -> None:
    page = visitor.get(f"/bench?{BOARD}&{typed}")
    assert page.status_code == 422
    assert sentence in visible_text(page)
