"""A glue-up drawn with the photos of its offcuts: each strip is a window onto its own wood."""

import re
from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree

from inventory.core.lengths import Display, mm_text
from inventory.layout.positions import GlueUpLayout
from inventory.layout.strip_layout import lay_out_fill
from inventory.layout.strip_order import flipped, strip_order_of, turned
from inventory.services.rack.photo_outline import PhotoPlacement
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture, draw_with_photos
from tests.fill.banded import STRIPED, first_fill
from tests.solver.hand_written import EDGE_BOARD, FACE_BOARD, lay_out_glue_up, make_edge_fill, make_face_fill

EDGE = lay_out_glue_up(make_edge_fill(), EDGE_BOARD)
FACE = lay_out_glue_up(make_face_fill(), FACE_BOARD)
HATCHINGS = HatchPatterns.of(["ash", "cherry", "walnut", "white oak"])
WHOLE = PhotoPlacement(0.5, 0.375, 0.8, 0.2, 0.0)


def photos(*tags: str) -> dict[str, Texture]:
    return {tag: Texture(f"/photos/{tag}/thumb.jpg", 480, 360, WHOLE) for tag in tags}


def drawn(layout: GlueUpLayout, textures: dict[str, Texture]) -> ElementTree.Element:
    return ElementTree.fromstring(draw_with_photos(layout, textures, Display(), HATCHINGS, "board"))


def windows(picture: ElementTree.Element) -> list[ElementTree.Element]:
    return [each for each in picture.iter("svg") if each.get("class") == "drawn-photo"]


def notes(picture: ElementTree.Element) -> list[str | None]:
    return [text.text for text in picture.iter("text") if text.get("class") == "ink-caption"]


def numbers_of(window: ElementTree.Element, word: str) -> list[float]:
    [group] = window.iter("g")
    found = re.search(rf"{word}\(([^)]*)\)", group.attrib["transform"])
    assert found
    return [float(each) for each in found[1].split()]


def test_each_strip_is_a_window_of_its_own_size_onto_its_offcuts_photo() -> None:
    picture = drawn(FACE, photos("EEEEEE1", "FFFFFF1", "GGGGGG1"))
    assert [
        (Decimal(each.attrib["y"]), Decimal(each.attrib["height"]), Decimal(each.attrib["width"]))
        for each in windows(picture)
    ] == [tuple(Decimal(mm_text(size)) for size in (s.start, s.width, FACE.length)) for s in FACE.strips]
    shown = [image.attrib["href"] for image in picture.iter("image")]
    assert shown == [f"/photos/{strip.offcut.tag}/thumb.jpg" for strip in FACE.strips]


def test_a_strip_shows_the_part_of_its_offcut_from_which_it_is_ripped() -> None:
    picture = drawn(FACE, photos("EEEEEE1"))
    walnut = next(piece for piece in FACE.pieces if piece.offcut.tag == "EEEEEE1")
    places = {
        number: region
        for region, number in zip(
            (region for length in walnut.marked.lengths for region in length.strips), walnut.numbers, strict=True
        )
    }
    shown = [strip for strip in FACE.strips if strip.letter == walnut.letter]
    for strip, window in zip(shown, windows(picture), strict=True):
        region = places[strip.number]
        along = (region.along + region.length / 2 - walnut.offcut.length / 2) / 1e6
        across = (region.across + region.width / 2 - walnut.offcut.width / 2) / 1e6
        [x, y] = numbers_of(window, "translate")
        assert abs(x + along) < 0.02 and abs(y + across) < 0.02
        [long, wide] = numbers_of(window, "scale")
        assert abs(long - walnut.offcut.length / 1e6 / 0.8) < 0.02
        assert abs(wide - walnut.offcut.width / 1e6 / 0.2) < 0.02


def test_no_window_looks_past_the_edge_of_a_piece_narrower_than_its_strip_is_thick() -> None:
    for layout in (EDGE, first_fill(STRIPED)[1].layouts[0]):
        tags = {strip.offcut.tag for strip in layout.strips}
        for strip, window in zip(layout.strips, windows(drawn(layout, photos(*tags))), strict=True):
            [_, y] = numbers_of(window, "translate")
            assert abs(y) <= max(strip.offcut.width - strip.width, 0) / 2e6 + 0.02


def test_a_strip_end_for_end_or_flipped_is_drawn_so() -> None:
    order = flipped(turned(strip_order_of(lay_out_fill(make_edge_fill(), EDGE_BOARD)), 0, 0), 0, 2)
    [layout] = lay_out_fill(make_edge_fill(), EDGE_BOARD, order).layouts
    cherry = windows(drawn(layout, photos("BBBBBB1")))
    assert [next(each.iter("g")).attrib["transform"].split("translate")[0] for each in cherry] == [
        *("rotate(180) ", "scale(1 -1) ", "", "", "")
    ]


def test_the_photo_is_turned_as_the_piece_lies_in_it() -> None:
    lying = {tag: replace(each, placement=replace(WHOLE, turn=12.5)) for tag, each in photos("BBBBBB1").items()}
    assert numbers_of(windows(drawn(EDGE, lying))[0], "rotate") == [-12.5]


def test_what_has_no_photo_is_shown_in_its_tone_and_hatching_and_said_to_be_so() -> None:
    picture = drawn(EDGE, photos("BBBBBB1"))
    assert len(windows(picture)) == 5
    tones = [box for box in picture.iter("rect") if box.get("class") == "ink-tone"]
    assert len(tones) == len(EDGE.strips) - 5
    assert notes(picture)[-2:] == ["On edge, it is the edge that will show.", "Hatched: no photo of it."]


def test_the_drawing_says_that_a_photo_shows_the_face() -> None:
    tags = {strip.offcut.tag for strip in FACE.strips}
    assert notes(drawn(FACE, photos(*tags)))[1:] == ["Each offcut as its photo shows its face,", "about to scale."]
    assert notes(drawn(FACE, {}))[1:] == ["In the tone and hatching of each wood."]
