"""Whole numbers are read from the digits 0 to 9 alone, within their bounds."""

import pytest

from inventory.core.whole_numbers import LARGEST, read_integer


@pytest.mark.parametrize(("text", "number"), [("0", 0), (" 12 ", 12), ("007", 7), (str(LARGEST), LARGEST)])
def test_digits_are_read(text: str, number: int) -> None:
    assert read_integer(text) == number


@pytest.mark.parametrize("text", ["", " ", "-3", "+3", "1_000", "1.0", "²", "１２", "twelve", str(LARGEST + 1)])
def test_anything_else_is_none(text: str) -> None:
    assert read_integer(text) is None


def test_a_number_beyond_its_bounds_is_none() -> None:
    assert [read_integer(text, 1, 12) for text in ("0", "1", "12", "13")] == [None, 1, 12, None]
