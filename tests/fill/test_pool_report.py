"""What each pool and accent of a fill gets, in one glue-up and in the panels of an end-grain board."""

from inventory.core.lengths import inches
from inventory.cutting.bands import AccentBand, FieldBand
from inventory.fill.pool_report import pools_of
from inventory.fill.request import BoardRequest, Grain, PanelWish
from inventory.orders.answer import fill_rack
from tests.solver.hand_written import DAY, an_offcut

RACK = [
    an_offcut("60", "6", "1", "ash", "AAAAAA1", count=8),
    an_offcut("60", "3", "1", "cherry", "BBBBBB1", count=4),
]
STRIPED = (
    FieldBand(("ash",)),
    AccentBand(("cherry",), 2, inches("1/4")),
    FieldBand(("ash",), 2),
    AccentBand(("cherry",), 1, inches("1/4")),
    FieldBand(("ash",)),
)


def test_a_board_without_bands_is_one_pool_that_gets_all() -> None:
    request = BoardRequest(inches("18"), inches("7"), inches("1"), fills=1, on=DAY)
    fill = fill_rack(RACK, request).fills[0]
    [pool] = pools_of(fill, request)
    assert (pool.bands, pool.is_accent, pool.cuts) == ((1,), False, fill.cuts)
    assert pool.asked == inches("7 1/8")
    assert pool.gets == fill.filled_width
    assert pool.over == fill.filled_width - inches("7 1/8")


def test_fields_of_the_same_wood_are_one_pool_and_like_accents_are_filled_together() -> None:
    request = BoardRequest(inches("18"), inches("7"), inches("1"), bands=STRIPED, fills=1, on=DAY)
    field, accent = pools_of(fill_rack(RACK, request).fills[0], request)
    assert (field.bands, accent.bands) == ((1, 3, 5), (2, 4))
    assert field.asked == inches("6 3/8")
    assert field.gets >= field.asked
    assert (accent.is_accent, accent.asked, accent.gets, accent.strips, accent.over) == (True, 3, 3, 3, 0)
    assert accent.pieces == 1
    assert {cut.offcut.species for cut in accent.cuts} == {"cherry"}
    assert {cut.offcut.species for cut in field.cuts} == {"ash"}


def test_the_panels_of_an_end_grain_board_are_told_together() -> None:
    request = BoardRequest(
        inches("12"), inches("7"), inches("1 1/2"), Grain.END, STRIPED, fills=1, on=DAY,
        panel=PanelWish(Grain.EDGE, 3, inches("1")),
    )  # fmt: skip
    fill = fill_rack(RACK, request).fills[0]
    told = pools_of(fill, request)
    like = {each.request: each.glue_ups for each in told}
    assert sum(like.values()) == len(fill.glue_ups) == 3
    for each in told:
        assert each.gets >= each.asked
        assert each.asked == each.glue_ups * (3 if each.is_accent else inches("6 3/8"))
