"""Plans computed by hand, and ways to plant a fault in them, for the tests of the verifier."""

from __future__ import annotations

from dataclasses import replace

from inventory.core.lengths import Length, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import FieldBand, StripeBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, Leftover
from inventory.fill.plan import Fill, Plan, PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain
from tests.fill.racks import METRIC_SHOP, ON


def mm(size: str) -> Length:
    return millimeters(size)


# --- by hand: edge grain ------------------------------------------------------------------------
# Board 300 × 97 × 40 mm: s = 43, ℓ = 325, w* = 100. Ash 1000 × 150 × 23, both faces rough: t = 23 − 3 = 20.
# Across: 3 strips need 3·43 + 2·3 = 135 of the 149 left after jointing, 4 would need 181. Lengths: 3 need 981.
# Five strips: 5·20 = 100. Two lengths of 325 are crosscut, ripped 3 and 2 times. Left: 1000 − 2·328 = 344 long,
# kept; 149 − 3·46 = 11 wide, not kept; 149 − 2·46 = 57 wide, kept.
# Loss: 3 450 000 − 344·150·23 − 325·57·23 = 3 450 000 − 1 186 800 − 426 075 = 1 837 125.
# Worth by length: 250 + 750·1000/2400 = 562; of 344, 357; of 325, 351. By width: 1000 of 150; of 57, 500 + 190 = 690.
# Milling: 2·325·150·(23 − 20) = 292 500. Milling area: 2·325·150·2 = 195 000.

EDGE = BoardRequest(
    mm("300"), mm("97"), mm("40"), Grain.EDGE, bands_of_species(["ash"]), (Preference.LEAST_WASTE,), 3, METRIC_SHOP, ON
)
ASH = Offcut(mm("1000"), mm("150"), mm("23"), "Ash", tag="ASH0001")
CHERRY = Offcut(mm("1000"), mm("150"), mm("23"), "cherry", tag="CHE0001")
EDGE_CUT = Cut(
    offcut=ASH,
    piece=1,
    lengths_cut=2,
    rips=(3, 2),
    strip_width=mm("43"),
    adds=mm("100"),
    loss=1_837_125,
    worth_lost=3_450_000 * 562 - 1_186_800 * 357 - 426_075 * 351 * 690 // 1000,
    milling=292_500,
    milling_area=195_000,
    leftovers=(
        Leftover(mm("344"), mm("150"), mm("23"), True),
        Leftover(mm("325"), mm("11"), mm("23"), False),
        Leftover(mm("325"), mm("57"), mm("23"), True),
    ),
)
EDGE_FILL = Fill(
    prefer=Preference.LEAST_WASTE,
    proven=True,
    bound=1_837_125,
    cuts=(EDGE_CUT,),
    board_volume=300 * 97 * 40,
    glue_ups=(PlannedGlueUp(0, 0, 0, EDGE),),
)
EDGE_PLAN = Plan(EDGE, (EDGE_FILL,))

# --- by hand: face grain ------------------------------------------------------------------------
# Board 300 × 177 × 20 mm: s = 23, ℓ = 325, w* = 180. Oak 700 × 120 × 25, planed: t = 25. One strip would be
# 118 wide, over 100; two share 120 − 3 − 4·1 = 113, so a length adds g = 113, in strips of 56.5. Two lengths need 653.
# One whole length leaves d = 67 for the part of a length, which uses 69 and leaves 120 − 69 − 3 = 48, kept; the
# 700 − 2·328 = 44 left of the length is not. Loss: 2 100 000 − 325·48·25 = 1 710 000. Every face is surfaced.
# Worth: of 700 × 120, 468 and 900; of the 390 000 of 325 × 48 × 25, 351 and 660.
# Milling: 2·325·120·(25 − 23) = 156 000.

FACE = BoardRequest(mm("300"), mm("177"), mm("20"), Grain.FACE, (), (Preference.LEAST_WASTE,), 3, METRIC_SHOP, ON)
OAK = Offcut(mm("700"), mm("120"), mm("25"), "oak", Face.PLANED, Face.PLANED, tag="OAK0001")
WHOLE_CUT = Cut(OAK, 1, 1, (2,), mm("56.5"), mm("113"), 0, 0, 0, 0, ())
PART_CUT = Cut(
    offcut=OAK,
    piece=1,
    lengths_cut=1,
    rips=(1,),
    strip_width=mm("67"),
    adds=mm("67"),
    loss=1_710_000,
    worth_lost=2_100_000 * 468 * 900 // 1000 - 390_000 * 351 * 660 // 1000,
    milling=156_000,
    milling_area=0,
    leftovers=(
        Leftover(mm("44"), mm("120"), mm("25"), False),
        Leftover(mm("325"), mm("48"), mm("25"), True),
    ),
    part=True,
)
FACE_FILL = Fill(
    prefer=Preference.LEAST_WASTE,
    proven=True,
    bound=1_710_000,
    cuts=(WHOLE_CUT, PART_CUT),
    board_volume=300 * 177 * 20,
    glue_ups=(PlannedGlueUp(0, 0, 0, FACE),),
)
FACE_PLAN = Plan(FACE, (FACE_FILL,))


# --- by hand: bands on edge ---------------------------------------------------------------------
# The edge-grain board with three stripes of 5 mm cherry in the middle: the ash field gets 97 − 15 + 3 = 85.
# Cherry 340 × 100 × 23, rough: t = 20. Leaves of a strip: (20 + 1.5) / (5 + 1 + 1.5) = 2. Three leaves need two strips,
# ripped from one length: 2·43 + 3 = 89 of 99. Left: 340 − 328 = 12 long, 99 − 2·46 = 7 wide, neither is kept.
# Loss: 340·100·23 = 782 000; its worth by length is 356, by width 833.
# Milling: 325·100·3 = 97 500. Milling area: 325·100·2 = 65 000. All five strips of ash as before, 100 ≥ 85.

BANDS = (FieldBand(("ash",)), StripeBand(("cherry",), 3, mm("5")), FieldBand(("ash",)))
CHERRY_STRIPE = Offcut(mm("340"), mm("100"), mm("23"), "cherry", tag="CHE0002")
STRIPE_CUT = Cut(
    offcut=CHERRY_STRIPE,
    piece=1,
    lengths_cut=1,
    rips=(2,),
    strip_width=mm("43"),
    adds=mm("15"),
    loss=782_000,
    worth_lost=782_000 * 356 * 833 // 1000,
    milling=97_500,
    milling_area=65_000,
    leftovers=(
        Leftover(mm("12"), mm("100"), mm("23"), False),
        Leftover(mm("325"), mm("7"), mm("23"), False),
    ),
    leaves=3,
    band=1,
)
BANDED = replace(EDGE, bands=BANDS)
BANDED_FILL = replace(
    EDGE_FILL,
    cuts=(EDGE_CUT, STRIPE_CUT),
    bound=1_837_125 + 782_000,
    glue_ups=(PlannedGlueUp(0, 0, 0, BANDED),),
)
BANDED_PLAN = Plan(BANDED, (BANDED_FILL,))


FOUR_STRIPS = replace(
    EDGE_CUT,
    rips=(3, 1),
    adds=mm("80"),
    loss=3_450_000 - 1_186_800 - 325 * 103 * 23,
    worth_lost=3_450_000 * 562 - 1_186_800 * 357 - 325 * 103 * 23 * 351 * 843 // 1000,
    leftovers=(*EDGE_CUT.leftovers[:2], Leftover(mm("325"), mm("103"), mm("23"), True)),
)
TWO_ASH = replace(ASH, count=2)
"""The same piece, as a bundle of two."""

EIGHT_STRIPS = replace(
    EDGE_CUT,
    offcut=replace(ASH, tag="ASH0002"),
    lengths_cut=3,
    rips=(3, 3, 2),
    adds=mm("160"),
    loss=3_450_000 - 426_075,
    worth_lost=3_450_000 * 562 - 426_075 * 351 * 690 // 1000,
    milling=438_750,
    milling_area=292_500,
    leftovers=(
        Leftover(mm("16"), mm("150"), mm("23"), False),
        Leftover(mm("325"), mm("11"), mm("23"), False),
        Leftover(mm("325"), mm("11"), mm("23"), False),
        Leftover(mm("325"), mm("57"), mm("23"), True),
    ),
)
SECOND_FILL = replace(EDGE_FILL, cuts=(EIGHT_STRIPS,), proven=False)
RACK_OF_TWO = [ASH, EIGHT_STRIPS.offcut]


def with_cut(plan: Plan, place: int = 0, **changed: object) -> Plan:
    """The plan with its first fill's cut at `place` changed."""
    [fill, *others] = plan.fills
    cuts = list(fill.cuts)
    cuts[place] = replace(cuts[place], **changed)  # type: ignore[arg-type]
    return replace(plan, fills=(replace(fill, cuts=tuple(cuts)), *others))


def with_fill(plan: Plan, **changed: object) -> Plan:
    """The plan with its first fill changed."""
    return replace(plan, fills=(replace(plan.fills[0], **changed), *plan.fills[1:]))  # type: ignore[arg-type]


def with_request(plan: Plan, **changed: object) -> Plan:
    """The plan for another request."""
    request = replace(plan.request, **changed)  # type: ignore[arg-type]
    return replace(plan, request=request, fills=tuple(for_request(fill, request) for fill in plan.fills))


def for_request(fill: Fill, request: BoardRequest) -> Fill:
    """The fill for another request: its one glue-up is the board; several glue-ups and panels stay as they are."""
    plain = len(fill.glue_ups) == 1 and not fill.glue_ups[0].rows
    return replace(fill, glue_ups=(PlannedGlueUp(0, 0, 0, request),)) if plain else fill


def kept(plan: Plan, place: int, box: int, *, keep: bool) -> Plan:
    """The plan with one leftover kept or not against the model."""
    boxes = list(plan.fills[0].cuts[place].leftovers)
    boxes[box] = replace(boxes[box], kept=keep)
    return with_cut(plan, place, leftovers=tuple(boxes))
