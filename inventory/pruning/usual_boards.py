"""Usual boards: what a shop makes again and again, how many a year and in which months.

A rate is boards a year, to two places.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.errors import UserError
from inventory.core.offcuts import MAX_NAME_LENGTH
from inventory.fill.request import BoardRequest

MAX_PER_YEAR = 1000
"""A shop that makes more of one board does not make it from offcuts."""

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


class InvalidUsualBoard(UserError):
    """An invalid usual board; `what` names the value that is wrong."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class UsualBoard:
    """A board that is made `a_year` times in a year, spread evenly over `months`; none named means all twelve."""

    name: str
    request: BoardRequest
    a_year: Fraction
    months: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not self.name:
            raise InvalidUsualBoard("A usual board needs a name. Type what you call it.", "name")
        if len(self.name) > MAX_NAME_LENGTH:
            raise InvalidUsualBoard(f"The board's name is longer than {MAX_NAME_LENGTH} letters. Shorten it.", "name")
        if self.a_year <= 0:
            raise InvalidUsualBoard(
                f'"{self.name}" is made 0 times a year and so needs no wood. '
                "Type how many a year (0.5 is one in two years), or leave it off the list.",
                "a_year",
            )
        if self.a_year > MAX_PER_YEAR:
            raise InvalidUsualBoard(
                f'"{self.name}" can\'t be made {rate_text(self.a_year)} times a year from offcuts. '
                f"Type a number up to {MAX_PER_YEAR}.",
                "a_year",
            )
        if any(not 1 <= month <= 12 for month in self.months):
            raise InvalidUsualBoard("A month is a number from 1 to 12. Choose months of the year.", "months")

    def in_month(self, month: int) -> float:
        """How many are made on average in this month of the year."""
        if self.months and month not in self.months:
            return 0.0
        return float(self.a_year) / (len(self.months) or 12)


def read_rate(text: str) -> Fraction:
    """How many a year, as typed, to two places. Raises InvalidUsualBoard.

    >>> read_rate("2,5"), read_rate("12 a year")
    (Fraction(5, 2), Fraction(12, 1))
    """
    typed = re.fullmatch(r"(\d{1,12}(?:[.,]\d{1,2})?)\s*(?:a year)?", text.strip())
    if typed is None:
        raise InvalidUsualBoard(
            f'"{text.strip()[:40]}" is no number of boards a year. Type one such as 6 or 0.5.', "a_year"
        )
    return Fraction(typed[1].replace(",", "."))


def rate_text(rate: Fraction) -> str:
    """A rate as it is typed.

    >>> rate_text(Fraction(5, 2)), rate_text(Fraction(12))
    ('2.5', '12')
    """
    return f"{float(rate):.2f}".rstrip("0").rstrip(".")


def format_rate(rate: Fraction) -> str:
    """A rate in words.

    >>> [format_rate(Fraction(each)) for each in ("12", "2.5", "1", "0.5", "0.41", "0.1")]
    ['12 a year', '2.5 a year', 'one a year', 'one in 2 years', 'one in 2.4 years', 'one in 10 years']
    """
    if rate >= 1:
        return "one a year" if rate == 1 else f"{rate_text(rate)} a year"
    return f"one in {float(1 / rate):.1f}".removesuffix(".0") + " years"


def format_times(times: int) -> str:
    """How often: `once`, `twice`, `3 times`."""
    return {1: "once", 2: "twice"}.get(times, f"{times:,} times")


def normalize_months(months: Iterable[int]) -> tuple[int, ...]:
    """Months in order, each once; none where all twelve are named.

    >>> normalize_months([12, 1, 12]), normalize_months(range(1, 13))
    ((1, 12), ())
    """
    named = tuple(sorted(set(months)))
    return () if len(named) == 12 else named
