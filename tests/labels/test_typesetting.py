"""The text of a label: type sizes, line breaks, truncation."""

from __future__ import annotations

import doctest
import importlib
from itertools import pairwise
from pathlib import Path

import pytest

from labels.errors import LabelError
from labels.geometry import MIN_TEXT_WIDTH, OVERHANG
from labels.qr import MIN_CODE_SIDE
from labels.typesetting import fonts
from labels.typesetting.fonts import MM_PER_POINT, FontFace, printable, text_width, visual_order, with_fractions
from labels.typesetting.words import LINE_STYLES, LineKind, TextRow, set_text, truncate

USUAL = (
    (LineKind.CODE, "7KQ-4M9X"),
    (LineKind.SPECIES, "White ash"),
    (LineKind.SIZES, "23½ × 3¼ × ¹³⁄₁₆ in"),
    (LineKind.CONDITION, "rough / planed"),
    (LineKind.LOCATION, "Wall 2, shelf 3"),
)
LONG = "from the old stair of the mill, air dried, with sapwood on one edge and a check at the far end"


def with_line(line: LineKind, text: str) -> list[tuple[LineKind, str]]:
    return [(which, text if which is line else usual) for which, usual in USUAL]


def of(rows: tuple[TextRow, ...], line: LineKind) -> list[TextRow]:
    return [row for row in rows if row.line is line]


def test_the_fonts_come_with_the_program_and_their_licence() -> None:
    folder = Path(fonts.__file__).parent / "faces"
    assert {path.name for path in folder.iterdir()} == {f"{face.value}.ttf" for face in FontFace} | {"LICENCE.txt"}
    assert all(path.stat().st_size < 1_000_000 for path in folder.iterdir())
    assert "Bitstream Vera" in (folder / "LICENCE.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("module", ["geometry", "qr", "stock", "typesetting.fonts", "typesetting.words"])
def test_the_examples_in_the_modules_hold(module: str) -> None:
    assert doctest.testmod(importlib.import_module(f"labels.{module}")).failed == 0


@pytest.mark.parametrize(("width", "height"), [(27, 22), (41, 22.4), (34, 26), (72, 47), (55, 80)])
def test_the_code_is_the_largest_text_and_sizes_come_next(width: float, height: float) -> None:
    rows = set_text(USUAL, width, height)
    (code,) = of(rows, LineKind.CODE)
    assert all(row.size < code.size for row in rows if row is not code)
    assert [row.line for row in rows] == sorted((row.line for row in rows), key=list(LineKind).index)


@pytest.mark.parametrize(("width", "height"), [(24, 17), (27, 22), (41, 22.4), (34, 26), (72, 47), (55, 80)])
@pytest.mark.parametrize("line", [line for line in LineKind if line is not LineKind.CODE])
def test_rows_stay_within_their_space_and_do_not_overlap(width: float, height: float, line: LineKind) -> None:
    rows = set_text(with_line(line, LONG), width, height)
    assert max(row.width for row in rows) <= width + 1e-5
    for above, row in pairwise(rows):
        # common practice, no source: capitals with an accent are 0.95 of the type size high
        assert row.baseline - above.baseline >= 0.95 * row.size * MM_PER_POINT
    assert rows[0].baseline - 0.73 * rows[0].size * MM_PER_POINT >= -1e-9
    assert rows[-1].baseline + 0.24 * rows[-1].size * MM_PER_POINT <= height + 1e-5


def test_no_line_is_set_under_its_least_readable_size() -> None:
    rows = set_text([(line, text if line is LineKind.CODE else LONG) for line, text in USUAL], 27, 21)
    assert all(row.size >= LINE_STYLES[row.line].min_size for row in rows)


def test_sizes_too_long_for_one_row_break_before_a_times_sign() -> None:
    rows = set_text(with_line(LineKind.SIZES, "1234.5 × 123.4 × 25.4 mm"), 27, 26)
    assert [row.text for row in of(rows, LineKind.SIZES)] == ["1234.5 × 123.4", "× 25.4 mm"]


def test_the_condition_is_cut_short_before_the_location_is() -> None:
    words = [
        (LineKind.CODE, "7KQ-4M9X"),
        (LineKind.CONDITION, LONG),
        (LineKind.LOCATION, "North wall, upper bay by the window"),
    ]
    rows = set_text(words, 30, 20)
    (condition,) = of(rows, LineKind.CONDITION)
    assert condition.text.endswith("…")
    assert " ".join(row.text for row in of(rows, LineKind.LOCATION)) == "North wall, upper bay by the window"


def test_a_name_too_long_for_two_rows_is_cut_once_at_its_end() -> None:
    name = "American black walnut with a very long trade name from elsewhere"
    first, second = (row.text for row in of(set_text(with_line(LineKind.SPECIES, name), 27, 21), LineKind.SPECIES))
    assert second.endswith("…")
    assert name.startswith(f"{first} {second[:-1]}")


def test_a_text_is_cut_with_an_ellipsis_at_exactly_its_width() -> None:
    width = text_width("Black walnut…", FontFace.BOLD, 9)
    assert truncate("Black walnut steamed", FontFace.BOLD, 9, width) == "Black walnut…"
    assert truncate("Black walnut steamed", FontFace.BOLD, 9, width - 0.001) == "Black walnu…"
    assert truncate("Black walnut", FontFace.BOLD, 9, text_width("Black walnut", FontFace.BOLD, 9)) == "Black walnut"


def test_the_smallest_space_that_a_label_may_have_takes_the_widest_code_and_four_long_lines() -> None:
    least_height = MIN_CODE_SIDE * (21 + 8) / 21
    words = [(line, "WWW-WWWW" if line is LineKind.CODE else LONG) for line in LineKind]
    rows = set_text(words, MIN_TEXT_WIDTH - OVERHANG, least_height)
    assert {row.line for row in rows} == set(LineKind)
    assert of(rows, LineKind.CODE)[0].text == "WWW-WWWW"


@pytest.mark.parametrize(("width", "height"), [(15.0, 30.0), (40.0, 6.0)])
def test_a_space_too_small_for_words_is_said(width: float, height: float) -> None:
    with pytest.raises(LabelError) as refused:
        set_text(USUAL, width, height)
    assert str(refused.value) == (
        f"A space of {width:.1f} × {height:.1f} mm is too small for a label's words. Choose larger labels."
    )


def test_empty_lines_are_left_out() -> None:
    rows = set_text([(LineKind.CODE, "7KQ-4M9X"), (LineKind.SPECIES, " \n "), (LineKind.SIZES, "")], 40, 20)
    assert [row.text for row in rows] == ["7KQ-4M9X"]
    assert set_text([(LineKind.CODE, "")], 40, 20) == ()


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("樫", "▯"),
        ("ナラ (oak)", "▯▯ (oak)"),
        ("🪵 ash", "▯ ash"),
        ("che\u0302ne", "chêne"),
        ("two\nlines\tof  it", "two lines of it"),
        ("left\u202eright\u200b", "leftright"),
        ("half \ud800", "half ▯"),
        ("дуб", "дуб"),
        ("δρυς", "δρυς"),
        ("≈ 12⅜″ × 5′", "≈ 12⅜″ × 5′"),
    ],
)
def test_what_the_font_lacks_is_shown_as_a_box_and_nothing_fails(given: str, shown: str) -> None:
    assert printable(given) == shown


@pytest.mark.parametrize(
    ("text", "set_as"),
    [
        ("ash", "ash"),
        ("אלון", "ןולא"),
        ("אלון אדום", "םודא ןולא"),
        ("oak אלון 2", "oak ןולא 2"),
        ("", ""),
    ],
)
def test_right_to_left_names_are_turned_into_reading_order(text: str, set_as: str) -> None:
    assert visual_order(text) == set_as


@pytest.mark.parametrize(
    ("sizes", "shown"),
    [
        ("23 1/2 × 3 1/4 × 13/16 in", "23½ × 3¼ × ¹³⁄₁₆ in"),
        ("≈ 96 1/32 × 11 15/64 × 7/8 in", "≈ 96¹⁄₃₂ × 11¹⁵⁄₆₄ × ⅞ in"),
        ("1′ 11 1/2″", "1′ 11½″"),
        ("597 × 82.5 × 20.6 mm", "597 × 82.5 × 20.6 mm"),
        ("1/3 of 2/7", "1/3 of 2/7"),
        ("1/2/3", "1/2/3"),
        ("0.1/2", "0.1/2"),
    ],
)
def test_fractions_of_an_inch_become_one_sign(sizes: str, shown: str) -> None:
    assert with_fractions(sizes) == shown
