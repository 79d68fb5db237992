"""What a set asks of the person and how its board will move: at the bench, on the board's page, on the cut sheet."""

from dataclasses import replace
from fractions import Fraction
from html import unescape

import pytest
from werkzeug.test import TestResponse

from inventory.core.workshop import Sawn
from inventory.layout.finished_board import finished_boards
from inventory.layout.operations import operations_for
from inventory.layout.strip_layout import lay_out_fill
from inventory.services.boards import filling, making
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from inventory.web.template_filters import nonbreaking
from inventory.wording.effort_text import (
    format_basis,
    format_boards,
    format_cutting,
    format_gluing,
    format_known_weights,
)
from tests.web.sample_rack import BOARD, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

ASKED = {"length": "18", "width": "10", "thickness": "1 1/2", "prefer": ["least-milling"], "fills": 1}


@pytest.fixture
def board(shop: Shop) -> BoardRecord:
    """A board of ash set aside in a shop with a small planer, a slow hand and flat-sawn stock."""
    tag_sample_rack(shop)
    shop.save_settings(
        shop.settings().changed(
            {"planer_width": "6", "spread_rate": "1", "open_time": "4", "sawn": "flat-sawn", "dampest": "60"}
        )
    )
    asked = filling.request(shop, ASKED | {"bands": [{"species": ["ash"]}]})
    return making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")


def text_of(page: TestResponse) -> str:
    return unescape(visible_text(page)).replace("\N{NO-BREAK SPACE}", " ")


def test_a_set_at_the_bench_says_its_set_ups_its_weight_and_how_it_moves(visitor: HttpClient, shop: Shop) -> None:
    tag_sample_rack(shop)
    page = text_of(visitor.get(f"/bench?{BOARD}&species=ash&prefer=least-waste&fills=1"))
    settings = shop.settings()
    asked = filling.request(
        shop,
        {
            "length": "18", "width": "6", "thickness": "1 1/2", "prefer": ["least-waste"], "fills": 1,
            "bands": [{"species": ["ash"]}],
        },
    )  # fmt: skip
    boards = finished_boards(filling.fill(shop, asked).fills[0], asked)
    # 18 × 6 × 1 1/2 in of white ash (0.60 at 12 %): 162 in³, 672 kg/m³.
    for text in (
        "Set-ups: rip fence 1 (1 5/8 in), crosscut stop 1 (19 in).",
        "Weight about 3.9 lb.",
        "From 35 % to 65 % humidity the width of 6 in grows by about 3/64 in if its strips are flat-sawn stock "
        "turned on edge (radial coefficient), by about 5/64 in if quarter-sawn (tangential).",
        *format_basis(boards, settings.workshop, settings.display),
    ):
        assert text in page
    for figure in ("Fence set-ups 1", "Stop set-ups 1", "Glue spread once", "Width moves by 3/64 to 5/64 in"):
        assert figure in page, figure
    assert "Resaw set-ups" not in page


def test_the_weight_of_some_boards_is_not_shown_as_that_of_all(shop: Shop) -> None:
    tag_sample_rack(shop)
    settings = shop.settings()
    asked = filling.request(shop, ASKED | {"width": "6", "bands": [{"species": ["ash"]}]})
    fill = filling.fill(shop, asked).fills[0]
    [known] = finished_boards(fill, asked)
    weights = [known, replace(known, shares=(("driftwood", Fraction(1)),))]
    assert format_known_weights(weights[:1], settings.display) == "about 3.9 lb"
    assert format_known_weights(weights, settings.display) == "about 3.9 lb where known"
    assert format_known_weights(weights[1:], settings.display) == "not known"


def test_the_board_s_page_and_its_cut_sheet_tell_the_same_in_this_shop_s_own_terms(
    visitor: HttpClient, shop: Shop, board: BoardRecord
) -> None:
    settings = shop.settings()
    assert settings.workshop.sawn is Sawn.FLAT
    laid = [[strip.width for strip in each.strips] for each in lay_out_fill(board.fill, board.request).layouts]
    operations = operations_for(board.fill, settings.workshop, laid)
    finished = finished_boards(board.fill, board.request)
    gluing = format_gluing(operations, settings.workshop, settings.display)
    assert len(gluing) == 1 and "the planer takes 6 in: glue it in 3 parts (strips 1 to " in gluing[0]
    boards = format_boards(finished, settings.workshop, settings.display)
    assert boards[1].startswith("From 35 % to 60 % humidity the width of 10 in grows by about ")
    assert ": flat-sawn stock turned on edge, radial coefficient. Quarter-sawn stock swaps them: " in boards[1]
    text = (
        *format_cutting(operations, settings.display),
        *gluing,
        *boards,
        *format_basis(finished, settings.workshop, settings.display),
    )
    for address in ("/boards/1", "/boards/1/sheet"):
        page = text_of(visitor.get(address))
        for sentence in text:
            assert sentence in page, (address, sentence)


def test_the_cautions_kept_with_a_board_are_those_of_the_shop_that_set_it_aside(board: BoardRecord) -> None:
    text = [each for each in board.fill.cautions if "planer (6 in)" in each or "one spread of glue" in each]
    assert text == [
        "A glue-up wider than the planer (6 in) is flattened another way or glued in parts that go through it.",
        "More strips than one spread of glue covers are glued in stages: here 5, by 4 minutes of open time at 1 strip "
        "a minute. The glue's own sheet governs.",
    ]


def test_a_set_stays_the_same_set_when_only_its_cautions_change(shop: Shop) -> None:
    tag_sample_rack(shop)
    asked = filling.request(shop, ASKED)
    before = filling.fill(shop, asked).fills[0]
    shop.save_settings(shop.settings().changed({"planer_width": "2"}))
    after = filling.find_option(shop, asked, filling.fill_key(before))
    assert after.cuts == before.cuts and after.cautions != before.cautions


def test_a_measure_or_a_share_never_breaks_over_two_lines() -> None:
    assert nonbreaking("35 % at 68 °F, 1 5/8 in or 41 mm, 8.3 lb") == (
        "35\N{NO-BREAK SPACE}% at 68\N{NO-BREAK SPACE}°F, 1\N{NO-BREAK SPACE}5/8\N{NO-BREAK SPACE}in or "
        "41\N{NO-BREAK SPACE}mm, 8.3\N{NO-BREAK SPACE}lb"
    )
