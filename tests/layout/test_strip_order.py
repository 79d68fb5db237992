"""The user's own order: any within the bands, kept in numbers and cuts; nothing else."""

from dataclasses import replace

import pytest

from inventory.core.lengths import Display
from inventory.layout.strip_layout import lay_out_fill
from inventory.layout.strip_order import InvalidOrder, StripOrder, flipped, moved, strip_order_of, turned
from inventory.wording.steps import glue_up_steps
from tests.fill.banded import PLAIN, STRIPED, first_fill
from tests.solver.hand_written import EDGE_BOARD, make_edge_fill

EDGE = lay_out_fill(make_edge_fill(), EDGE_BOARD)


def letters(order: StripOrder | None) -> str:
    [layout] = lay_out_fill(make_edge_fill(), EDGE_BOARD, order).layouts
    return "".join(strip.letter for strip in layout.strips)


def test_the_proposed_order_given_as_an_order_changes_nothing() -> None:
    assert lay_out_fill(make_edge_fill(), EDGE_BOARD, strip_order_of(EDGE)) == EDGE


def test_a_moved_strip_pushes_the_others_and_letters_stay() -> None:
    order = moved(strip_order_of(EDGE), 0, 0, 6)
    assert (letters(None), letters(order)) == ("ABABCBDAEBCBABA", "BABCBDAAEBCBABA")


def test_numbers_follow_the_strips_to_their_new_places() -> None:
    fill_layout = lay_out_fill(make_edge_fill(), EDGE_BOARD, moved(strip_order_of(EDGE), 0, 0, 6))
    [layout] = fill_layout.layouts
    assert [strip.number for strip in layout.strips] == list(range(1, 16))
    assert fill_layout.pieces[0].numbers_by_length == ((7, 2), (8, 13), (15,))
    assert layout.width == EDGE.layouts[0].width
    assert layout.strips[0].start == 0


def test_turning_and_flipping_are_reported_in_the_steps_and_undone_by_the_same() -> None:
    order = strip_order_of(EDGE)
    lying = flipped(turned(turned(order, 0, 3), 0, 7), 0, 7)
    [layout] = lay_out_fill(make_edge_fill(), EDGE_BOARD, lying).layouts
    steps = glue_up_steps(layout, Display())
    assert steps[1:3] == ("Turn strips 4 and 8 end for end.", "Turn strip 8 over, the other face up.")
    assert flipped(turned(turned(lying, 0, 3), 0, 7), 0, 7) == order


def test_a_strip_stays_within_its_band() -> None:
    fill, fill_layout = first_fill(STRIPED)
    order = strip_order_of(fill_layout)
    first_of_the_second = next(place for place, strip in enumerate(fill_layout.strips) if strip.band_group == 1)
    with pytest.raises(InvalidOrder) as refused:
        lay_out_fill(fill, STRIPED, moved(order, 0, first_of_the_second, 0))
    assert str(refused.value) == (
        "A strip can't leave its band: the board would no longer be the one that was asked for."
    )
    within = lay_out_fill(fill, STRIPED, moved(order, 0, first_of_the_second, first_of_the_second + 1))
    assert [strip.band for strip in within.strips] == [strip.band for strip in fill_layout.strips]


def test_strips_of_several_glue_ups_stay_in_theirs() -> None:
    asked = replace(PLAIN, count=2)
    fill, fill_layout = first_fill(asked)
    first, second = strip_order_of(fill_layout)
    with pytest.raises(InvalidOrder) as refused:
        lay_out_fill(fill, asked, ((*first[1:], second[0]), (first[0], *second[1:])))
    assert str(refused.value) == (
        "This order is not of just the strips of this glue-up. Let the order be proposed again."
    )
    with pytest.raises(InvalidOrder) as refused:
        lay_out_fill(fill, asked, (first,))
    assert str(refused.value) == "This order is for another number of glue-ups. Let the order be proposed again."


@pytest.mark.parametrize(("glue_up", "place", "to"), [(1, 0, 1), (0, 15, 0), (0, 0, 15), (0, -1, 0)])
def test_a_place_where_no_strip_lies_is_refused(glue_up: int, place: int, to: int) -> None:
    with pytest.raises(InvalidOrder) as refused:
        moved(strip_order_of(EDGE), glue_up, place, to)
    assert str(refused.value) == ("There is no strip in that place. Load the page again and choose one that it shows.")
