"""Offcuts, faces and allowances: what can be one, to the nanometer, and what is refused with a sentence."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.allowances import ALLOWANCE_MEANINGS, ALLOWANCE_NAMES, OVER_ZERO, Allowances, InvalidAllowance
from inventory.core.lengths import InvalidLength, Length, Unit, exact_text, inches, millimeters
from inventory.core.offcuts import (
    Face,
    InvalidOffcut,
    Mark,
    Offcut,
    marks_text,
    moisture_text,
    read_face,
    read_mark,
    read_moisture,
    species_key,
)

SHOP = Allowances()
PIECE = Offcut(millimeters("600"), millimeters("100"), millimeters("25"), "ash")


# --- offcuts -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "most_mm", "message"),
    [
        ("length", 10_000, "The length is over 10000 mm: too much for an offcut. Check the unit."),
        ("width", 900, "The width is over 900 mm: too much for an offcut. Check the unit."),
        ("thickness", 900, "The thickness is over 900 mm: too much for an offcut. Check the unit."),
    ],
)
def test_the_largest_offcut_is_one_and_a_nanometer_more_is_none(name: str, most_mm: int, message: str) -> None:
    most = Length(most_mm * 1_000_000)
    assert getattr(replace(PIECE, **{name: most}), name) == most
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, **{name: Length(most + 1)})
    assert (str(refused.value), refused.value.what) == (message, name)


@pytest.mark.parametrize("name", ["length", "width", "thickness"])
def test_one_nanometer_is_a_size_and_none_is_not(name: str) -> None:
    assert getattr(replace(PIECE, **{name: Length(1)}), name) == 1
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, **{name: Length(0)})
    assert (str(refused.value), refused.value.what) == (f"The {name} is 0. Type the {name} as measured.", name)


@pytest.mark.parametrize("count", [0, -1, 1000])
def test_a_tag_stands_for_1_to_999_pieces(count: int) -> None:
    assert replace(PIECE, count=1).count == 1
    assert replace(PIECE, count=999).count == 999
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, count=count)
    assert str(refused.value) == f"A tag stands for 1 to 999 like pieces, not {count}."
    assert refused.value.what == "count"


@pytest.mark.parametrize(("name", "most"), [("species", 60), ("location", 60), ("notes", 2000), ("batch", 60)])
def test_words_have_a_longest(name: str, most: int) -> None:
    assert getattr(replace(PIECE, **{name: "x" * most}), name) == "x" * most
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, **{name: "x" * (most + 1)})
    assert str(refused.value) == f"The {name} is longer than {most} letters. Shorten it."


def test_marks_are_in_one_order_each_once() -> None:
    piece = replace(PIECE, marks=(Mark.OILY, Mark.KEEP, Mark.OILY, Mark.METAL))
    assert piece.marks == (Mark.KEEP, Mark.METAL, Mark.OILY)
    assert piece == replace(PIECE, marks=(Mark.METAL, Mark.OILY, Mark.KEEP))
    assert marks_text(piece.marks) == "keep, metal, oily"


def test_the_marks_are_those_of_the_cutting_model() -> None:
    words = "keep, damp, metal, live edge, crack, knots, paint grade, oily"
    assert marks_text(Mark) == words
    assert [read_mark(word.upper()) for word in words.split(", ")] == list(Mark)
    with pytest.raises(InvalidOffcut) as refused:
        read_mark("wormy")
    assert (str(refused.value), refused.value.what) == (f'"wormy" is no mark. Choose from {words}.', "marks")


@pytest.mark.parametrize(
    ("typed", "percent"),
    [("8", Fraction(8)), ("8.5", Fraction("8.5")), (" 12,0 % ", Fraction(12)), ("0.1", Fraction("0.1")), ("200%", 200)],
)
def test_a_moisture_content_is_read_with_or_without_its_sign(typed: str, percent: Fraction) -> None:
    piece = replace(PIECE, moisture=read_moisture(typed), moisture_on=date(2030, 1, 31))
    assert piece.moisture == percent
    assert read_moisture(moisture_text(percent)) == percent


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("dry", '"dry" is no moisture content. Type a percentage such as 8.5.'),
        ("-8", '"-8" is no moisture content. Type a percentage such as 8.5.'),
        (
            "0",
            "0 % is no moisture content of wood: it is over 0 and at most 200. Read the meter again.",
        ),
        (
            "200.1",
            "200.1 % is no moisture content of wood: it is over 0 and at most 200. Read the meter again.",
        ),
        (
            "8.54",
            "8.54 % is finer than a moisture meter reads. Type it with one decimal, such as 8.5.",
        ),
    ],
)
def test_what_no_meter_reads_is_no_moisture_content(typed: str, message: str) -> None:
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, moisture=read_moisture(typed))
    assert (str(refused.value), refused.value.what) == (message, "moisture")


def test_a_day_without_a_moisture_content_is_refused() -> None:
    with pytest.raises(InvalidOffcut) as refused:
        replace(PIECE, moisture_on=date(2030, 1, 31))
    assert str(refused.value) == (
        "The moisture was read on 2030-01-31, but its percentage is missing. Type it, or leave the day empty."
    )


@pytest.mark.parametrize(
    ("face_a", "face_b", "dirty"),
    [
        (Face.PLANED, Face.PLANED, 0),
        (Face.PLANED, Face.ROUGH, 1),
        (Face.FINISHED, Face.PLANED, 1),
        (Face.ROUGH, Face.FINISHED, 2),
    ],
)
def test_a_face_that_is_not_planed_is_dirty(face_a: Face, face_b: Face, dirty: int) -> None:
    assert replace(PIECE, face_a=face_a, face_b=face_b).unsurfaced_faces == dirty


@pytest.mark.parametrize(
    ("typed", "face"), [("rough", Face.ROUGH), (" Planed ", Face.PLANED), ("FINISHED", Face.FINISHED)]
)
def test_a_face_is_read_however_it_is_typed(typed: str, face: Face) -> None:
    assert read_face(typed) is face


def test_a_face_that_is_none_is_refused() -> None:
    with pytest.raises(InvalidOffcut) as refused:
        read_face("wavy")
    assert str(refused.value) == '"wavy" is no condition of a face. Type rough, planed or finished.'
    assert refused.value.what == "face"


@given(st.text(max_size=40))
def test_two_spellings_of_a_species_are_one_however_they_are_spaced_and_capitalised(name: str) -> None:
    key = species_key(name)
    assert species_key(f"  {name.replace(' ', '   ')} ") == key
    assert species_key(key) == key


def test_a_species_typed_in_two_ways_is_one_letter() -> None:
    assert species_key("H\u00eatre") == species_key("He\u0302tre")


# --- allowances ----------------------------------------------------------------------------------


# The defaults as the cutting model's table gives them, in inches (common practice, no source).
@pytest.mark.parametrize(
    ("name", "default"),
    [
        ("rip_kerf", "1/8"), ("crosscut_kerf", "1/8"), ("resaw_kerf", "1/16"), ("rough_face", "1/16"),
        ("finished_face", "1/32"), ("planed_face", "0"), ("edge_jointing", "1/32"), ("leaf_clean", "1/32"),
        ("flattening", "1/8"), ("end_trim", "1"), ("side_trim", "1/8"), ("row_trim", "1/8"), ("keep_length", "6"),
        ("keep_width", "3/4"), ("keep_thickness", "1/4"), ("max_strip_width", "12"), ("min_strip_width", "3/4"),
        ("thinnest_lamination", "1/4"), ("prime_length", "96"), ("prime_width", "6"),
    ],
)  # fmt: skip
def test_a_shop_starts_with_the_models_allowances(name: str, default: str) -> None:
    assert getattr(SHOP, name) == inches(default)
    assert name in ALLOWANCE_MEANINGS


def test_no_allowance_is_without_a_name_and_a_meaning() -> None:
    assert tuple(each.name for each in fields(Allowances)) == ALLOWANCE_NAMES == tuple(ALLOWANCE_MEANINGS)
    assert len(ALLOWANCE_NAMES) == 21


@pytest.mark.parametrize(
    ("face_a", "face_b", "clean"),
    [
        (Face.ROUGH, Face.ROUGH, "3/4"),
        (Face.ROUGH, Face.PLANED, "13/16"),
        (Face.PLANED, Face.PLANED, "7/8"),
        (Face.FINISHED, Face.PLANED, "27/32"),
        (Face.FINISHED, Face.ROUGH, "25/32"),
    ],
)
def test_clean_thickness_is_what_is_left_between_two_clean_faces(face_a: Face, face_b: Face, clean: str) -> None:
    piece = Offcut(inches("20"), inches("4"), inches("7/8"), face_a=face_a, face_b=face_b)
    assert SHOP.clean_thickness(piece) == inches(clean)


def test_a_piece_thinner_than_its_faces_has_no_clean_thickness() -> None:
    leaf = Offcut(inches("20"), inches("4"), Length(inches("1/8") - 1))
    assert SHOP.clean_thickness(leaf) == -1


def test_a_leftover_is_kept_from_each_keep_size_on_and_not_a_nanometer_below() -> None:
    sizes = (SHOP.keep_length, SHOP.keep_width, SHOP.keep_thickness)
    assert SHOP.keeps(*sizes)
    for axis in range(3):
        under = [size - (place == axis) for place, size in enumerate(sizes)]
        assert not SHOP.keeps(*under)


def test_a_leftover_of_nothing_is_never_kept() -> None:
    keeps_all = replace(SHOP, keep_length=Length(0), keep_width=Length(0), keep_thickness=Length(0))
    assert keeps_all.keeps(1, 1, 1)
    assert not keeps_all.keeps(0, 1, 1)
    assert not keeps_all.keeps(1, -1, 1)


@pytest.mark.parametrize("name", ALLOWANCE_NAMES)
def test_an_allowance_is_between_0_and_a_meter_and_a_prime_length_up_to_ten(name: str) -> None:
    most = 10_000 if name == "prime_length" else 1_000
    for size in (-1, most * 1_000_000 + 1):
        with pytest.raises(InvalidAllowance) as refused:
            replace(SHOP, **{name: Length(size)})
        assert str(refused.value) == f"{name} must be between 0 and {most} mm. Check the unit."
        assert refused.value.what == name


@pytest.mark.parametrize("size", ["length", "width"])
def test_a_prime_piece_has_a_size(size: str) -> None:
    with pytest.raises(InvalidAllowance) as refused:
        replace(SHOP, **{f"prime_{size}": Length(0)})
    assert str(refused.value) == f"prime_{size} can't be 0. Type the {size} of a piece worth its full price."


@pytest.mark.parametrize("name", ["max_strip_width", "min_strip_width"])
def test_a_strip_has_a_width(name: str) -> None:
    with pytest.raises(InvalidAllowance) as refused:
        replace(SHOP, **{name: Length(0)})
    assert str(refused.value) == f"{name} can't be 0. Type the width of a strip."


def test_the_narrowest_strip_may_be_as_wide_as_the_widest_but_not_wider() -> None:
    assert replace(SHOP, min_strip_width=SHOP.max_strip_width).min_strip_width == SHOP.max_strip_width
    with pytest.raises(InvalidAllowance) as refused:
        replace(SHOP, min_strip_width=Length(SHOP.max_strip_width + 1))
    assert str(refused.value) == (
        "min_strip_width is wider than max_strip_width: no strip could be ripped. Make it narrower."
    )


@given(st.sampled_from([name for name in ALLOWANCE_NAMES if name not in OVER_ZERO]), st.integers(0, 10**9))
def test_an_allowance_typed_again_is_taken_exactly_and_the_others_stay(name: str, size: int) -> None:
    changed = SHOP.changed({name: exact_text(size, Unit.INCH)}, Unit.INCH)
    assert changed == replace(SHOP, **{name: Length(size)})


def test_an_unknown_allowance_is_named_with_all_that_are_known() -> None:
    with pytest.raises(InvalidAllowance) as refused:
        SHOP.changed({"saw_kerf": "1/8"}, Unit.INCH)
    assert str(refused.value) == (
        f'"saw_kerf" is no allowance of the cutting model. Known are: {", ".join(ALLOWANCE_NAMES)}.'
    )


def test_an_allowance_that_is_no_length_is_refused_as_a_length() -> None:
    with pytest.raises(InvalidLength) as refused:
        SHOP.changed({"rip_kerf": "thin"}, Unit.INCH)
    assert str(refused.value) == '"thin" is not a length. Type 23 1/2, 23.5 in or 597 mm.'
