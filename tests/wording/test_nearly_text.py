"""What a smaller allowance would bring, in one sentence that names what the preference counts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.lengths import Display, Length, Nearest, inches, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan import Nearly
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from inventory.wording.nearly_text import nearly_sentence

BOARD = BoardRequest(inches("18"), inches("6"), inches("3/4"), Grain.FACE, prefer=(Preference.LEAST_WASTE,), fills=1)
THICK = Offcut(inches("19"), inches("7"), inches("2"), "ash", Face.ROUGH, Face.ROUGH, tag="THICK")
# 81 in³ of the 266 in³ that leave the rack: 30 %.
[FILL] = fill_rack([THICK], BOARD).fills
NEARLY = Nearly("flattening", inches("1/16"), ("THIN",), 1, FILL.loss // 2, 0.609, 2)
INCHES = Display()


def sentence(nearly: Nearly = NEARLY, prefer: Preference = Preference.LEAST_WASTE, display: Display = INCHES) -> str:
    return nearly_sentence(nearly, replace(FILL, prefer=prefer), BOARD.on, display)


def test_one_piece_or_several_serve_or_none_is_spoken_of() -> None:
    assert sentence() == "With 1/16 in to flatten, 1 more piece serves: 61 % yield instead of 30 %."
    several = replace(NEARLY, pieces_more=7)
    assert sentence(several) == "With 1/16 in to flatten, 7 more pieces serve: 61 % yield instead of 30 %."
    assert sentence(replace(NEARLY, pieces_more=0)) == "With 1/16 in to flatten: 61 % yield instead of 30 %."


def test_each_allowance_has_its_purpose_and_the_shop_s_unit() -> None:
    trimmed = replace(NEARLY, allowance="end_trim", to=millimeters("12.5"))
    metric = Display(Nearest.TENTH_MM)
    assert sentence(trimmed, display=metric).startswith("With 12.5 mm to trim off the ends, 1 more piece serves: ")
    assert sentence(replace(NEARLY, allowance="side_trim")).startswith("With 1/16 in to trim off the sides, ")


def test_where_pieces_count_first_the_sentence_counts_pieces() -> None:
    nearly = replace(NEARLY, pieces_more=0, pieces=1)
    assert sentence(nearly, Preference.FEWEST_PIECES) == "With 1/16 in to flatten: 1 offcut instead of 1."


@pytest.mark.parametrize(("cost", "percent"), [(500, "50"), (895, "10"), (900, "10"), (1, "99")])
def test_of_what_is_planed_away_the_sentence_says_how_much_less_and_never_too_much(cost: int, percent: str) -> None:
    [milled] = [replace(cut, milling=1000) for cut in FILL.cuts]
    fill = replace(FILL, prefer=Preference.LEAST_MILLING, cuts=(milled,))
    said = nearly_sentence(replace(NEARLY, cost=cost, pieces_more=0), fill, BOARD.on, INCHES)
    assert said == f"With 1/16 in to flatten: {percent} % less to plane away, 61 % yield instead of 30 %."


def test_the_fill_that_is_compared_with_has_the_yield_that_is_named() -> None:
    assert round(FILL.yield_share, 4) == round(81 / 266, 4)
    assert Length(FILL.loss) == 19 * 7 * 2 * 254**3 // 1000
