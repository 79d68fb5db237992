"""Pages and command line say the same of how sure a fill is, each in its own words."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.core.lengths import inches
from inventory.cutting.costs import Preference
from inventory.fill.certainty import Certainty, certainty_of
from inventory.fill.request import BoardRequest
from inventory.orders.answer import fill_rack
from inventory.wording.certainty_text import certainty_phrase, certainty_sentence
from tests.solver.hand_written import DAY, make_offcut

ONLY_TIES = "Proven but for ties: the rack holds none better in what counts first here."


def test_only_ties_are_open_where_what_counts_first_is_at_its_bound() -> None:
    rack = [make_offcut("60", "4", "1", "ash", "AAAAAA1"), make_offcut("30", "5", "2 1/8", "ash", "AAAAAA2")]
    board = BoardRequest(inches("18"), inches("4"), inches("1"), prefer=(Preference.LEAST_WASTE,), fills=1, on=DAY)
    [fill] = fill_rack(rack, board).fills
    assert certainty_sentence(certainty_of(fill, DAY), best=True) == "Proven: the rack holds none better."
    tied = replace(fill, proven=False, bound=fill.loss)
    assert certainty_sentence(certainty_of(tied, DAY), best=True) == ONLY_TIES


@pytest.mark.parametrize(
    ("certainty", "sentence", "phrase"),
    [
        (Certainty(True, Fraction(0)), "Proven: none better with other offcuts.", "proven"),
        (Certainty(False, Fraction(0)), ONLY_TIES, "proven but for ties"),
        (Certainty(False, None), "Not proven: a better one might cost nothing of what matters here.", "not proven"),
        (
            Certainty(False, Fraction(1, 999)),
            "Not proven: at most 0.2 % from the best there can be.",
            "not proven, at most 0.2 % from the best",
        ),
    ],
)
def test_page_and_command_line_agree(certainty: Certainty, sentence: str, phrase: str) -> None:
    assert certainty_sentence(certainty, best=False) == sentence
    assert certainty_phrase(certainty) == phrase
