"""The verifier finds what is wrong with fills as a whole and beside one another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan import Plan, PlannedGlueUp
from tests.verify import faults
from tests.verify.paper_plans import (
    ASH,
    EDGE,
    EDGE_CUT,
    EDGE_FILL,
    EDGE_PLAN,
    RACK_OF_TWO,
    SECOND_FILL,
    TWO_ASH,
    mm,
    with_fill,
    with_request,
)

SMALLER = replace(EDGE, length=mm("275"), width=mm("94"), thickness=mm("37"))

PLANTED: dict[str, tuple[Plan, Sequence[Offcut], list[str]]] = {
    "a wrong board volume": (
        with_fill(EDGE_PLAN, board_volume=1_164_001),
        [ASH],
        [
            "it says board volume 1164001; by the model it is 1164000.",
            "it says waste 673124; by the model it is 673125.",
            "it says yield 0.6335992379397156; by the model it is 0.633598693610941.",
        ],
    ),
    "wrong lengths of the glue-up": (
        with_fill(EDGE_PLAN, glue_ups=(PlannedGlueUp(0, 0, 0, SMALLER),)),
        [ASH],
        ["glue-up 0 is said to be 275 × 94 × 37 mm in edge grain; it is 300 × 97 × 40 mm in edge grain."],
    ),
    "a bound above the cost": (
        with_fill(EDGE_PLAN, bound=1_837_126),
        [ASH],
        ["its bound 1837126 lies above its own cost 1837125."],
    ),
    "proven with a bound below the cost": (
        with_fill(EDGE_PLAN, bound=1_837_124),
        [ASH],
        ["it says that it is proven, but its bound 1837124 lies below its cost 1837125."],
    ),
    "neither fills nor a shortfall": (
        replace(EDGE_PLAN, fills=()),
        [ASH],
        ["The plan has no fill and does not say what is missing."],
    ),
    "a preference that was not asked for": (
        with_fill(EDGE_PLAN, prefer=Preference.FEWEST_PIECES, bound=1),
        [ASH],
        ["The fills are for fewest-pieces; asked for were least-waste."],
    ),
    "a preference without a fill": (
        with_request(EDGE_PLAN, prefer=(Preference.LEAST_WASTE, Preference.FEWEST_PIECES)),
        [ASH],
        ["The fills are for least-waste; asked for were least-waste, fewest-pieces."],
    ),
    "more fills than asked for": (
        with_request(replace(EDGE_PLAN, fills=(EDGE_FILL, SECOND_FILL)), fills=1),
        RACK_OF_TWO,
        ["There are 2 fills for least-waste; 1 were asked for."],
    ),
    "fills of one preference apart": (
        with_request(
            replace(
                EDGE_PLAN, fills=(EDGE_FILL, replace(EDGE_FILL, prefer=Preference.FEWEST_PIECES, bound=1), SECOND_FILL)
            ),
            prefer=(Preference.LEAST_WASTE, Preference.FEWEST_PIECES),
        ),
        RACK_OF_TWO,
        ["The fills of one preference do not stand together."],
    ),
    "the same offcuts twice": (
        replace(EDGE_PLAN, fills=(EDGE_FILL, replace(EDGE_FILL, proven=False))),
        [ASH],
        ["Fill 2 (least-waste) takes the same offcuts as fill 1."],
    ),
    "the same bundle twice, from another piece": (
        replace(
            EDGE_PLAN,
            fills=(
                replace(EDGE_FILL, cuts=(replace(EDGE_CUT, offcut=TWO_ASH),)),
                replace(EDGE_FILL, proven=False, cuts=(replace(EDGE_CUT, offcut=TWO_ASH, piece=2),)),
            ),
        ),
        [TWO_ASH],
        ["Fill 2 (least-waste) takes the same offcuts as fill 1."],
    ),
    "the better fill behind": (
        replace(EDGE_PLAN, fills=(replace(SECOND_FILL, bound=0), EDGE_FILL)),
        RACK_OF_TWO,
        ["Fill 1 (least-waste) stands before fill 2, which is better."],
    ),
    "a proof that another preference's fill disproves": (
        with_request(
            replace(
                EDGE_PLAN,
                fills=(
                    replace(SECOND_FILL, bound=3_023_925, proven=True),
                    replace(EDGE_FILL, prefer=Preference.FEWEST_PIECES, bound=1),
                ),
            ),
            prefer=(Preference.LEAST_WASTE, Preference.FEWEST_PIECES),
        ),
        RACK_OF_TWO,
        ["Fill 1 (least-waste) says that it is proven, but fill 2 is better in its own order."],
    ),
    "a bound that another preference's fill disproves": (
        with_request(
            replace(
                EDGE_PLAN,
                fills=(
                    replace(SECOND_FILL, bound=3_023_924),
                    replace(EDGE_FILL, prefer=Preference.FEWEST_PIECES, bound=1),
                ),
            ),
            prefer=(Preference.LEAST_WASTE, Preference.FEWEST_PIECES),
        ),
        RACK_OF_TWO,
        ["Fill 1 (least-waste) has the bound 3023924, but fill 2 costs less."],
    ),
}


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.replace(" ", "-"))
def test_the_verifier_finds(planted: str) -> None:
    plan, rack, expected = PLANTED[planted]
    found = [sentence.removeprefix("Fill 1 (least-waste): ") for sentence in faults(plan, rack)]
    assert found == expected
