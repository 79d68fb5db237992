"""Numbers with their nouns."""

from __future__ import annotations


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "tag"), counted(1200, "tag"), counted(2, "leaf", "leaves")
    ('1 tag', '1,200 tags', '2 leaves')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"
