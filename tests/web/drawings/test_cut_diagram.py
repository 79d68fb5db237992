"""The cutting drawing of an offcut: strips, kerfs and what is left, in exact millimeters."""

from decimal import Decimal
from xml.etree import ElementTree

import pytest

from inventory.core.lengths import Display, Nearest, inches, mm_text
from inventory.cutting.marking_out import RegionUse
from inventory.layout.positions import GlueUpLayout, LetteredPiece
from inventory.web.drawings.cut_diagram import draw_cutting
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.svg import SVG_WIDTH
from tests.solver.hand_written import (
    EDGE_BOARD,
    FACE_BOARD,
    lay_out_glue_up,
    make_edge_fill,
    make_face_fill,
    make_fill,
    make_offcut,
)

DISPLAY = Display(Nearest.SIXTEENTH)
KINDS = {
    RegionUse.STRIP: "ink-strip",
    RegionUse.RIP_KERF: "ink-kerf",
    RegionUse.CROSSCUT_KERF: "ink-kerf",
    RegionUse.JOINTED: "ink-jointed",
    RegionUse.KEPT: "ink-kept",
    RegionUse.WASTE: "ink-lost",
}
HATCHINGS = HatchPatterns.of(["ash", "cherry", "white oak", "walnut"])
EDGE = lay_out_glue_up(make_edge_fill(), EDGE_BOARD)
FACE = lay_out_glue_up(make_face_fill(), FACE_BOARD)


def drawn(*pieces: LetteredPiece) -> ElementTree.Element:
    return ElementTree.fromstring(draw_cutting(pieces, DISPLAY, HATCHINGS, "cut-a"))


def boxes(picture: ElementTree.Element) -> list[tuple[str, Decimal, Decimal, Decimal, Decimal]]:
    """Kind, x, y, width and height in millimeters, but for the outline."""
    [group] = [each for each in picture.iter("g") if each.get("class") == "drawn-piece"]
    return [
        (
            box.attrib["class"],
            Decimal(box.attrib["x"]),
            Decimal(box.attrib["y"]),
            Decimal(box.attrib["width"]),
            Decimal(box.attrib["height"]),
        )
        for box in group.iter("rect")
        if box.get("class") != "ink-outline"
    ]


def texts(picture: ElementTree.Element, kind: str) -> list[str | None]:
    return [text.text for text in picture.iter("text") if text.get("class") == kind]


def mm(length: int) -> Decimal:
    return Decimal(mm_text(length))


def the_piece(layout: GlueUpLayout, tag: str) -> LetteredPiece:
    return next(piece for piece in layout.pieces if piece.offcut.tag == tag)


def short_pieces() -> list[LetteredPiece]:
    """Pieces short enough to be drawn whole."""
    return [the_piece(EDGE, "CCCCCC1"), the_piece(EDGE, "DDDDDD1")]


@pytest.mark.parametrize("piece", short_pieces(), ids=lambda piece: piece.letter)
def test_every_region_stands_where_the_cut_falls(piece: LetteredPiece) -> None:
    expected = [
        (KINDS[each.use], mm(each.along), mm(each.across), mm(each.length), mm(each.width))
        for each in piece.marked.regions
    ]
    assert boxes(drawn(piece)) == expected


@pytest.mark.parametrize("piece", [*EDGE.pieces, *FACE.pieces], ids=lambda piece: f"{piece.offcut.tag}{piece.letter}")
def test_widths_are_always_true_and_parts_never_overlap(piece: LetteredPiece) -> None:
    drawing = drawn(piece)
    parts = boxes(drawing)
    assert [(y, height) for _, _, y, _, height in parts] == [
        (mm(each.across), mm(each.width)) for each in piece.marked.regions
    ]
    [outline] = [each for each in drawing.iter("rect") if each.get("class") == "ink-outline"]
    whole = Decimal(outline.attrib["width"]) * mm(piece.offcut.width)
    assert sum(width * height for _, _, _, width, height in parts) == whole


@pytest.mark.parametrize("piece", [*EDGE.pieces, *FACE.pieces], ids=lambda piece: f"{piece.offcut.tag}{piece.letter}")
def test_every_piece_is_drawn_within_the_paper(piece: LetteredPiece) -> None:
    picture = drawn(piece)
    [group] = [each for each in picture.iter("g") if each.get("class") == "drawn-piece"]
    transform = group.attrib["transform"]
    left, scale = float(transform.split("(")[1].split()[0]), float(transform.split("scale(")[1].rstrip(")"))
    for _, x, _, width, _ in boxes(picture):
        assert left + float(x + width) * scale < SVG_WIDTH


def test_a_long_piece_is_drawn_shorter_at_a_zigzag_and_says_so() -> None:
    picture = drawn(the_piece(EDGE, "BBBBBB1"))
    assert "Drawn shorter at the zigzag, true in width." in texts(picture, "ink-caption")
    assert [gap for gap in picture.iter("path") if gap.get("class") == "ink-gap"]
    measures = texts(picture, "ink-text")
    assert measures.count("19") == 3
    assert {"39 1/8", "96 1/2", "3 3/4", "1 5/8"} <= set(measures)


def test_a_short_piece_is_drawn_whole() -> None:
    picture = drawn(the_piece(EDGE, "CCCCCC1"))
    assert texts(picture, "ink-caption") == ["To scale, measures in inches."]
    assert not [gap for gap in picture.iter("path") if gap.get("class") == "ink-gap"]


def test_strips_carry_the_numbers_of_the_glue_up() -> None:
    for piece in (*EDGE.pieces, *FACE.pieces):
        assert texts(drawn(piece), "ink-number") == [str(number) for number in piece.numbers]


def test_like_pieces_share_a_drawing_with_both_numbers_on_the_strip() -> None:
    pair = [piece for piece in EDGE.pieces if piece.offcut.tag == "DDDDDD1"]
    picture = drawn(*pair)
    assert texts(picture, "ink-number") == ["7, 9"]
    assert picture.findtext("title") == "Cuts in piece D, E, white oak"


def test_what_is_left_says_whether_it_is_kept() -> None:
    picture = drawn(the_piece(FACE, "GGGGGG1"))
    assert texts(picture, "ink-rest") == ["keep", "keep"]
    assert {"ink-kept"} == {kind for kind, *_ in boxes(picture) if kind in ("ink-kept", "ink-lost")}


def test_lost_wood_is_crossed_out() -> None:
    picture = drawn(the_piece(EDGE, "CCCCCC1"))
    lost = [kind for kind, *_ in boxes(picture) if kind == "ink-lost"]
    crosses = [path for path in picture.iter("path") if path.get("class") == "ink-cross"]
    assert len(lost) == len(crosses) == 2


def test_the_drawing_says_itself_to_a_screen_reader() -> None:
    assert drawn(the_piece(EDGE, "CCCCCC1")).findtext("desc") == (
        "20 in × 4 in × 15/16 in. length 1 of 19 in: 2 strips 1 5/8 in wide. "
        "Left over: 7/8 in × 4 in lost; 19 in × ≈1/2 in lost."
    )


def test_a_very_long_narrow_piece_still_shows_its_kerfs_and_numbers() -> None:
    fill = make_fill(EDGE_BOARD, [(make_offcut("157", "1 7/8", "1", "ash", "AAAAAA1"), 1, 8, None)])
    [piece] = lay_out_glue_up(fill, EDGE_BOARD).pieces
    picture = drawn(piece)
    assert len(texts(picture, "ink-number")) == 8
    assert [width for kind, _, _, width, _ in boxes(picture) if kind == "ink-kerf"].count(mm(inches("1/8"))) == 8
