"""The drawing of a glue-up: strips, trims and board in exact millimeters, numbers and names."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from inventory.core.lengths import Display, Length, Nearest, mm_text
from inventory.layout.positions import GlueUpLayout
from inventory.web.drawings.glue_up import draw_glue_up
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.svg import SVG_WIDTH
from tests.solver.hand_written import EDGE_BOARD, FACE_BOARD, lay_out_glue_up, make_edge_fill, make_face_fill

DISPLAY = Display(Nearest.SIXTEENTH)
EDGE = lay_out_glue_up(make_edge_fill(), EDGE_BOARD)
FACE = lay_out_glue_up(make_face_fill(), FACE_BOARD)
BOTH = pytest.mark.parametrize("layout", [EDGE, FACE], ids=["edge", "face"])
SVG = "{http://www.w3.org/2000/svg}"


def drawn(layout: GlueUpLayout) -> ElementTree.Element:
    hatchings = HatchPatterns.of(piece.offcut.species for piece in layout.pieces)
    return ElementTree.fromstring(draw_glue_up(layout, DISPLAY, hatchings, "set-1"))


def view(picture: ElementTree.Element, kind: str) -> ElementTree.Element:
    [found] = [group for group in picture.iter("g") if group.get("class") == kind]
    return found


def boxes(group: ElementTree.Element, kind: str) -> list[tuple[Decimal, ...]]:
    """x, y, width and height in millimeters."""
    return [
        tuple(Decimal(box.attrib[name]) for name in ("x", "y", "width", "height"))
        for box in group.iter("rect")
        if box.get("class") == kind
    ]


def mm(length: int) -> Decimal:
    return Decimal(mm_text(length))


@BOTH
def test_the_end_view_lays_the_strips_side_by_side_to_the_nanometer(layout: GlueUpLayout) -> None:
    strips = boxes(view(drawn(layout), "drawn-from-the-end"), "ink-strip")
    assert [(x, width) for x, _, width, _ in strips] == [(mm(s.start), mm(s.width)) for s in layout.strips]
    assert {(y, height) for _, y, _, height in strips} == {(Decimal(0), mm(layout.thickness))}
    assert sum(width for _, _, width, _ in strips) == mm(layout.width)


@BOTH
def test_seen_from_above_the_strips_run_the_whole_length_in_the_same_order(layout: GlueUpLayout) -> None:
    strips = boxes(view(drawn(layout), "drawn-from-above"), "ink-strip")
    assert [(y, height) for _, y, _, height in strips] == [(mm(s.start), mm(s.width)) for s in layout.strips]
    assert {(x, width) for x, _, width, _ in strips} == {(Decimal(0), mm(layout.length))}


@BOTH
def test_the_board_lies_within_the_trims_in_its_finished_sizes(layout: GlueUpLayout) -> None:
    picture = drawn(layout)
    [end] = boxes(view(picture, "drawn-from-the-end"), "ink-board")
    [above] = boxes(view(picture, "drawn-from-above"), "ink-board")
    request = layout.request
    assert end == (mm(layout.side_trims[0]), mm(layout.face_trims[0]), mm(request.width), mm(request.thickness))
    assert above == (mm(layout.end_trims[0]), mm(layout.side_trims[0]), mm(request.length), mm(request.width))


@BOTH
def test_the_trims_cover_just_what_the_board_leaves(layout: GlueUpLayout) -> None:
    trims = boxes(view(drawn(layout), "drawn-from-above"), "ink-trim")
    trimmed = sum(width * height for _, _, width, height in trims)
    request = layout.request
    assert trimmed == mm(layout.length) * mm(layout.width) - mm(request.length) * mm(request.width)


@BOTH
def test_both_views_are_drawn_within_the_paper(layout: GlueUpLayout) -> None:
    picture = drawn(layout)
    for kind, across in (("drawn-from-the-end", layout.width), ("drawn-from-above", layout.length)):
        transform = view(picture, kind).attrib["transform"]
        left, scale = float(transform.split("(")[1].split()[0]), float(transform.split("scale(")[1].rstrip(")"))
        assert left + float(mm(across)) * scale < SVG_WIDTH


@BOTH
def test_every_strip_is_numbered_in_both_views(layout: GlueUpLayout) -> None:
    numbers = [text.text for text in drawn(layout).iter("text") if text.get("class") == "ink-number"]
    assert numbers == [str(strip.number) for strip in layout.strips] * 2


@BOTH
def test_every_piece_has_its_letter_below_its_strips(layout: GlueUpLayout) -> None:
    letters = [text.text for text in drawn(layout).iter("text") if text.get("class") == "ink-strong"]
    assert [letter for letter in letters if letter and letter.isalpha()] == [run[0].letter for run in layout.runs]


def test_the_measures_are_those_of_the_glue_up_and_the_board() -> None:
    written = {text.text for text in drawn(EDGE).iter("text")}
    assert {"≈12 9/16", "12", "19", "18", "1 5/8", "1 1/2", "1/2"} <= written
    assert "To scale, measures in inches." in written
    assert "Trimmed: ends 1/2, sides 17/64, faces 1/16 each." in written


def test_the_drawing_says_itself_to_a_screen_reader() -> None:
    picture = drawn(EDGE)
    assert picture.get("role") == "img"
    ids = str(picture.get("aria-labelledby")).split()
    assert [child.get("id") for child in picture if child.tag in ("title", "desc")] == ids
    assert picture.findtext("title") == "Glue-up of 15 strips"
    assert picture.findtext("desc") == (
        "Strips on edge, glued face to face: 19 in × ≈12 9/16 in × 1 5/8 in before trimming, "
        "18 in × 12 in × 1 1/2 in finished. Across the board: piece A, cherry: strips 1, 3, 8, 13 "
        "and 15; piece B, ash: strips 2, 4, 6, 10, 12 and 14; piece C, ash: strips 5 and 11; "
        "piece D, white oak: strip 7; piece E, white oak: strip 9."
    )


def test_species_differ_by_hatching_and_one_wood_has_one_hatching() -> None:
    strips = [box for box in drawn(EDGE).iter("rect") if box.get("class") == "ink-strip"]
    fills = {(strip.offcut.species, box.attrib["fill"]) for strip, box in zip(EDGE.strips, strips, strict=False)}
    assert len(fills) == 3
    assert len({fill for _, fill in fills}) == 3


def test_each_hatching_that_is_used_is_defined_in_the_drawing() -> None:
    picture = drawn(EDGE)
    defined = {f"url(#{pattern.attrib['id']})" for pattern in picture.iter("pattern")}
    used = {box.attrib["fill"] for box in picture.iter("rect")} - {"none"}
    assert used == defined


def test_wood_of_no_noted_species_stays_blank() -> None:
    hatchings = HatchPatterns.of(["ash", "", "  "])
    assert hatchings.paint("", "set-1") == "none"
    assert hatchings.paint("Ash", "set-1") == "url(#set-1-wood-0)"


def test_nothing_in_a_drawing_is_styled_or_scripted_inline() -> None:
    for node in drawn(FACE).iter():
        assert node.tag not in ("style", "script")
        assert not {name for name in node.attrib if name == "style" or name.startswith("on")}


def test_a_board_of_forty_thin_strips_numbers_them_all() -> None:
    first = EDGE.strips[0]
    strips = (replace(first, number=n + 1, letter="A", start=Length(n * first.width)) for n in range(40))
    thin = replace(EDGE, strips=tuple(strips))
    numbers = [text for text in drawn(thin).iter("text") if text.get("class") == "ink-number"]
    places = [(float(text.attrib["x"]), float(text.attrib["y"])) for text in numbers[:40]]
    by_row: dict[float, list[float]] = {}
    for x, y in places:
        by_row.setdefault(y, []).append(x)
    for row in by_row.values():
        assert all(right - left >= 14 for left, right in pairwise(row))
