"""The verifier finds a fault in any cut of a plan; plans computed by hand have none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.offcuts import Offcut
from inventory.cutting.cuts import Leftover
from inventory.fill.plan import Plan
from tests.fill.racks import METRIC_SHOP
from tests.verify import faults
from tests.verify.paper_plans import (
    ASH,
    BANDED_PLAN,
    CHERRY,
    CHERRY_STRIPE,
    EDGE_CUT,
    EDGE_PLAN,
    FACE_PLAN,
    FOUR_STRIPS,
    OAK,
    PART_CUT,
    STRIPE_CUT,
    WHOLE_CUT,
    kept,
    mm,
    with_cut,
    with_fill,
    with_request,
)

PLANTED: dict[str, tuple[Plan, Sequence[Offcut], list[str]]] = {
    "an offcut that is not there": (
        EDGE_PLAN,
        [CHERRY],
        ["offcut ASH0001 is not on the rack."],
    ),
    "a piece beyond the count": (
        with_cut(EDGE_PLAN, piece=2),
        [ASH],
        ["offcut ASH0001 has no piece 2; its tag stands for 1."],
    ),
    "piece number 0": (
        with_cut(EDGE_PLAN, piece=0),
        [ASH],
        ["offcut ASH0001 has no piece 0; its tag stands for 1."],
    ),
    "an offcut used more often than it is there": (
        with_fill(EDGE_PLAN, cuts=(EDGE_CUT, replace(EDGE_CUT, piece=2)), bound=0, proven=False),
        [ASH],
        [
            "offcut ASH0001 is used 2 times; its tag stands for 1.",
            "offcut ASH0001 has no piece 2; its tag stands for 1.",
        ],
    ),
    "another species": (
        with_cut(EDGE_PLAN, offcut=CHERRY),
        [CHERRY],
        ['offcut CHE0001 is of "cherry", which was not asked for in band 0.'],
    ),
    "no cut": (
        with_fill(EDGE_PLAN, cuts=(), proven=False, bound=0),
        [ASH],
        ["the glue-up is 100 mm too narrow."],
    ),
    "too few strips": (
        with_fill(EDGE_PLAN, cuts=(FOUR_STRIPS,), bound=0, proven=False),
        [ASH],
        ["the glue-up is 20 mm too narrow."],
    ),
    "more strips than fit": (
        with_cut(EDGE_PLAN, rips=(3, 3, 4)),
        [ASH],
        ["offcut ASH0001 gives 10 strips; it can give 1 to 9."],
    ),
    "no strips": (
        with_cut(EDGE_PLAN, rips=()),
        [ASH],
        ["offcut ASH0001 gives 0 strips; it can give 1 to 9."],
    ),
    "strips ripped from the wrong lengths": (
        with_cut(EDGE_PLAN, rips=(2, 3)),
        [ASH],
        ["offcut ASH0001 says rips (2, 3); by the model it is (3, 2)."],
    ),
    "one length too many": (
        with_cut(EDGE_PLAN, lengths_cut=3),
        [ASH],
        ["offcut ASH0001 says lengths cut 3; by the model it is 2."],
    ),
    "a wrong strip width": (
        with_cut(EDGE_PLAN, strip_width=mm("40")),
        [ASH],
        ["offcut ASH0001 says strip width 40 mm; by the model it is 43 mm."],
    ),
    "a wrong width added": (
        with_cut(EDGE_PLAN, adds=mm("100.000001")),
        [ASH],
        ["offcut ASH0001 says width added 100.000001 mm; by the model it is 100 mm."],
    ),
    "leaves where there are none": (
        with_cut(EDGE_PLAN, leaves=5),
        [ASH],
        ["offcut ASH0001 says leaves 5; by the model it is None."],
    ),
    "a loss one mm³ too small": (
        with_cut(EDGE_PLAN, loss=1_837_124),
        [ASH],
        [
            "offcut ASH0001 says loss 1837124; by the model it is 1837125.",
            "it says loss 1837124; by the model it is 1837125.",
            "it says waste 673124; by the model it is 673125.",
            "it says yield 0.6335990384971292; by the model it is 0.633598693610941.",
        ],
    ),
    "a worth lost one thousandth too small": (
        with_cut(EDGE_PLAN, worth_lost=EDGE_CUT.worth_lost - 1),
        [ASH],
        [
            "offcut ASH0001 says worth lost 1412021295; by the model it is 1412021296.",
            "it says worth lost 1412021295; by the model it is 1412021296.",
        ],
    ),
    "a wrong volume to plane away": (
        with_cut(EDGE_PLAN, milling=146_250),
        [ASH],
        [
            "offcut ASH0001 says milling 146250; by the model it is 292500.",
            "it says milling 146250; by the model it is 292500.",
        ],
    ),
    "a wrong dirty area": (
        with_cut(EDGE_PLAN, milling_area=97_500),
        [ASH],
        [
            "offcut ASH0001 says dirty area 97500; by the model it is 195000.",
            "it says dirty area 97500; by the model it is 195000.",
        ],
    ),
    "a remainder that is too small called kept": (
        kept(EDGE_PLAN, 0, 1, keep=True),
        [ASH],
        [
            "offcut ASH0001 states a leftover 325 × 11 × 23 mm, kept, which the model does not have.",
            "offcut ASH0001 does not state the leftover 325 × 11 × 23 mm, not kept.",
        ],
    ),
    "a remainder that is large enough thrown away": (
        kept(EDGE_PLAN, 0, 0, keep=False),
        [ASH],
        [
            "offcut ASH0001 states a leftover 344 × 150 × 23 mm, not kept, which the model does not have.",
            "offcut ASH0001 does not state the leftover 344 × 150 × 23 mm, kept.",
        ],
    ),
    "a remainder left out": (
        with_cut(EDGE_PLAN, leftovers=EDGE_CUT.leftovers[1:]),
        [ASH],
        ["offcut ASH0001 does not state the leftover 344 × 150 × 23 mm, kept."],
    ),
    "a piece too thin to serve": (
        with_request(EDGE_PLAN, allowances=replace(METRIC_SHOP, thinnest_lamination=mm("20.000001"))),
        [ASH],
        ["offcut ASH0001 can't serve: too short, too narrow or too thin."],
    ),
    "a piece too short": (
        with_cut(EDGE_PLAN, offcut=replace(ASH, length=mm("324.999999"))),
        [replace(ASH, length=mm("324.999999"))],
        ["offcut ASH0001 can't serve: too short, too narrow or too thin."],
    ),
    "a band that was not asked for": (
        with_cut(EDGE_PLAN, band=1),
        [ASH],
        ["offcut ASH0001 is cut for a band that was not asked for."],
    ),
    "a board that was not asked for": (
        with_cut(EDGE_PLAN, board=1),
        [ASH],
        ["offcut ASH0001 is cut for a board that was not asked for."],
    ),
    "a piece cut twice": (
        with_fill(EDGE_PLAN, cuts=(EDGE_CUT, EDGE_CUT)),
        [ASH],
        ["offcut ASH0001 is cut 2 times."],
    ),
    "a part of a length on edge": (
        with_cut(EDGE_PLAN, part=True),
        [ASH],
        ["offcut ASH0001 gives a part of a length, which only a pool of a face-grain board has."],
    ),
    "two parts of lengths": (
        with_fill(FACE_PLAN, cuts=(WHOLE_CUT, PART_CUT, replace(PART_CUT, offcut=replace(OAK, tag="OAK0002")))),
        [OAK, replace(OAK, tag="OAK0002")],
        [
            "offcut OAK0002 says loss 1710000; by the model it is 594000.",
            "offcut OAK0002 says worth lost 794172600; by the model it is 426562200.",
            "offcut OAK0002 says milling 156000; by the model it is 78000.",
            "offcut OAK0002 states a leftover 44 × 120 × 25 mm, not kept, which the model does not have.",
            "offcut OAK0002 does not state the leftover 372 × 120 × 25 mm, kept.",
            "the glue-up has 2 parts of lengths; at most one is possible.",
            "it says loss 3420000; by the model it is 2304000.",
            "it says worth lost 1588345200; by the model it is 1220734800.",
            "it says milling 312000; by the model it is 234000.",
            "it says waste 2358000; by the model it is 1242000.",
            "it says yield 0.3105263157894737; by the model it is 0.4609375.",
            "it says that it is proven, but its bound 1710000 lies below its cost 2304000.",
        ],
    ),
    "a part of the wrong width": (
        with_cut(FACE_PLAN, 1, strip_width=mm("66"), adds=mm("66")),
        [OAK],
        [
            "offcut OAK0001 says strip width 66 mm; by the model it is 67 mm.",
            "offcut OAK0001 says width added 66 mm; by the model it is 67 mm.",
        ],
    ),
    "a gap too wide for a part of a length": (
        with_request(FACE_PLAN, width=mm("223.000001")),
        [OAK],
        ["offcut OAK0001 can't give a part 113.000001 mm wide: one of its lengths adds 113 mm."],
    ),
    "costs stated with the whole lengths": (
        with_cut(with_cut(FACE_PLAN, 0, loss=1_710_000), 1, loss=0),
        [OAK],
        [
            "offcut OAK0001 says loss 1710000; by the model it is 0.",
            "offcut OAK0001 says loss 0; by the model it is 1710000.",
        ],
    ),
    "a gap without a part of a length": (
        with_fill(
            FACE_PLAN,
            cuts=(
                replace(
                    PART_CUT,
                    rips=(2,),
                    part=False,
                    adds=mm("113"),
                    strip_width=mm("56.5"),
                    loss=2_100_000 - 372 * 120 * 25,
                    worth_lost=2_100_000 * 468 * 900 // 1000 - 372 * 120 * 25 * 366 * 900 // 1000,
                    milling=78_000,
                    leftovers=(Leftover(mm("372"), mm("120"), mm("25"), True),),
                ),
            ),
            bound=0,
            proven=False,
        ),
        [OAK],
        ["the glue-up is 67 mm too narrow."],
    ),
    "more lengths than fit": (
        with_cut(FACE_PLAN, 0, lengths_cut=2),
        [OAK],
        ["offcut OAK0001 gives 3 lengths; it can give 1 to 2."],
    ),
    "a piece too thin to lie flat": (
        with_request(FACE_PLAN, thickness=mm("22.000001")),
        [OAK],
        ["offcut OAK0001 can't serve: too short, too narrow or too thin."],
    ),
    "strips that would be too narrow": (
        with_request(FACE_PLAN, allowances=replace(METRIC_SHOP, min_strip_width=mm("56.500001"))),
        [OAK],
        ["offcut OAK0001 can't serve: too short, too narrow or too thin."],
    ),
    "a leaf too few": (
        with_cut(
            BANDED_PLAN,
            1,
            leaves=2,
            rips=(1,),
            adds=mm("10"),
            leftovers=(STRIPE_CUT.leftovers[0], Leftover(mm("325"), mm("53"), mm("23"), True)),
            loss=782_000 - 325 * 53 * 23,
            worth_lost=782_000 * 356 * 833 // 1000 - 325 * 53 * 23 * 351 * 676 // 1000,
        ),
        [ASH, CHERRY_STRIPE],
        ["the glue-up's band 1 is 5 mm too narrow.", "its bound 2619125 lies above its own cost 2222950."],
    ),
    "a leaf too many": (
        with_cut(BANDED_PLAN, 1, leaves=4, adds=mm("20")),
        [ASH, CHERRY_STRIPE],
        ["the glue-up's band 1 has 4 strips; 3 were asked for."],
    ),
    "a stripe ripped from too few strips": (
        with_cut(BANDED_PLAN, 1, rips=(1,)),
        [ASH, CHERRY_STRIPE],
        ["offcut CHE0002 says rips (1,); by the model it is (2,)."],
    ),
    "the field's species in the stripe": (
        with_cut(BANDED_PLAN, 0, band=1),
        [ASH, CHERRY_STRIPE],
        [
            'offcut ASH0001 is of "Ash", which was not asked for in band 1.',
            "offcut ASH0001 says lengths cut 2; by the model it is 1.",
            "offcut ASH0001 says rips (3, 2); by the model it is (3,).",
            "offcut ASH0001 says leaves None; by the model it is 5.",
            "offcut ASH0001 says width added 100 mm; by the model it is 25 mm.",
            "offcut ASH0001 says loss 1837125; by the model it is 1131600.",
            "offcut ASH0001 says worth lost 1412021296; by the model it is 872436000.",
            "offcut ASH0001 says milling 292500; by the model it is 146250.",
            "offcut ASH0001 says dirty area 195000; by the model it is 97500.",
            "offcut ASH0001 states a leftover 344 × 150 × 23 mm, kept, which the model does not have.",
            "offcut ASH0001 states a leftover 325 × 57 × 23 mm, kept, which the model does not have.",
            "offcut ASH0001 does not state the leftover 672 × 150 × 23 mm, kept.",
            "the glue-up's band 0 is 85 mm too narrow.",
            "the glue-up's band 1 has 8 strips; 3 were asked for.",
            "it says loss 2619125; by the model it is 1913600.",
            "it says worth lost 1643921832; by the model it is 1104336536.",
            "it says milling 390000; by the model it is 243750.",
            "it says dirty area 260000; by the model it is 162500.",
            "it says waste 1455125; by the model it is 749600.",
            "it says yield 0.4444232329499356; by the model it is 0.6082775919732442.",
            "its bound 2619125 lies above its own cost 1913600.",
        ],
    ),
    "a piece in two bands": (
        with_fill(BANDED_PLAN, cuts=(EDGE_CUT, replace(EDGE_CUT, band=1), STRIPE_CUT)),
        [ASH, CHERRY_STRIPE],
        ["offcut ASH0001 serves two bands."],
    ),
}


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.replace(" ", "-"))
def test_the_verifier_finds(planted: str) -> None:
    plan, rack, expected = PLANTED[planted]
    found = [sentence.removeprefix("Fill 1 (least-waste): ") for sentence in faults(plan, rack)]
    assert found == expected


def test_the_edge_grain_plan_computed_by_hand_is_right() -> None:
    assert faults(EDGE_PLAN, [ASH, CHERRY]) == []


def test_the_face_grain_plan_computed_by_hand_is_right() -> None:
    assert faults(FACE_PLAN, [OAK]) == []


def test_the_plan_with_stripes_computed_by_hand_is_right() -> None:
    assert faults(BANDED_PLAN, [ASH, CHERRY_STRIPE]) == []
