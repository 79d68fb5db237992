"""The drawings of an end-grain board: slices of the panels and rows of the board, in exact millimeters."""

import re
from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from inventory.core.lengths import Display, Length, Nearest, inches, mm_text
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.layout.end_grain_rows import SlicedBoard, sliced_boards
from inventory.layout.strip_layout import lay_out_fill
from inventory.orders.answer import fill_rack
from inventory.web.drawings.end_grain import draw_sliced_board, draw_slicing
from inventory.web.drawings.hatching import HatchPatterns
from tests.solver.hand_written import DAY, make_offcut

DISPLAY = Display(Nearest.SIXTEENTH)
HATCHINGS = HatchPatterns.of(["ash", "walnut"])
ASKED = BoardRequest(
    inches("12"),
    inches("8"),
    inches("1 1/2"),
    Grain.END,
    prefer=(Preference.LEAST_WASTE,),
    fills=1,
    on=DAY,
    panel=PanelSpec(Grain.EDGE, 2, inches("1")),
)
"""Under this preference the board is of both species."""
RACK = [
    make_offcut("30", "6", "1", "ash", "AAAAAA1", count=3),
    make_offcut("44", "5", "15/16", "walnut", "BBBBBB1", count=2),
]


@pytest.fixture(scope="module")
def board() -> SlicedBoard:
    plan = fill_rack(RACK, ASKED)
    [sliced] = sliced_boards(lay_out_fill(plan.fills[0], plan.request))
    return sliced


def mm(length: int) -> Decimal:
    return Decimal(mm_text(length))


def cells(picture: ElementTree.Element, group: str, kind: str) -> list[tuple[Decimal, Decimal, Decimal, Decimal]]:
    """x, y, width and height of each rectangle of a kind."""
    [view] = [each for each in picture.iter("g") if each.get("class") == group]
    found = []
    for path in view.iter("path"):
        if path.get("class") == kind:
            for place in re.findall(r"M(\S+) (\S+?)h(\S+?)v(\S+?)h-\S+?z", path.attrib["d"]):
                x, y, width, height = map(Decimal, place)
                found.append((x, y, width, height))
    return found


def texts(picture: ElementTree.Element, kind: str) -> list[str | None]:
    return [text.text for text in picture.iter("text") if text.get("class") == kind]


def test_the_cells_of_all_rows_cover_the_glued_rows_once(board: SlicedBoard) -> None:
    picture = ElementTree.fromstring(draw_sliced_board(board, DISPLAY, HATCHINGS, "end"))
    drawn = cells(picture, "drawn-rows", "ink-strip")
    assert sum(width * height for _, _, width, height in drawn) == mm(board.length) * mm(board.width)
    assert len({x for x, *_ in drawn}) == board.rows


def test_a_turned_row_is_drawn_from_the_other_side(board: SlicedBoard) -> None:
    picture = ElementTree.fromstring(draw_sliced_board(board, DISPLAY, HATCHINGS, "end"))
    drawn = cells(picture, "drawn-rows", "ink-strip")
    first, second = (sorted((y, height) for x, y, _, height in drawn if x == mm(board.depth * row)) for row in (0, 1))
    assert second == sorted((mm(board.width) - y - height, height) for y, height in first)


def test_every_slice_has_its_number_and_its_kerf(board: SlicedBoard) -> None:
    picture = ElementTree.fromstring(draw_slicing(board, DISPLAY, HATCHINGS, "slicing"))
    assert texts(picture, "ink-number") == [str(row) for row in range(1, board.rows + 1)]
    views = [each for each in picture.iter("g") if each.get("class") == "drawn-panel"]
    assert len(views) == 2
    kerfs = sum(
        len(re.findall("z", path.attrib["d"]))
        for view in views
        for path in view.iter("path")
        if path.get("class") == "ink-kerf"
    )
    assert kerfs == board.rows - 2


def test_the_drawing_says_which_slices_are_turned(board: SlicedBoard) -> None:
    picture = ElementTree.fromstring(draw_sliced_board(board, DISPLAY, HATCHINGS, "end"))
    assert "Turned end for end: 2, 4 … 12, every second." in texts(picture, "ink-caption")
    assert picture.findtext("desc") == (
        "13 rows, each 1 in of the length, 8 in wide, 1 1/2 in thick when finished, of ash, walnut. "
        "Turned end for end: 2, 4 … 12, every second."
    )


def test_one_row_alone_is_neither_turned_nor_glued() -> None:
    asked = replace(ASKED, length=inches("3/4"), panel=PanelSpec(Grain.EDGE, 1, inches("1")))
    plan = fill_rack(RACK, asked)
    [sliced] = sliced_boards(lay_out_fill(plan.fills[0], plan.request))
    assert (sliced.rows, list(sliced.turned_rows)) == (1, [])
    assert "Turned" not in draw_sliced_board(sliced, DISPLAY, HATCHINGS, "end")


def rectangles(picture: ElementTree.Element, kind: str) -> list[tuple[Decimal, ...]]:
    """x, y, width and height of each shape of a kind that is drawn by itself."""
    sides = ("x", "y", "width", "height")
    return [
        tuple(Decimal(each.attrib[side]) for side in sides)
        for each in picture.iter("rect")
        if each.get("class") == kind
    ]


def test_what_is_trimmed_off_ends_and_sides_lies_around_the_finished_board(board: SlicedBoard) -> None:
    picture = ElementTree.fromstring(draw_sliced_board(board, DISPLAY, HATCHINGS, "end"))
    [finished] = rectangles(picture, "ink-board")
    # 13 rows of 1 in are 1 in longer than the board; the rows are 1/8 in wider than it.
    assert finished == (mm(inches("1/2")), mm(inches("1/16")), mm(inches("12")), mm(inches("8")))
    trims = rectangles(picture, "ink-trim")
    assert sum(width * height for _, _, width, height in trims) == (
        mm(board.length) * mm(board.width) - finished[2] * finished[3]
    )
    assert mm(board.width) == mm(inches("8 1/8"))


def test_without_a_row_trim_only_the_ends_are_trimmed() -> None:
    asked = replace(ASKED, allowances=ASKED.allowances.with_value("row_trim", Length(0)))
    plan = fill_rack(RACK, asked)
    [sliced] = sliced_boards(lay_out_fill(plan.fills[0], plan.request))
    assert (sliced.width, sliced.side_trims) == (sliced.finished_width, (0, 0))
    picture = ElementTree.fromstring(draw_sliced_board(sliced, DISPLAY, HATCHINGS, "end"))
    assert len(rectangles(picture, "ink-trim")) == 2
