"""What the answer's page says of how sure a set of offcuts is."""

from __future__ import annotations

from dataclasses import replace

from inventory.cutting.cost import Preference
from inventory.fill import fill_rack
from inventory.fill.request import BoardRequest
from inventory.measures import inches
from inventory.web.shown import how_sure
from tests.fill.hand_written import DAY, an_offcut


def test_only_ties_are_open_where_what_counts_first_is_at_its_bound() -> None:
    rack = [an_offcut("60", "4", "1", "ash", "AAAAAA1"), an_offcut("30", "5", "2 1/8", "ash", "AAAAAA2")]
    board = BoardRequest(inches("18"), inches("4"), inches("1"), prefer=(Preference.LEAST_WASTE,), fills=1, on=DAY)
    [fill] = fill_rack(rack, board).fills
    assert how_sure(fill, 0, DAY) == "Proven: the rack holds none better."
    tied = replace(fill, proven=False, bound=fill.loss)
    assert how_sure(tied, 0, DAY) == "Proven but for ties: the rack holds none better in what counts first here."
