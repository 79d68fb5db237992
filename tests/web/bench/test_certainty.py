"""What the answer's page says of how sure a set of offcuts is."""

from __future__ import annotations

from dataclasses import replace

from inventory.core.lengths import inches
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest
from inventory.orders.answer import fill_rack
from inventory.web.bench.answer_view import certainty_text
from tests.solver.hand_written import DAY, make_offcut


def test_only_ties_are_open_where_what_counts_first_is_at_its_bound() -> None:
    rack = [make_offcut("60", "4", "1", "ash", "AAAAAA1"), make_offcut("30", "5", "2 1/8", "ash", "AAAAAA2")]
    board = BoardRequest(inches("18"), inches("4"), inches("1"), prefer=(Preference.LEAST_WASTE,), fills=1, on=DAY)
    [fill] = fill_rack(rack, board).fills
    assert certainty_text(fill, 0, DAY) == "Proven: the rack holds none better."
    tied = replace(fill, proven=False, bound=fill.loss)
    assert certainty_text(tied, 0, DAY) == "Proven but for ties: the rack holds none better in what counts first here."
