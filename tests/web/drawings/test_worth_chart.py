"""The picture of what a piece keeps of the worth of its wood (cutting model, section 9)."""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Unit, inches
from inventory.web.drawings.worth_chart import LENGTHS, WIDTHS, draw_worth, worth_share


def test_a_prime_piece_is_worth_all_of_its_wood_and_a_short_narrow_one_little() -> None:
    shop = Allowances()
    assert worth_share(inches("96"), inches("6"), shop) == 1
    # 250 + 750 · 6/96 = 296 and 500 + 500 · 1/6 = 583 thousandths, both rounded down.
    share = worth_share(inches("6"), inches("1"), shop)
    assert abs(share - Fraction(296 * 583, 10**6)) < Fraction(1, 10**6)


@pytest.mark.parametrize("unit", list(Unit))
def test_the_picture_has_a_cell_for_each_length_and_width_and_says_it_in_words(unit: Unit) -> None:
    drawn = ElementTree.fromstring(str(draw_worth(Allowances(), unit)))
    texts = [each.text or "" for each in drawn.iter("text")]
    cells = len(LENGTHS[unit]) * len(WIDTHS[unit])
    assert len(list(drawn.iter("rect"))) == cells
    # The caption, "width", and the heads of columns and rows stand beside the cells.
    assert len(texts) == 2 + len(LENGTHS[unit]) + len(WIDTHS[unit]) + cells
    # 2400 by 150 mm is a little less than 96 by 6 in.
    assert texts[-1] == ("100" if unit is Unit.INCH else "98")
    [description] = list(drawn.iter("desc"))
    assert (description.text or "").count("%") == cells
