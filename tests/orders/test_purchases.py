"""What to buy where the rack falls short: thickness, length and amount as wood is sold (cutting model, section 10)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.plan import Purchase, Shortfall
from inventory.fill.plan_document import plan_document
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_rack
from inventory.orders.purchases import STOCK
from tests.fill.racks import METRIC_SHOP

ASH = (FieldBand(("ash",)),)
BOARD = BoardRequest(inches("18"), inches("12"), inches("1 1/2"), bands=ASH)


def shortfall_of(request: BoardRequest, *rack: Offcut) -> Shortfall:
    shortfall = fill_rack(rack, request).shortfall
    assert shortfall is not None
    return shortfall


def bought(request: BoardRequest, *rack: Offcut) -> Purchase:
    [purchase] = shortfall_of(request, *rack).to_buy
    return purchase


def cubic_millimeters(*sizes: Fraction) -> int:
    """The volume of a box measured in inches."""
    volume = Fraction(25_400_000**3, 10**18)
    for size in sizes:
        volume *= size
    return int(volume)


# Hardwood surfaced on two sides: NHLA standard thicknesses, as in STOCK.
NHLA = {"4/4": "13/16", "5/4": "1 1/16", "6/4": "1 5/16", "8/4": "1 3/4", "10/4": "2 1/4", "12/4": "2 3/4"}


def test_thicknesses_in_quarters_are_those_of_the_nhla() -> None:
    named = {f"{4 * each.nominal // inches('1')}/4": each.delivered for each in STOCK[Unit.INCH]}
    assert named == {name: inches(text) for name, text in (NHLA | {"16/4": "3 3/4"}).items()}
    assert all(each.faces is Face.PLANED for each in STOCK[Unit.INCH])


def test_strips_of_an_edge_grain_board_are_ripped_from_4_4() -> None:
    purchase = bought(BOARD)
    # 12 1/8 in are 15 strips of 13/16 in, each 1 5/8 in wide. Boards of 6 in give 3 of them; four such boards and
    # one as wide as 3 strips, 2 kerfs and a jointed edge: 5 5/32 in. Each is 19 in long and a kerf.
    assert (purchase.quarters, purchase.delivered, purchase.length) == ("4/4", inches("13/16"), inches("19"))
    assert purchase.width == inches("1 21/32")
    assert purchase.volume == cubic_millimeters(Fraction(153, 8), 24 + Fraction(165, 32), Fraction(1))
    # 3.87 board feet, rounded up.
    assert purchase.amount == Fraction(39, 10)
    assert (purchase.band, purchase.species) == (0, ("ash",))


def test_only_what_is_missing_is_bought() -> None:
    # Of 3 strips across and two lengths come 6 strips of 3/4 in; of 12 1/8 in 7 5/8 in are missing, 10 strips.
    piece = Offcut(inches("39"), inches("6"), inches("3/4"), "ash", Face.PLANED, Face.PLANED, tag="A")
    shortfall = shortfall_of(BOARD, piece)
    assert shortfall.missing == inches("7 5/8")
    [purchase] = shortfall.to_buy
    # Three boards of 6 in give 9; the last strip takes its own width and a jointed edge.
    assert purchase.volume == cubic_millimeters(Fraction(153, 8), 18 + Fraction(53, 32), Fraction(1))


@pytest.mark.parametrize(("quarters", "surfaced"), NHLA.items())
def test_a_face_grain_board_is_bought_in_the_thinnest_stock_that_leaves_it_thick_enough(
    quarters: str, surfaced: str
) -> None:
    allowances = Allowances().with_value("flattening", Length(0))
    as_thick = replace(BOARD, grain=Grain.FACE, thickness=inches(surfaced), allowances=allowances)
    assert bought(as_thick).quarters == quarters
    thicker = replace(as_thick, thickness=Length(inches(surfaced) + 1))
    assert bought(thicker).quarters != quarters


def test_no_usual_thickness_leaves_more_than_3_3_4_in() -> None:
    thick = replace(BOARD, grain=Grain.FACE, thickness=Length(inches("3 5/8") + 1))
    assert shortfall_of(thick).to_buy == ()
    assert bought(replace(thick, thickness=inches("3 5/8"))).quarters == "16/4"


def test_a_metric_shop_buys_sawn_thicknesses_by_the_cubic_meter() -> None:
    request = BoardRequest(
        millimeters("450"), millimeters("300"), millimeters("38"), Grain.FACE, ASH, allowances=METRIC_SHOP,
        unit=Unit.MILLIMETER,
    )  # fmt: skip
    purchase = bought(request)
    # 38 + 3 mm to flatten, 1.5 mm off each rough face: 44 mm, so 50 mm. 303 mm are 148 + 148 + 7 mm, jointed 1 mm on
    # both edges; nothing narrower than 20 mm is glued in. Each is 475 mm long and a kerf of 3 mm.
    assert (purchase.quarters, purchase.thickness, purchase.length) == (None, millimeters("50"), millimeters("475"))
    assert purchase.volume == 478 * (150 + 150 + 22) * 50
    assert purchase.amount == Fraction(8, 1000)


def test_each_pool_and_stripe_that_is_short_has_its_own_purchase() -> None:
    bands = (FieldBand(("ash",)), StripeBand(("cherry",), 3, inches("1/4")), FieldBand(("ash",)))
    field, stripe = shortfall_of(replace(BOARD, bands=bands)).to_buy
    assert (field.band, field.species, stripe.band, stripe.species) == (0, ("ash",), 1, ("cherry",))
    # 13/16 in is two leaves of 1/4 in, so three leaves are two strips 1 5/8 in wide from one board 3 13/32 in wide.
    assert stripe.volume == cubic_millimeters(Fraction(153, 8), Fraction(109, 32), Fraction(1))


def test_panels_of_two_lengths_are_bought_for_each_by_its_own() -> None:
    request = replace(BOARD, grain=Grain.END, panel=PanelSpec(Grain.EDGE, 2, inches("1 1/2")))
    # 13 rows of 1 5/8 in, 7 and 6 of them, and their kerfs: panels of 12 1/8 in and 10 3/8 in, and the end trim. The
    # shorter one is milled in boards of 12 in.
    assert [each.length for each in shortfall_of(request).to_buy] == [inches("13 1/8"), inches("12")]


def test_nothing_shorter_than_a_machine_takes_is_bought() -> None:
    short = replace(BOARD, length=inches("4"))
    assert bought(short).length == short.allowances.shortest_machined


def test_no_board_is_sold_so_long_as_the_longest_that_can_be_asked_for() -> None:
    assert shortfall_of(replace(BOARD, length=millimeters("10000"))).to_buy == ()


def test_where_parts_only_compete_nothing_is_to_buy() -> None:
    # Ash for either, enough for one of them alone.
    bands = (FieldBand(("ash",)), StripeBand(("ash",), 1, inches("3/4")), FieldBand(("ash",)))
    piece = Offcut(inches("39"), inches("14"), inches("3/4"), "ash", Face.PLANED, Face.PLANED, tag="A")
    shortfall = shortfall_of(replace(BOARD, bands=bands), piece)
    assert (shortfall.shortages, shortfall.to_buy) == ((), ())


def test_json_has_board_feet_where_wood_is_sold_in_inches() -> None:
    [entry] = plan_document(fill_rack([], BOARD))["shortfall"]["to_buy"]
    assert entry == {
        "band": 0,
        "species": ["ash"],
        "quarters": "4/4",
        "thickness_mm": "25.4",
        "delivered_mm": "20.6375",
        "length_mm": "482.6",
        "width_mm": "42.06875",
        "volume_mm3": 9137644,
        "board_feet": 3.9,
    }
    metric = replace(BOARD, unit=Unit.MILLIMETER)
    [entry] = plan_document(fill_rack([], metric))["shortfall"]["to_buy"]
    assert (entry["quarters"], entry["thickness_mm"], entry["board_feet"]) == (None, "20", None)
