"""Whole numbers as people type them and as addresses hold them."""

from __future__ import annotations

LARGEST = 999_999_999


def read_integer(text: str, least: int = 0, most: int = LARGEST) -> int | None:
    """The whole number that a text holds, spaces around it aside; None where it holds none from `least` to `most`.

    >>> read_integer(" 12 "), read_integer("12", most=10), read_integer(""), read_integer("-3")
    (12, None, None, None)
    """
    digits = text.strip()
    # int() reads more than the digits 0 to 9: "1_000", digits of other scripts; and it fails on a raised 2.
    if not (digits.isascii() and digits.isdigit() and len(digits) <= len(str(LARGEST))):
        return None
    return int(digits) if least <= int(digits) <= most else None
