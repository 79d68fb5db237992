"""The work of a fill: set-ups, thin and short pieces, glue-ups in parts, against plans calculated on paper."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.lengths import Length, inches, millimeters
from inventory.core.workshop import DEFAULT_WORKSHOP, Workshop
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.layout.operations import Flattening, GlueUpOperation, Operations, operations_for, split_into_parts
from inventory.orders.answer import fill_rack
from tests.fill.racks import LONG_GRAIN, ShopUnits, make_rack
from tests.solver.hand_written import lay_out_glue_up
from tests.verify import paper_plans as paper
from tests.verify.paper_plans import mm


def operations(fill: Fill, request: BoardRequest, workshop: Workshop = DEFAULT_WORKSHOP) -> Operations:
    return operations_for(paper.for_request(fill, request), workshop)


def glued(fill: Fill, request: BoardRequest, workshop: Workshop) -> GlueUpOperation:
    [glue_up] = operations(fill, request, workshop).glue_ups
    return glue_up


# --- set-ups, on paper ---------------------------------------------------------------------------


def test_strips_of_one_board_on_edge_need_the_fence_and_the_stop_once() -> None:
    set_ups = operations(paper.EDGE_FILL, paper.EDGE)
    assert (set_ups.fence, set_ups.stop, set_ups.resaw) == ((mm("43"),), (mm("325"),), ())


# 120 wide shared by two, one kerf of 3: 58.5 each at the saw. The part of 67 is ripped to 69.
def test_equal_strips_laid_flat_and_a_part_of_a_length_need_a_fence_each() -> None:
    set_ups = operations(paper.FACE_FILL, paper.FACE)
    assert (set_ups.fence, set_ups.stop) == ((mm("58.5"), mm("69")), (mm("325"),))


def test_a_length_that_is_glued_in_as_wide_as_it_is_needs_no_fence() -> None:
    whole = replace(paper.WHOLE_CUT, rips=(1,), strip_width=mm("88"), adds=mm("88"))
    fill = replace(paper.FACE_FILL, cuts=(replace(whole, offcut=replace(paper.OAK, width=mm("90"))),))
    assert operations(fill, paper.FACE).fence == ()


def test_a_piece_that_is_just_one_length_long_needs_no_stop() -> None:
    exact = replace(paper.EDGE_CUT, offcut=replace(paper.ASH, length=mm("325")), lengths_cut=1, rips=(3,))
    a_nanometre_more = replace(exact, offcut=replace(paper.ASH, length=Length(mm("325") + 1)))
    assert operations(replace(paper.EDGE_FILL, cuts=(exact,)), paper.EDGE).stop == ()
    assert operations(replace(paper.EDGE_FILL, cuts=(a_nanometre_more,)), paper.EDGE).stop == (mm("325"),)


# A leaf of 5 comes off the band saw 6 thick.
def test_leaves_of_an_stripe_need_the_band_saw_once() -> None:
    set_ups = operations(paper.BANDED_FILL, paper.BANDED_PLAN.request)
    assert (set_ups.fence, set_ups.resaw) == ((mm("43"),), (mm("6"),))


@pytest.mark.parametrize(("thickness", "resaws"), [("10.5", 1), ("10.4", 0)])
def test_a_strip_that_is_only_planed_down_to_a_leaf_is_not_resawn(thickness: str, resaws: int) -> None:
    # Rough on both faces, 3 come off: 7.5 hold the leaf of 6 and a kerf of 1.5, 7.4 do not.
    thin = replace(paper.STRIPE_CUT, offcut=replace(paper.CHERRY_STRIPE, thickness=mm(thickness)), rips=(3,))
    fill = replace(paper.EDGE_FILL, cuts=(paper.EDGE_CUT, thin))
    assert len(operations(fill, paper.BANDED_PLAN.request).resaw) == resaws


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("grain", LONG_GRAIN)
def test_the_fence_stands_where_the_marked_pieces_say(seed: int, grain: Grain) -> None:
    rack = make_rack(seed, 60, ShopUnits.MIXED)
    thickness = inches("1 1/2") if grain is Grain.EDGE else inches("1/2")
    request = BoardRequest(inches("11"), inches("8"), thickness, grain)
    fills = fill_rack(rack, request).fills
    assert fills
    for fill in fills:
        marked = [piece.marked for piece in lay_out_glue_up(fill, request).pieces]
        ripped = {
            length.ripped
            for piece in marked
            for length in piece.lengths
            if grain is Grain.EDGE or length.ripped < piece.offcut.width
        }
        set_ups = operations(fill, request)
        assert set(set_ups.fence) == ripped
        assert len(set_ups.stop) == any(piece.offcut.length > request.glue_up.strip_length for piece in marked)


# --- thin and short ------------------------------------------------------------------------------


def test_the_thinnest_piece_at_the_saw_is_a_strip_or_the_stock_itself() -> None:
    assert operations(paper.EDGE_FILL, paper.EDGE).thinnest == mm("23")
    thick = replace(paper.EDGE_CUT, offcut=replace(paper.ASH, thickness=mm("60")))
    assert operations(replace(paper.EDGE_FILL, cuts=(thick,)), paper.EDGE).thinnest == mm("43")


def test_lengths_and_offcuts_under_12_inches_are_named() -> None:
    fine = operations(paper.EDGE_FILL, paper.EDGE)
    assert (fine.short_lengths, fine.short_offcuts) == ((), ())
    # 12 in are 304.8 mm; a board of 275 has lengths of 300.
    short = replace(paper.EDGE, length=mm("275"))
    assert operations(paper.EDGE_FILL, short).short_lengths == (mm("300"),)
    just = Length(inches("12") - short.allowances.end_trim)
    assert operations(paper.EDGE_FILL, replace(short, length=just)).short_lengths == ()
    assert operations(paper.EDGE_FILL, replace(short, length=Length(just - 1))).short_lengths == (inches("12") - 1,)
    small = replace(paper.EDGE_CUT, offcut=replace(paper.ASH, length=mm("304")))
    assert operations(replace(paper.EDGE_FILL, cuts=(paper.EDGE_CUT, small)), short).short_offcuts == (paper.ASH.tag,)


# --- the planer ----------------------------------------------------------------------------------


# Five strips of 20 glue up 100 wide; the board is 97.
@pytest.mark.parametrize(
    ("planer", "flattening", "parts"),
    [
        ("100", Flattening.WHOLE, (5,)),
        ("99.9", Flattening.AFTER_TRIMMING, (5,)),
        ("97", Flattening.AFTER_TRIMMING, (5,)),
        ("96.9", Flattening.IN_PARTS, (3, 2)),
        ("60", Flattening.IN_PARTS, (3, 2)),
        ("59.9", Flattening.IN_PARTS, (2, 2, 1)),
        ("20", Flattening.IN_PARTS, (1, 1, 1, 1, 1)),
        ("19.9", Flattening.OTHER_METHOD, (5,)),
    ],
)
def test_a_glue_up_wider_than_the_planer_is_made_in_parts(
    planer: str, flattening: Flattening, parts: tuple[int, ...]
) -> None:
    found = glued(paper.EDGE_FILL, paper.EDGE, replace(DEFAULT_WORKSHOP, planer_width=mm(planer)))
    assert (found.flattening, found.parts, found.width) == (flattening, parts, mm("100"))
    assert found.strips == 5


def test_the_parts_follow_the_strips_as_they_are_laid() -> None:
    # 56.5, 56.5 and the part of 67; no two of them fit a planer of 115 once the wide one lies between.
    workshop = replace(DEFAULT_WORKSHOP, planer_width=mm("115"))
    assert glued(paper.FACE_FILL, paper.FACE, workshop).parts == (2, 1)
    laid = [[mm("56.5"), mm("67"), mm("56.5")]]
    [found] = operations_for(paper.FACE_FILL, workshop, laid).glue_ups
    assert found.parts == (1, 1, 1)


# --- the glue ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rate", "minutes", "at_once"), [("3", "5", 16), ("1", "2.5", 3), ("0.5", "1", 2), ("2", "0.9", 2)]
)
def test_one_spread_covers_the_glue_lines_of_its_open_time_and_one_strip_more(
    rate: str, minutes: str, at_once: int
) -> None:
    assert (
        replace(DEFAULT_WORKSHOP, spread_rate=Fraction(rate), open_time=Fraction(minutes)).max_strips_per_spread
        == at_once
    )


@pytest.mark.parametrize(
    ("lines", "parts", "glue_spreads"),
    [
        (4, (5,), 1),
        (3, (3, 2), 3),  # two parts, then both together
        (2, (3, 2), 3),
        (1, (2, 2, 1), 5),  # two pairs, then two of the three together, then all
    ],
)
def test_more_strips_than_one_spread_covers_are_glued_in_stages(
    lines: int, parts: tuple[int, ...], glue_spreads: int
) -> None:
    workshop = replace(DEFAULT_WORKSHOP, spread_rate=Fraction(lines), open_time=Fraction(1))
    found = glued(paper.EDGE_FILL, paper.EDGE, workshop)
    assert (found.parts, found.glue_spreads, found.exceeds_spread) == (parts, glue_spreads, len(parts) > 1)


def brute_fewest(widths: tuple[int, ...], most_width: int, most_strips: int) -> int | None:
    """The fewest parts, tried one after the other from the last strip to the first."""
    fewest: list[int | None] = [0]
    for end in range(1, len(widths) + 1):
        ways = [
            before + 1
            for start in range(max(0, end - most_strips), end)
            if (before := fewest[start]) is not None and sum(widths[start:end]) <= most_width
        ]
        fewest.append(min(ways, default=None))
    return fewest[-1]


@given(st.lists(st.integers(1, 9), min_size=1, max_size=9).map(tuple), st.integers(1, 30), st.integers(2, 5))
def test_no_fewer_parts_would_do(widths: tuple[int, ...], most_width: int, most_strips: int) -> None:
    parts = split_into_parts(widths, most_width, most_strips)
    assert (None if parts is None else len(parts)) == brute_fewest(widths, most_width, most_strips)
    if parts is not None:
        assert sum(parts) == len(widths)
        places = [sum(parts[:number]) for number in range(len(parts) + 1)]
        heaviest = max(sum(widths[start:end]) for start, end in pairwise(places))
        assert heaviest <= most_width
        assert max(parts) <= most_strips
        narrower = split_into_parts(widths, heaviest - 1, most_strips)
        assert narrower is None or len(narrower) > len(parts)


# --- several glue-ups ----------------------------------------------------------------------------

# 24 in by 12 in, slices 1 5/8 in long from panels planed to 1 1/2 in: 24 1/8 / 1 1/2 is 17 rows, 9 and 8 in two panels.
END = BoardRequest(
    inches("24"),
    inches("12"),
    inches("1 1/2"),
    Grain.END,
    fills=1,
    panel=PanelSpec(Grain.EDGE, 2, inches("1 1/2")),
)


def test_an_end_grain_board_is_glued_twice_and_its_slices_have_a_stop_of_their_own() -> None:
    [fill, *_] = fill_rack(make_rack(1, 150, ShopUnits.SIXTEENTHS), END).fills
    found = operations(fill, END)
    assert found.fence == (inches("1 5/8"),)
    # Nine slices and eight kerfs, eight and seven, an inch of trim each; then the slice itself.
    assert found.stop == (inches("1 5/8"), inches("14 7/8"), inches("16 5/8"))
    first, second, rows = found.glue_ups
    assert (first.flattening, second.flattening, rows.flattening) == (
        Flattening.WHOLE,
        Flattening.WHOLE,
        Flattening.END_GRAIN,
    )
    # 17 rows are one more than a spread covers: two parts, then both together. Their sides are trimmed again.
    assert (rows.parts, rows.width, rows.glue_spreads, rows.exceeds_spread) == ((9, 8), inches("12 1/8"), 3, True)
    assert found.glue_spreads == first.glue_spreads + second.glue_spreads + 3


def test_each_board_of_a_batch_is_a_glue_up_of_its_own() -> None:
    request = BoardRequest(inches("16"), inches("10"), inches("1 1/2"), count=3, fills=1)
    [fill, *_] = fill_rack(make_rack(2, 200, ShopUnits.SIXTEENTHS), request).fills
    glue_ups = operations(fill, request).glue_ups
    assert len(glue_ups) == 3
    assert sum(each.strips for each in glue_ups) == fill.strips
    assert all(each.width >= inches("10 1/8") for each in glue_ups)


def test_leaves_are_counted_where_a_glue_up_has_stripes() -> None:
    bands = (FieldBand(), StripeBand((), 4, inches("1/8")), FieldBand())
    request = BoardRequest(inches("16"), inches("10"), inches("1 1/2"), bands=bands, fills=1)
    [fill, *_] = fill_rack(make_rack(3, 120, ShopUnits.SIXTEENTHS), request).fills
    [glue_up] = operations(fill, request).glue_ups
    assert glue_up.strips == sum(cut.glued_strips for cut in fill.cuts)
    assert glue_up.width == fill.filled_width


def test_a_millimeter_shop_has_its_own_planer() -> None:
    assert glued(paper.EDGE_FILL, paper.EDGE, Workshop(planer_width=millimeters("60"))).parts == (3, 2)
