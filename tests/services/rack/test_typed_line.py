"""The typed line: as it is typed at the saw, as it is written back, and what is wrong with it."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.lengths import Display, Length, Nearest, Unit, inches, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.services.rack.tagging import normalize_offcut
from inventory.services.rack.typed_line import InvalidTypedLine, describe_line, read_line
from inventory.settings import Settings

INCH = Settings()
METRIC = Settings(display=Display(Nearest.TENTH_MM))

ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 2")


@pytest.mark.parametrize(
    "line",
    [
        "ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2",
        "ash 23½ × 3¼ × 13⁄16 rough rough @ wall 2",
        'ash 23.5" * 3.25" * 13/16" rough@wall 2',
        "ash 23-1/2 by 3-1/4 by 13/16 in rough @  wall  2 ",
        "ash 1' 11 1/2\" x 3 1/4 x 13/16 @ wall 2",
        "ash 23 1/2x3 1/4x13/16 @ wall 2 #",
        "1 OF ash 23 1/2 X 3 1/4 X 13/16 ROUGH @ wall 2",
        '"ash" 596.9 mm x 8.255 cm x 13/16 inches rough @ "wall 2"',
    ],
)
def test_one_piece_typed_in_many_ways_is_one_piece(line: str) -> None:
    assert read_line(line, INCH) == ASH


def test_all_that_a_line_can_say() -> None:
    assert read_line(
        "4 of white oak 597 x 83 x 21 planed rough @ bin #3 # a nail @ one end # near the knot", METRIC
    ) == (
        Offcut(
            millimeters("597"),
            millimeters("83"),
            millimeters("21"),
            "white oak",
            Face.PLANED,
            Face.ROUGH,
            count=4,
            location="bin #3",
            notes="a nail @ one end # near the knot",
        )
    )


def test_a_unit_after_the_last_size_is_for_all_three() -> None:
    assert read_line("ash 597 x 83 x 21 mm", INCH) == read_line("ash 59.7 x 8.3 x 2.1 cm", INCH)
    assert read_line("ash 59.7 x 8.3 x 2.1 cm", INCH) == read_line("ash 597 x 83 x 21", METRIC)
    assert read_line("ash 23 1/2 x 3 1/4 x 13/16 in @ wall 2", METRIC) == ASH


def test_a_unit_after_another_size_is_for_that_alone() -> None:
    mixed = read_line("ash 597 mm x 3 1/4 x 13/16", INCH)
    assert (mixed.length, mixed.width) == (millimeters("597"), inches("3 1/4"))


def test_what_the_line_leaves_out_is_as_on_the_last_piece_save_count_and_notes() -> None:
    last = Offcut(
        inches("9"), inches("9"), inches("9"), "cherry", Face.PLANED, Face.FINISHED, 3, "0000011", "shelf", None, "old"
    )
    after = Offcut(inches("12"), inches("3"), inches("1"), "cherry", Face.PLANED, Face.FINISHED, location="shelf")
    assert read_line("12 x 3 x 1", INCH, last=last) == after
    assert read_line("ash 12 x 3 x 1 rough @ wall 2", INCH, last=last) == read_line(
        "ash 12 x 3 x 1 rough @ wall 2", INCH
    )


def test_an_at_alone_clears_the_location() -> None:
    assert read_line("12 x 3 x 1 @", INCH, last=ASH).location == ""


@pytest.mark.parametrize(
    ("line", "what", "sentence"),
    [
        ("  ", "line", "Nothing was typed. Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2"),
        (
            "ash",
            "line",
            "The line has no size; it needs length, width and thickness. "
            "Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2",
        ),
        (
            "ash 23 1/2 x 3 1/4",
            "line",
            "The line has 2 sizes; it needs length, width and thickness. "
            "Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2",
        ),
        (
            "ash 1 x 2 x 3 x 4",
            "line",
            "The line has 4 sizes; it needs length, width and thickness. "
            "Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2",
        ),
        (
            "ash 23 1/0 x 3 x 1",
            "length",
            'length: "23 1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.',
        ),
        (
            "ash 23 x -3 x 1",
            "width",
            'width: "-3" is not a length: it begins with a sign. Type 23 1/2, 23.5 in or 597 mm.',
        ),
        ("ash 23 x 3 x 0", "thickness", "The thickness is 0. Type the thickness as measured."),
        ("ash 23 x 40 x 1", "width", "The width is over 900 mm: too much for an offcut. Check the unit."),
        (
            "ash 23 1/2 x 3 1/4 x 20 mm",
            "length",
            'length: "23 1/2" has no unit, and the last size is in mm. Write the unit after each size.',
        ),
        (
            "ash 23 x 3 x 1 ruff",
            "face",
            '"ruff" is no condition of a face. Type rough, planed or finished. '
            "Put @ before the location and # before notes.",
        ),
        (
            "ash 23 x 3 x 1 rough on wall 2",
            "face",
            '"rough on wall 2" stands after the sizes, where there is room for two faces. '
            "Put @ before the location and # before notes.",
        ),
        ("0 of ash 23 x 3 x 1", "count", "A tag stands for 1 to 999 like pieces, not 0."),
        (
            '"ash 23 x 3 x 1',
            "species",
            'The species begins with a quotation mark that is not closed. Type another " after it.',
        ),
        (
            '"ash" or oak 23 x 3 x 1',
            "species",
            '"or" stands between the species and the length. Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2',
        ),
        (
            'ash 23 x 3 x 1 @ "wall" 2',
            "location",
            '"2" stands after the location. Put # before notes.',
        ),
        (f"{'a' * 61} 23 x 3 x 1", "species", "The species is longer than 60 letters. Shorten it."),
        ("# " + "n" * 2500, "notes", "The line is longer than 2500 letters. Shorten its notes."),
    ],
)
def test_a_line_that_cannot_be_is_reported_with_its_mending(line: str, what: str, sentence: str) -> None:
    with pytest.raises(InvalidTypedLine) as refused:
        read_line(line, INCH)
    assert (str(refused.value), refused.value.what) == (sentence, what)


def test_a_fraction_without_a_unit_in_a_metric_shop_is_asked_about() -> None:
    with pytest.raises(InvalidTypedLine) as refused:
        read_line("ash 23 1/2 x 83 x 21", METRIC)
    assert str(refused.value) == (
        'length: "23 1/2" could be inches: this shop measures in millimetres and a fraction has no unit. '
        "Type 23 1/2 in, or the size in mm."
    )


def test_the_example_is_in_the_unit_of_the_shop() -> None:
    with pytest.raises(InvalidTypedLine) as refused:
        read_line("", METRIC)
    assert str(refused.value) == "Nothing was typed. Type it as: ash 597 x 83 x 21 rough @ wall 2"


@pytest.mark.parametrize(
    ("offcut", "unit", "line"),
    [
        (ASH, Unit.INCH, "ash 23 1/2 x 3 1/4 x 13/16 in rough @ wall 2"),
        (ASH, Unit.MILLIMETER, "ash 596.9 x 82.55 x 20.6375 mm rough @ wall 2"),
        (Offcut(millimeters("597"), inches("3"), inches("1")), Unit.INCH, "597 mm x 3 in x 1 in rough"),
        (
            Offcut(
                inches("9"),
                inches("3"),
                inches("1"),
                '3 ply "A"',
                Face.PLANED,
                count=12,
                location='a "b" # c',
                notes="d",
            ),
            Unit.INCH,
            '12 of "3 ply ""A""" 9 x 3 x 1 in planed rough @ "a ""b"" # c" # d',
        ),
    ],
)
def test_a_piece_is_written_as_one_would_type_it(offcut: Offcut, unit: Unit, line: str) -> None:
    assert describe_line(offcut, unit) == line


LENGTHS = st.one_of(st.integers(1, 2000).map(lambda n: Length(n * 396_875)), st.integers(1, 900_000_000).map(Length))


@given(
    sizes=st.tuples(LENGTHS, LENGTHS, LENGTHS),
    names=st.tuples(st.text(max_size=60), st.text(max_size=60), st.text(max_size=200)),
    faces=st.tuples(st.sampled_from(Face), st.sampled_from(Face)),
    count=st.integers(1, 999),
    unit=st.sampled_from(Unit),
    shop=st.sampled_from([INCH, METRIC]),
)
def test_every_line_that_is_written_reads_back_in_any_shop(
    sizes: tuple[Length, Length, Length],
    names: tuple[str, str, str],
    faces: tuple[Face, Face],
    count: int,
    unit: Unit,
    shop: Settings,
) -> None:
    species, location, notes = names
    offcut = normalize_offcut(Offcut(*sizes, species, *faces, count, location=location, notes=notes), date(2030, 1, 31))
    assert read_line(describe_line(offcut, unit), shop) == offcut
