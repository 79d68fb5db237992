"""Lengths as people type them, as they are shown, and back; areas, volumes and board feet."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.lengths import (
    MAX_LENGTH_NM,
    NM_PER_INCH,
    NM_PER_MM,
    ROUNDED_MARK,
    Display,
    InvalidLength,
    Length,
    Nearest,
    Unit,
    area_mm2,
    board_feet,
    exact_text,
    format_length,
    format_length_down,
    format_volume,
    inch_text,
    inches,
    millimeters,
    mm_text,
    read_length,
    rounded_to,
    typed_text,
    volume_mm3,
)

GLYPHS = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}
GLYPHS |= {Fraction(eighths, 8): glyph for eighths, glyph in zip((1, 3, 5, 7), "⅛⅜⅝⅞", strict=True)}

# Up to an inch below the longest, which a display may round up to more than can be typed.
lengths = st.integers(0, MAX_LENGTH_NM - NM_PER_INCH).map(Length)
units = st.sampled_from(Unit)
displays = st.sampled_from(Nearest).map(Display)
sixty_fourths = st.integers(1, 63).map(lambda parts: Fraction(parts, 64))


# --- typed ---------------------------------------------------------------------------------------


@given(st.integers(0, 3000), sixty_fourths, units)
def test_inches_and_a_fraction_read_the_same_in_every_way_of_typing(whole: int, part: Fraction, unit: Unit) -> None:
    expected = (whole + part) * NM_PER_INCH
    mixed = [f"{whole} {part}", f"{whole}-{part}", f"{whole} - {part}", f"{whole}‐{part}", f"{whole}–{part}"]
    mixed += [f"{whole} {part.numerator}⁄{part.denominator}", f"{whole}\u00a0{part}", f"  {whole}   {part} "]
    mixed += [f"{whole * part.denominator + part.numerator}/{part.denominator}"]
    if part in GLYPHS:
        mixed += [f"{whole}{GLYPHS[part]}", f"{whole} {GLYPHS[part]}", f"{whole}-{GLYPHS[part]}"]
    for mark in ('"', "″", "”", "''", " in", "in", " in.", " inch", " Inches"):
        for text in mixed:
            assert read_length(text + mark, unit) == expected, text + mark
    for text in mixed:
        assert read_length(text, Unit.INCH) == expected, text


@given(st.integers(0, 60), st.integers(0, 11), sixty_fourths, units)
def test_feet_and_inches_read_the_same_in_every_way_of_typing(feet: int, inch: int, part: Fraction, unit: Unit) -> None:
    expected = (12 * feet + inch + part) * NM_PER_INCH
    for foot in ("'", "′", "’", " ft", "ft", " ft.", " foot", " Feet"):
        for mark in ('"', "″", "''", " in", ""):
            for between in (" ", "-", " - ", ""):
                if between != "" or not foot.endswith(("t", "oot")):
                    text = f"{feet}{foot}{between}{inch} {part}{mark}"
                    assert read_length(text, unit) == expected, text


@given(st.integers(0, 9_999_999), units)
def test_hundredths_of_a_millimeter_read_the_same_in_mm_cm_and_m(hundredths: int, unit: Unit) -> None:
    expected = hundredths * NM_PER_MM // 100
    value = Fraction(hundredths, 100)
    typed = {"mm": f"{float(value):.2f}", "cm": f"{float(value / 10):.3f}", "m": f"{float(value / 1000):.5f}"}
    for word, text in typed.items():
        for each in (f"{text} {word}", f"{text}{word}", f"{text} {word.upper()}", f"{text.replace('.', ',')} {word}"):
            assert read_length(each, unit) == expected, each
    assert read_length(typed["mm"], Unit.MILLIMETER) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("23 1/2", "23 1/2"), ("23-1/2", "23 1/2"), ("23½", "23 1/2"), ("1' 11 1/2\"", "23 1/2"), ("23.5 in", "23 1/2"),
        ("23,5", "23 1/2"), (".5", "1/2"), ("1½'", "18"), ("⅓'", "4"), ("２３ ½", "23 1/2"), ("7/2", "3 1/2"),
        ("25.4 mm", "1"), ("2.54cm", "1"), ("2 ½ ft", "30"), ("5'-6-1/2\"", "66 1/2"), ("0", "0"),
    ],
)  # fmt: skip
def test_an_inch_shop_reads(text: str, expected: str) -> None:
    assert inch_text(read_length(text, Unit.INCH)) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("597", "597"),
        ("597 mm", "597"),
        ("59.7 cm", "597"),
        ("0.597 m", "597"),
        ("23 1/2 in", "596.9"),
        ("1/2 mm", "0.5"),
        ('23½"', "596.9"),
        ("1' 11 1/2", "596.9"),
        ("0.000001", "0.000001"),
        ("100 m", "100000"),
    ],
)
def test_a_metric_shop_reads(text: str, expected: str) -> None:
    assert mm_text(read_length(text, Unit.MILLIMETER)) == expected


INCH_EXAMPLES = "Type 23 1/2, 23.5 in or 597 mm."
MM_EXAMPLES = "Type 597, 59.7 cm or 23 1/2 in."
TOO_FINE = "is finer than a millionth of a millimetre and can't be kept exactly. "
TOO_FINE += "Type it in 64ths of an inch or in millimetres."


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", f"The size is missing. {INCH_EXAMPLES}"),
        ("   ", f"The size is missing. {INCH_EXAMPLES}"),
        ("wide", f'"wide" is not a length. {INCH_EXAMPLES}'),
        ("23 1/0", f'"23 1/0" is not a length: the fraction has 0 below the line. {INCH_EXAMPLES}'),
        ("-5", f'"-5" is not a length: it begins with a sign. {INCH_EXAMPLES}'),
        ("+5", f'"+5" is not a length: it begins with a sign. {INCH_EXAMPLES}'),
        ("5-", f'"5-" is not a length: it ends with a hyphen. {INCH_EXAMPLES}'),
        ("5 ells", f'"5 ells" is not a length: "ells" is no unit known here. {INCH_EXAMPLES}'),
        ("1e3", f'"1e3" is not a length: "e" is no unit known here. {INCH_EXAMPLES}'),
        ("5 5", f'"5 5" is not one length. {INCH_EXAMPLES}'),
        ("23.5.5", f'"23.5.5" is not one length. {INCH_EXAMPLES}'),
        ("½½", f'"½½" is not one length. {INCH_EXAMPLES}'),
        ("1' 2'", f"\"1' 2'\" is not one length. {INCH_EXAMPLES}"),
        ("1 1 1 1/2", f'"1 1 1 1/2" is not a length. {INCH_EXAMPLES}'),
        ("10²", f'"10²" is not a length. {INCH_EXAMPLES}'),
        ("1/3", f'"1/3" {TOO_FINE}'),
        ("1/128", f'"1/128" {TOO_FINE}'),
        ("0.0000001 mm", f'"0.0000001 mm" {TOO_FINE}'),
        ("100.000001 m", f'"100.000001 m" is longer than 100 m. Check the unit. {INCH_EXAMPLES}'),
        ("1" * 61, f'"{"1" * 20}…" is too long for a length. {INCH_EXAMPLES}'),
    ],
)
def test_an_inch_shop_refuses(text: str, message: str) -> None:
    with pytest.raises(InvalidLength) as refused:
        read_length(text, Unit.INCH)
    assert str(refused.value) == message


@pytest.mark.parametrize("text", ["23 1/2", "23½", "1/2"])
def test_a_metric_shop_asks_for_the_unit_of_a_fraction(text: str) -> None:
    with pytest.raises(InvalidLength) as refused:
        read_length(text, Unit.MILLIMETER)
    assert str(refused.value) == (
        f'"{text}" could be inches: this shop measures in millimetres and a fraction has no unit. '
        f"Type {text} in, or the size in mm."
    )


def test_a_metric_shop_shows_metric_examples() -> None:
    with pytest.raises(InvalidLength) as refused:
        read_length("wide", Unit.MILLIMETER)
    assert str(refused.value) == f'"wide" is not a length. {MM_EXAMPLES}'


@given(st.text(max_size=70), units)
def test_whatever_is_typed_is_a_length_or_one_sentence(text: str, unit: Unit) -> None:
    try:
        length = read_length(text, unit)
    except InvalidLength as refused:
        assert str(refused).endswith((".", "mm."))
    else:
        assert 0 <= length <= MAX_LENGTH_NM


@given(st.text(alphabet="0123456789 /.,-'\"½¼⅛′″⁄inmftc", max_size=20), units)
def test_what_looks_like_a_length_is_a_length_or_one_sentence(text: str, unit: Unit) -> None:
    try:
        length = read_length(text, unit)
    except InvalidLength as refused:
        assert str(refused).endswith((".", "mm."))
    else:
        assert 0 <= length <= MAX_LENGTH_NM


# --- printed and read back -----------------------------------------------------------------------


@given(lengths, units, units)
def test_an_exact_text_reads_back_to_the_nanometer_in_any_shop(length: Length, unit: Unit, shop: Unit) -> None:
    assert read_length(exact_text(length, unit), shop) == length


@given(lengths, units)
def test_a_text_for_a_form_reads_back_to_the_nanometer_in_its_own_shop(length: Length, unit: Unit) -> None:
    assert read_length(typed_text(length, unit), unit) == length


@given(st.integers(0, 64 * 3000), units)
def test_64ths_print_as_inches_and_read_back(parts: int, shop: Unit) -> None:
    length = parts * NM_PER_INCH // 64
    assert exact_text(length, Unit.INCH) == f"{inch_text(length)} in"
    assert read_length(exact_text(length, Unit.INCH), shop) == length


@given(st.integers(-MAX_LENGTH_NM, MAX_LENGTH_NM))
def test_millimeters_print_exactly(length: int) -> None:
    assert Fraction(mm_text(length)) * NM_PER_MM == length


def test_inches_refuse_what_64ths_do_not_hold() -> None:
    with pytest.raises(ValueError, match=r"^1 nm is not a multiple of 1/64 in$"):
        inch_text(1)


# --- shown ---------------------------------------------------------------------------------------


@given(lengths, displays)
def test_a_shown_length_has_the_mark_just_where_it_is_rounded(length: Length, display: Display) -> None:
    shown = format_length(length, display)
    nearest = read_length(shown.removeprefix(ROUNDED_MARK), display.unit)
    assert shown.startswith(ROUNDED_MARK) is (nearest != length)
    assert nearest % display.nearest.step == 0
    assert abs(nearest - length) * 2 <= display.nearest.step


@given(lengths, displays)
def test_a_length_shown_down_is_never_more_and_less_than_a_step_less(length: Length, display: Display) -> None:
    shown = format_length_down(length, display)
    assert not shown.startswith(ROUNDED_MARK)
    assert 0 <= length - read_length(shown, display.unit) < display.nearest.step


@pytest.mark.parametrize(
    ("length", "nearest", "shown"),
    [
        (inches("23 1/2"), Nearest.SIXTEENTH, "23 1/2 in"),
        (Length(inches("23 1/2") + 1), Nearest.SIXTEENTH, "≈23 1/2 in"),
        (Length(inches("23 1/2") - 1), Nearest.SIXTEENTH, "≈23 1/2 in"),
        (inches("23 17/32"), Nearest.SIXTEENTH, "≈23 9/16 in"),
        (Length(inches("23 17/32") - 1), Nearest.SIXTEENTH, "≈23 1/2 in"),
        (inches("23 17/32"), Nearest.THIRTY_SECOND, "23 17/32 in"),
        (inches("23 33/64"), Nearest.SIXTY_FOURTH, "23 33/64 in"),
        (millimeters("597"), Nearest.SIXTEENTH, "≈23 1/2 in"),
        (millimeters("597"), Nearest.TENTH_MM, "597 mm"),
        (millimeters("597.05"), Nearest.TENTH_MM, "≈597.1 mm"),
        (millimeters("597.049999"), Nearest.TENTH_MM, "≈597 mm"),
        (Length(0), Nearest.SIXTEENTH, "0 in"),
        (Length(1), Nearest.SIXTEENTH, "≈0 in"),
    ],
)
def test_a_length_is_shown_to_the_nearest_step_halves_up(length: Length, nearest: Nearest, shown: str) -> None:
    assert format_length(length, Display(nearest)) == shown
    assert format_length(length, Display(nearest), with_unit=False) == shown.rsplit(" ", 1)[0]


@given(lengths, st.integers(1, 10**8))
def test_rounding_takes_the_nearest_multiple(length: Length, step: int) -> None:
    nearest = rounded_to(length, step)
    assert nearest % step == 0
    assert -step < 2 * (nearest - length) <= step


# --- areas, volumes, board feet ------------------------------------------------------------------


@given(lengths, lengths, lengths)
def test_volumes_and_areas_are_rounded_down_to_whole_mm(length: Length, width: Length, thickness: Length) -> None:
    volume = Fraction(length, NM_PER_MM) * Fraction(width, NM_PER_MM) * Fraction(thickness, NM_PER_MM)
    assert 0 <= volume - volume_mm3(length, width, thickness) < 1
    area = Fraction(length, NM_PER_MM) * Fraction(width, NM_PER_MM)
    assert 0 <= area - area_mm2(length, width) < 1


def test_a_box_one_nanometer_under_a_whole_mm3_is_rounded_down() -> None:
    assert volume_mm3(millimeters("2"), millimeters("1"), millimeters("1")) == 2
    assert volume_mm3(Length(millimeters("2") - 1), millimeters("1"), millimeters("1")) == 1


def _feet_of_boards(length: str, width: str, thickness: str) -> Fraction:
    cubic_nm = inches(length) * inches(width) * inches(thickness)
    return Fraction(cubic_nm, 144 * NM_PER_INCH**3)


# Board measure: 144 in³ make 1 board foot. Worked examples as published, the source beside each.
@pytest.mark.parametrize(
    ("thickness", "width", "length", "expected"),
    [
        ("2", "8", "72", 8),  # common arithmetic, in³ / 144
        ("3", "8", "10'", 20),  # sawmill reference page, T·W·L/12
        ("4", "6", "10'", 20),  # timber dealer's reference page
        ("2", "6", "10'", 10),  # home-repair reference page, nominal 2 × 6
        ("1", "3", "8'", 2),  # furniture-making text page, nominal 1 × 3
        ("15/16", "3 1/4", "22 1/2", Fraction("0.47607421875")),  # derived: 68.5546875 in³ / 144
    ],
)
def test_board_measure_as_published(thickness: str, width: str, length: str, expected: Fraction) -> None:
    volume = volume_mm3(inches(length), inches(width), inches(thickness))
    assert _feet_of_boards(length, width, thickness) == expected
    # Whole mm³ lose less than one: under a two-millionth of a board foot.
    assert 0 <= expected - board_feet(volume) < Fraction(1, 2_000_000)


# AHEC, measurement page of its guide to the NHLA grading rules: 6 1/4 in × 8 ft has a surface measure of 4 ft² after
# rounding, at 2 in 8 board feet. The app tells board feet unrounded: 8 1/3.
def test_board_feet_are_not_rounded_to_a_surface_measure() -> None:
    assert _feet_of_boards("8'", "6 1/4", "2") == Fraction(25, 3)
    volume = volume_mm3(inches("8'"), inches("6 1/4"), inches("2"))
    assert format_volume(volume, Unit.INCH) == "8.33 bd ft"


# Derived from definition and international inch: 1 board foot is 2 359 737.216 mm³, 1 m³ is 423.776001 board feet.
def test_a_board_foot_in_mm3_and_a_cubic_metre_in_board_feet() -> None:
    assert 1 / board_feet(1) == Fraction("2359737.216")
    assert abs(board_feet(10**9) - Fraction("423.776001")) <= Fraction("0.000001")
    assert format_volume(10**9, Unit.MILLIMETER) == "1.0000 m³"


# International inch: 25.4 mm exactly (NIST Special Publication 811, Appendix B.6; from memory).
def test_an_inch_is_25_4_millimeters_and_64ths_are_whole_nanometers() -> None:
    assert inches("1") == millimeters("25.4")
    assert inches("1/64") == 396_875
    assert millimeters("0.01") == 10_000


@pytest.mark.parametrize("unit", list(Unit), ids=lambda unit: unit.value)
def test_a_comma_before_three_digits_is_asked_about_since_it_may_stand_for_thousands(unit: Unit) -> None:
    with pytest.raises(InvalidLength) as refused:
        read_length("3,500", unit)
    assert str(refused.value) == '"3,500" could be 3.500 or 3500. Type it without a comma.'
    assert read_length("0,500 in", unit) == inches("1/2")
    assert read_length("23,5 mm", unit) == millimeters("23.5")
