"""What each pool and stripe of a fill gets, in one glue-up and in the panels of an end-grain board."""

from inventory.core.lengths import inches
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.pool_report import pool_reports
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_rack
from tests.solver.hand_written import DAY, make_offcut

RACK = [
    make_offcut("60", "6", "1", "ash", "AAAAAA1", count=8),
    make_offcut("60", "3", "1", "cherry", "BBBBBB1", count=4),
]
STRIPED = (
    FieldBand(("ash",)),
    StripeBand(("cherry",), 2, inches("1/4")),
    FieldBand(("ash",), 2),
    StripeBand(("cherry",), 1, inches("1/4")),
    FieldBand(("ash",)),
)


def test_a_board_without_bands_is_one_pool_that_gets_all() -> None:
    request = BoardRequest(inches("18"), inches("7"), inches("1"), fills=1, on=DAY)
    fill = fill_rack(RACK, request).fills[0]
    [pool] = pool_reports(fill)
    assert (pool.bands, pool.is_stripe, pool.cuts) == ((1,), False, fill.cuts)
    assert pool.required == inches("7 1/8")
    assert pool.received == fill.filled_width


def test_fields_of_the_same_species_are_one_pool_and_identical_stripes_are_filled_together() -> None:
    request = BoardRequest(inches("18"), inches("7"), inches("1"), bands=STRIPED, fills=1, on=DAY)
    field, stripe = pool_reports(fill_rack(RACK, request).fills[0])
    assert (field.bands, stripe.bands) == ((1, 3, 5), (2, 4))
    assert field.required == inches("6 3/8")
    assert field.received >= field.required
    assert (stripe.is_stripe, stripe.required, stripe.received, stripe.strips) == (True, 3, 3, 3)
    assert len({(cut.offcut.tag, cut.piece) for cut in stripe.cuts}) == 1
    assert {cut.offcut.species for cut in stripe.cuts} == {"cherry"}
    assert {cut.offcut.species for cut in field.cuts} == {"ash"}


def test_the_panels_of_an_end_grain_board_are_stated_together() -> None:
    request = BoardRequest(
        inches("12"), inches("7"), inches("1 1/2"), Grain.END, STRIPED, fills=1, on=DAY,
        panel=PanelSpec(Grain.EDGE, 3, inches("1")),
    )  # fmt: skip
    fill = fill_rack(RACK, request).fills[0]
    reports = pool_reports(fill)
    like = {each.request: each.glue_ups for each in reports}
    assert sum(like.values()) == len(fill.glue_ups) == 3
    for each in reports:
        assert each.received >= each.required
        assert each.required == each.glue_ups * (3 if each.is_stripe else inches("6 1/2"))


def test_the_pools_of_a_single_panel_receive_its_strips() -> None:
    request = BoardRequest(
        inches("12"), inches("7"), inches("1 1/2"), Grain.END, STRIPED, fills=1, on=DAY,
        panel=PanelSpec(Grain.EDGE, 1, inches("1")),
    )  # fmt: skip
    [fill, *_] = fill_rack(RACK, request).fills
    field, stripe = pool_reports(fill)
    assert field.received >= field.required == inches("6 1/2")
    assert (stripe.received, stripe.required) == (3, 3)
