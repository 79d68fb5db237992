"""Strips that are resawn: the layers in exact millimeters, the leaves' numbers, the words."""

from decimal import Decimal
from xml.etree import ElementTree

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Length, Nearest, inches, mm_text
from inventory.cutting.alternatives import glue_up_spec
from inventory.cutting.marking_out import MarkedPiece, RegionUse, mark_edge_grain, mark_face_grain
from inventory.cutting.stripes import EdgeStripe, FaceStripe
from inventory.layout.positions import LetteredPiece
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.resawing import draw_resawing
from tests.solver.hand_written import EDGE_BOARD, make_offcut

PLAIN = Allowances()
GLUE_UP = glue_up_spec(EDGE_BOARD.length, EDGE_BOARD.width, EDGE_BOARD.thickness, PLAIN)
HATCHINGS = HatchPatterns.of(["cherry"])


def leaves(thickness: str, each: str, take: int) -> MarkedPiece:
    """A cherry piece of so much thickness, marked out for `take` leaves."""
    offcut = make_offcut("60", "4", thickness, "cherry", "AAAAAA1")
    cuts = EdgeStripe(inches(each), take).cuts(offcut, 1, take, None, GLUE_UP)
    return mark_edge_grain(cuts, GLUE_UP)


@pytest.mark.parametrize("take", range(1, 8))
def test_the_layers_cover_each_strip_once_and_give_all_leaves(take: int) -> None:
    marked = leaves("1", "1/4", take)
    assert sum(marked.strips_by_rip) == take
    numbers = [slab.leaf for strip in marked.resawn for slab in strip.layers if slab.leaf is not None]
    assert numbers == list(range(take))
    for strip in marked.resawn:
        place = 0
        for slab in strip.layers:
            assert slab.start == place
            place += slab.thickness
        assert place == marked.clean


def test_every_leaf_has_what_cleaning_takes_on_it_and_a_kerf_beside_it() -> None:
    [strip] = leaves("1", "1/4", 3).resawn
    message = [(slab.use, slab.thickness) for slab in strip.layers]
    leaf, kerf = (RegionUse.LEAF, inches("9/32")), (RegionUse.RESAW_KERF, inches("1/16"))
    # 3 × 9/32 and 2 × 1/16 leave 1/32: too little for another kerf, so it is planed off.
    assert message == [leaf, kerf, leaf, kerf, leaf, (RegionUse.WASTE, inches("1/32"))]
    assert strip.passes == 2


def test_a_strip_just_thick_enough_is_planed_down_not_sawn() -> None:
    [strip] = leaves("1/4", "1/4", 1).resawn
    assert [(slab.use, slab.thickness) for slab in strip.layers] == [(RegionUse.LEAF, inches("1/4"))]
    assert strip.passes == 0


def test_a_strip_that_stays_whole_has_no_end_view() -> None:
    offcut = make_offcut("60", "4", "1", "cherry", "AAAAAA1")
    [cut] = FaceStripe(inches("1/2"), 3).cuts(offcut, 1, 3, None, GLUE_UP)
    marked = mark_face_grain([cut], GLUE_UP, inches("1/2"))
    piece = LetteredPiece("A", marked, ((1,), (2,), (3,)))
    assert draw_resawing([piece], Display(Nearest.SIXTEENTH), HATCHINGS, "r") is None


def test_a_face_stripe_is_ripped_as_wide_as_jointing_needs_and_the_rest_is_kept() -> None:
    offcut = make_offcut("20", "4", "2", "cherry", "AAAAAA1")
    [cut] = FaceStripe(inches("1/2"), 3).cuts(offcut, 1, 3, None, GLUE_UP)
    marked = mark_face_grain([cut], GLUE_UP, inches("1/2"))
    [length] = marked.lengths
    assert [strip.width for strip in length.strips] == [inches("9/16")] * 3
    assert length.glued_width == inches("1/2")
    area = sum(region.length * region.width for region in marked.regions)
    assert area == offcut.length * offcut.width
    assert length.leftover is not None
    assert (length.leftover.width, length.leftover.use) == (cut.leftovers[-1].width, RegionUse.KEPT)


def test_the_end_view_shows_the_leaves_in_exact_millimeters_with_their_numbers() -> None:
    piece = LetteredPiece("B", leaves("1", "1/4", 4), ((3, 4, 12), (13,)))
    drawing = draw_resawing([piece], Display(Nearest.THIRTY_SECOND), HATCHINGS, "r")
    assert drawing is not None
    picture = ElementTree.fromstring(drawing)
    boxes = [box for box in picture.iter("rect") if box.get("class") == "ink-strip"]
    assert [Decimal(box.attrib["width"]) for box in boxes] == [Decimal(mm_text(inches("9/32")))] * 4
    assert {Decimal(box.attrib["height"]) for box in boxes} == {Decimal(mm_text(Length(GLUE_UP.rough_thickness)))}
    captions = [text.text for text in picture.iter("text") if text.get("class") == "ink-caption"]
    assert captions == ["leaves 3, 4 and 12, from left to right", "leaf 13"]
    assert picture.findtext("desc") == (
        "Each strip is 1 in thick. leaves 3, 4 and 12, from left to right: resawn to 3 leaves, 9/32 in thick. "
        "leaf 13: resawn to one leaf, 9/32 in thick."
    )
