"""The part of a length of a face-grain glue-up: how wide it may be offered (cutting model, section 5)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.alternatives import PartialAlternatives, glue_up_spec
from inventory.cutting.face_grain import partial_alternatives
from inventory.cutting.rack_table import build_table

SHOP = replace(
    Allowances(),
    rip_kerf=millimeters("3"),
    crosscut_kerf=millimeters("3"),
    edge_jointing=millimeters("1"),
    flattening=millimeters("0"),
    end_trim=millimeters("0"),
    side_trim=millimeters("0"),
    max_strip_width=millimeters("100"),
    min_strip_width=millimeters("20"),
)


def _partial_alternatives(board_width: Length) -> PartialAlternatives | None:
    """What a planed piece of two lengths, each of which adds 80 mm, offers to a board 300 mm long."""
    piece = Offcut(millimeters("603"), millimeters("82"), millimeters("20"), face_a=Face.PLANED, face_b=Face.PLANED)
    glue_up = glue_up_spec(millimeters("300"), board_width, millimeters("20"), SHOP)
    return partial_alternatives(build_table([piece]).arrays(SHOP, date(2030, 1, 31)), glue_up)


def test_a_part_is_as_wide_as_a_length_gives_where_the_board_wants_more() -> None:
    found = _partial_alternatives(millimeters("300"))

    assert found is not None
    assert found.take.tolist() == [0, 1]
    assert found.most.tolist() == [millimeters("80"), millimeters("80")]


def test_a_part_is_offered_no_wider_than_what_its_own_piece_leaves_open() -> None:
    found = _partial_alternatives(millimeters("110"))

    assert found is not None
    assert found.take.tolist() == [0, 1]
    assert found.most.tolist() == [millimeters("80"), millimeters("30")]


def test_where_whole_lengths_leave_less_open_than_the_narrowest_strip_that_strip_is_offered_beside_them() -> None:
    found = _partial_alternatives(Length(millimeters("80") + 1))

    assert found is not None
    assert found.take.tolist() == [0, 1]
    assert found.most.tolist() == [millimeters("80"), millimeters("20")]


def test_where_whole_lengths_fill_the_board_nothing_is_offered_beside_them() -> None:
    found = _partial_alternatives(millimeters("80"))

    assert found is not None
    assert found.take.tolist() == [0]


def test_a_board_narrower_than_the_narrowest_strip_is_offered_that_strip() -> None:
    found = _partial_alternatives(Length(millimeters("20") - 1))

    assert found is not None
    assert (found.least.tolist(), found.most.tolist()) == ([millimeters("20")], [millimeters("20")])
