"""Boards by the dozen come in rounds, and those that are glued up alike are told once."""

from dataclasses import replace

import pytest

from inventory.core.lengths import inches
from inventory.layout import rounds as of_rounds
from inventory.layout.rounds import alike, rounds_of
from inventory.layout.strip_layout import LaidOut, lay_out_all
from inventory.orders.answer import fill_rack
from inventory.wording.steps import told_alike
from tests.fill.banded import PLAIN
from tests.solver.hand_written import an_offcut


@pytest.fixture(scope="module")
def laid() -> LaidOut:
    """Six boards from a bundle of which one piece gives a board."""
    narrow = replace(PLAIN, length=inches("10"), width=inches("1"), thickness=inches("1"), count=6)
    request = replace(narrow, prefer=narrow.prefer[:1])
    piece = an_offcut("11", "1 5/32", "1 1/8", "ash", "AAAAAA1", count=6)
    [fill] = fill_rack([piece], request).fills
    return lay_out_all(fill, request)


def test_few_boards_are_one_round(laid: LaidOut) -> None:
    [only] = rounds_of(laid)
    assert only.whole and only.words == "Boards 1 to 6"
    assert only.laid.pieces == laid.pieces and not only.before


def test_the_pieces_of_a_round_stand_by_their_letters_whatever_the_order_of_the_boards(laid: LaidOut) -> None:
    [only] = rounds_of(replace(laid, layouts=laid.layouts[::-1]))
    assert only.laid.pieces == laid.pieces


def test_boards_that_are_glued_up_alike_are_told_by_their_strips(laid: LaidOut) -> None:
    [group] = alike(laid.layouts)
    assert len(group) == 6
    assert told_alike(group[3]) == "Board 4: strip 4, in the same order."


def test_every_board_and_every_piece_is_in_one_round(laid: LaidOut, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(of_rounds, "MOST_BOARDS", 4)
    first, second = rounds_of(laid)
    assert (first.words, second.words) == ("Boards 1 to 4", "Boards 5 to 6")
    assert (first.glue_up, second.glue_up) == (0, 4)
    assert first.laid.layouts + second.laid.layouts == laid.layouts
    assert first.laid.pieces + second.laid.pieces == laid.pieces
    assert second.pieces_by_tag == {"AAAAAA1": 2} and not second.whole
