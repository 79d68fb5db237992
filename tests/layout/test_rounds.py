"""Boards by the dozen come in rounds, and identical glue-ups are listed once."""

from dataclasses import replace

import pytest

from inventory.core.lengths import inches
from inventory.layout import rounds as of_rounds
from inventory.layout.positions import FillLayout
from inventory.layout.rounds import group_identical, split_into_rounds
from inventory.layout.strip_layout import lay_out_fill
from inventory.orders.answer import fill_rack
from inventory.wording.steps import repeated_glue_up_text
from tests.fill.banded import PLAIN
from tests.solver.hand_written import make_offcut


@pytest.fixture(scope="module")
def fill_layout() -> FillLayout:
    """Six boards from a bundle of which one piece gives a board."""
    narrow = replace(PLAIN, length=inches("10"), width=inches("1"), thickness=inches("1"), count=6)
    request = replace(narrow, prefer=narrow.prefer[:1])
    piece = make_offcut("11", "1 5/32", "1 1/8", "ash", "AAAAAA1", count=6)
    [fill] = fill_rack([piece], request).fills
    return lay_out_fill(fill, request)


def test_few_boards_are_one_round(fill_layout: FillLayout) -> None:
    [only] = split_into_rounds(fill_layout)
    assert only.whole and only.label == "Boards 1 to 6"
    assert only.fill_layout.pieces == fill_layout.pieces and not only.earlier


def test_the_pieces_of_a_round_stand_by_their_letters_whatever_the_order_of_the_boards(fill_layout: FillLayout) -> None:
    [only] = split_into_rounds(replace(fill_layout, layouts=fill_layout.layouts[::-1]))
    assert only.fill_layout.pieces == fill_layout.pieces


def test_boards_that_are_glued_up_alike_are_reported_by_their_strips(fill_layout: FillLayout) -> None:
    [group] = group_identical(fill_layout.layouts)
    assert len(group) == 6
    assert repeated_glue_up_text(group[3]) == "Board 4: strip 4, in the same order."


def test_every_board_and_every_piece_is_in_one_round(fill_layout: FillLayout, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(of_rounds, "MAX_BOARDS_PER_ROUND", 4)
    first, second = split_into_rounds(fill_layout)
    assert (first.label, second.label) == ("Boards 1 to 4", "Boards 5 to 6")
    assert (first.glue_up, second.glue_up) == (0, 4)
    assert first.fill_layout.layouts + second.fill_layout.layouts == fill_layout.layouts
    assert first.fill_layout.pieces + second.fill_layout.pieces == fill_layout.pieces
    assert second.pieces_by_tag == {"AAAAAA1": 2} and not second.whole
