"""Bands, batches and panels laid out: each band holds its own wood, near to its width; numbers and letters run on."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product
from random import Random

import pytest

from inventory.core.lengths import Length, inches
from inventory.cutting.bands import Band, FieldBand, StripeBand, band_widths, mirrored
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.layout.arrangement import arrange, min_same_piece_neighbors
from inventory.layout.band_shares import share_by_count, share_by_width
from inventory.layout.end_grain_rows import sliced_boards
from inventory.layout.positions import Strip
from tests.fill.banded import FLAT, PLAIN, STRIPED, first_fill
from tests.solver.hand_written import DAY, make_offcut

ASKED = [
    STRIPED,
    FLAT,
    PLAIN,
    replace(PLAIN, count=3),
    replace(PLAIN, grain=Grain.END, panel=PanelSpec(Grain.EDGE, 2)),
]


@pytest.mark.parametrize("asked", ASKED, ids=["edge bands", "face bands", "plain", "three boards", "end grain"])
def test_every_strip_that_a_glue_up_gets_has_its_place_and_its_number_once(asked: BoardRequest) -> None:
    fill, fill_layout = first_fill(asked)
    strips = fill_layout.strips
    assert [strip.number for strip in strips] == list(range(1, len(strips) + 1))
    given = sum(sum(share.strips for share in cut.shares) or cut.leaves or cut.strips for cut in fill.cuts)
    assert len(strips) == given
    assert len({(strip.offcut.tag, strip.piece, strip.nth) for strip in strips}) == given
    assert sorted(number for piece in fill_layout.pieces for number in piece.numbers) == list(range(1, given + 1))
    for layout in fill_layout.layouts:
        assert layout.width >= layout.request.width + asked.allowances.side_trim
        assert layout.strips[0].start == 0
        assert all(one.end == other.start for one, other in pairwise(layout.strips))


@pytest.mark.parametrize("asked", [STRIPED, FLAT], ids=["edge", "face"])
def test_each_band_holds_only_its_own_wood_in_the_order_requested(asked: BoardRequest) -> None:
    _, fill_layout = first_fill(asked)
    [layout] = fill_layout.layouts
    bands = [strip.band for strip in layout.strips]
    assert bands == sorted(bands)
    assert set(bands) == set(range(len(asked.bands)))
    for strip in layout.strips:
        assert strip.offcut.species in asked.bands[strip.band].species
        band = asked.bands[strip.band]
        if isinstance(band, StripeBand):
            assert strip.width == band.each
    assert [bands.count(number) for number in (1, 3)] == [2, 2]


def test_the_leaves_of_an_stripe_have_their_numbers_strip_by_strip() -> None:
    _, fill_layout = first_fill(STRIPED)
    [cherry] = [piece for piece in fill_layout.pieces if piece.offcut.species == "cherry"]
    assert [len(numbers) for numbers in cherry.numbers_by_strip] == [3, 1]
    assert sorted(cherry.numbers) == [strip.number for strip in fill_layout.strips if strip.band in (1, 3)]


def test_a_wood_of_two_fields_is_shared_out_as_near_to_their_widths_as_whole_strips_allow() -> None:
    _, fill_layout = first_fill(STRIPED)
    [layout] = fill_layout.layouts
    widths = band_widths(STRIPED.bands, STRIPED.width, STRIPED.allowances.side_trim)
    ash = [strip for strip in layout.strips if strip.offcut.species == "ash"]
    found = tuple(sum(strip.width for strip in ash if strip.band == band) for band in (0, 4))

    def off(sums: tuple[int, ...]) -> int:
        return sum((total - widths[band]) ** 2 for total, band in zip(sums, (0, 4), strict=True))

    ways = product((0, 1), repeat=len(ash))
    sums = [tuple(sum(s.width for s, w in zip(ash, way, strict=True) if w == side) for side in (0, 1)) for way in ways]
    assert off(found) == min(map(off, sums))


@pytest.mark.parametrize("seed", range(40))
def test_two_bands_of_one_wood_can_be_no_nearer_to_their_widths(seed: int) -> None:
    random = Random(seed)
    strips = [
        Strip(make_offcut("20", "1", "1", "ash", f"P{place}"), 1, 0, Length(random.randrange(190, 500) * 100))
        for place in range(random.randint(2, 8))
    ]
    first = random.randrange(1, sum(strip.width for strip in strips))
    widths = [Length(first), Length(sum(strip.width for strip in strips) - first)]

    def off(bands: list[list[Strip]]) -> int:
        return sum((sum(s.width for s in band) - w) ** 2 for band, w in zip(bands, widths, strict=True))

    bands = share_by_width(strips, widths)
    assert sorted(map(str, bands[0] + bands[1])) == sorted(map(str, strips))
    assert all(bands)
    ways = [way for way in product((0, 1), repeat=len(strips)) if len(set(way)) == 2]
    every = [[[s for s, w in zip(strips, way, strict=True) if w == side] for side in (0, 1)] for way in ways]
    assert off(bands) == min(map(off, every))


def test_bands_that_lie_opposite_each_other_get_like_strips_where_that_costs_nothing() -> None:
    strips = [Strip(make_offcut("20", "4", "1", "ash", tag), 1, nth, inches(width)) for tag, many, width in
              (("A", 4, "3/4"), ("B", 2, "1")) for nth in range(many)]  # fmt: skip
    left, right = share_by_width(strips, [inches("2 1/2")] * 2, [(0, 1)])
    assert sorted(strip.strip_class for strip in left) == sorted(strip.strip_class for strip in right)


def test_an_stripe_gets_so_many_strips_a_band_and_what_is_over_is_spare() -> None:
    strips = [Strip(make_offcut("20", "4", "1", "cherry", "A"), 1, nth, inches("1/4")) for nth in range(5)]
    bands, spare = share_by_count(strips, [2, 2])
    assert [len(band) for band in bands] == [2, 2]
    assert [strip.nth for strip in spare] == [4]


def test_bands_of_one_wood_side_by_side_are_filled_as_one() -> None:
    twice = replace(PLAIN, bands=(FieldBand(("ash",)), FieldBand(("ash",), 2)), width=inches("7"))
    _, fill_layout = first_fill(twice)
    [layout] = fill_layout.layouts
    alike = sum(one.letter == other.letter for one, other in pairwise(layout.strips))
    assert alike == max(0, min_same_piece_neighbors(Counter((strip.offcut.tag, 1) for strip in layout.strips).items()))
    assert {strip.band for strip in layout.strips} == {0, 1}


def test_more_bands_than_strips_leave_a_band_empty() -> None:
    bands: tuple[Band, ...] = mirrored((FieldBand(("ash",)), FieldBand(("walnut",), 6)))
    asked = BoardRequest(inches("18"), inches("8"), inches("3/4"), Grain.FACE, bands, fills=1, on=DAY)
    rack = [
        make_offcut("20", "3 1/2", "1", "ash", "AAAAAA1"),
        make_offcut("40", "3 3/4", "1", "walnut", "BBBBBB1"),
    ]
    _, fill_layout = first_fill(asked, rack)
    assert len({0, 1, 2} - {strip.band for strip in fill_layout.strips}) == 1


def test_letters_are_the_same_in_all_glue_ups_and_numbers_run_on() -> None:
    _, fill_layout = first_fill(replace(PLAIN, count=3))
    assert len(fill_layout.layouts) == 3
    for layout in fill_layout.layouts:
        assert layout.planned is not None
        for strip in layout.strips:
            [piece] = [piece for piece in fill_layout.pieces if piece.letter == strip.letter]
            assert (piece.offcut.tag, piece.marked.piece) == (strip.offcut.tag, strip.piece)
            assert strip.number in piece.numbers
    assert [piece.letter for piece in fill_layout.pieces] == list(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[: len(fill_layout.pieces)]
    )


def test_slices_of_all_panels_make_the_rows_and_every_second_is_turned() -> None:
    _, fill_layout = first_fill(replace(PLAIN, grain=Grain.END, panel=PanelSpec(Grain.EDGE, 2)))
    [board] = sliced_boards(fill_layout)
    text = [layout.planned for layout in board.panels]
    assert [each.panel for each in text if each] == [0, 1]
    assert [*board.rows_of(0), *board.rows_of(1)] == list(range(1, board.rows + 1))
    assert board.rows * board.depth >= PLAIN.length + PLAIN.allowances.side_trim
    assert (board.rows - 1) * board.depth < PLAIN.length + PLAIN.allowances.side_trim
    assert board.slice_length == PLAIN.thickness + PLAIN.allowances.flattening
    assert sum(board.end_trims) == board.length - PLAIN.length
    assert all((row in board.turned_rows) == (row % 2 == 0) for row in range(1, board.rows + 1))


def test_a_board_that_is_no_end_grain_has_no_slices() -> None:
    _, fill_layout = first_fill(PLAIN)
    assert sliced_boards(fill_layout) == ()


def test_the_order_does_not_hang_on_how_the_strips_come() -> None:
    strips = [Strip(make_offcut("20", "4", "1", "ash", f"P{nth % 4}"), 1, nth // 4, inches("3/4")) for nth in range(12)]
    assert arrange(strips) == arrange(strips[::-1])
