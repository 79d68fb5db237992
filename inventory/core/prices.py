"""Prices of wood by species, as the shop types them; values are exact.

Amounts are Fractions of the shop's own currency; volumes whole mm³.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from inventory.core.errors import UserError
from inventory.core.lengths import Unit, board_feet
from inventory.core.offcuts import MAX_NAME_LENGTH, species_key
from inventory.core.species import find_species

MAX_PRICES = 200
MAX_CURRENCY_LENGTH = 12
MAX_LINE_LENGTH = 500
_MM3_IN_A_M3 = 10**9
_LINE = re.compile(
    r"(?P<species>\S.*?)[\s:=]+(?P<amount>\d{1,7}(?:[.,]\d{1,2})?)"
    r"(?:\s*(?:/|an? |per )?\s*(?P<per>bd ft|board foot|m³|m3))?",
    re.IGNORECASE,
)


class InvalidPrice(UserError):
    """A price or a currency that can't be read; the message names the line."""


class Per(Enum):
    """What a price is for."""

    BOARD_FOOT = "bd ft"
    CUBIC_METER = "m³"


_PER_WORDS = {
    "bd ft": Per.BOARD_FOOT,
    "board foot": Per.BOARD_FOOT,
    "m³": Per.CUBIC_METER,
    "m3": Per.CUBIC_METER,
}


@dataclass(frozen=True)
class Price:
    """`amount` for a board foot or a cubic meter of a species; it has at most two places."""

    species: str
    amount: Fraction
    per: Per

    def of(self, volume: int) -> Fraction:
        """What so many mm³ are worth, not rounded.

        >>> Price("ash", Fraction("12.50"), Per.CUBIC_METER).of(2_000_000_000)
        Fraction(25, 1)
        """
        count = board_feet(volume) if self.per is Per.BOARD_FOOT else Fraction(volume, _MM3_IN_A_M3)
        return self.amount * count


@dataclass(frozen=True)
class PriceList:
    """The shop's prices; `currency` is a word or sign that is written behind them, may be empty."""

    currency: str = ""
    prices: tuple[Price, ...] = ()

    def price_of(self, species: str) -> Price | None:
        """The price under this name, else under another name of the same species."""
        key = species_key(species)
        if not key:
            return None
        by_name = {species_key(each.species): each for each in self.prices}
        known = find_species(species)
        others = [each for each in self.prices if known is not None and find_species(each.species) is known]
        return by_name.get(key) or (others[0] if others else None)

    def format(self, amount: Fraction) -> str:
        """An amount to the hundredth, halves up, with the currency.

        >>> PriceList("€").format(Fraction("1234.565"))
        '1,234.57 €'
        """
        hundredths = (amount * 200 + 1) // 2
        return f"{hundredths // 100:,}.{hundredths % 100:02d} {self.currency}".strip()


def read_currency(text: str) -> str:
    """The word or sign for the shop's money. Raises InvalidPrice."""
    word = " ".join(text.split())
    if len(word) > MAX_CURRENCY_LENGTH:
        raise InvalidPrice(f"The currency is longer than {MAX_CURRENCY_LENGTH} letters. Type a sign or a short word.")
    if re.search(r"\d", word):
        raise InvalidPrice(f'"{word}" has a digit in it and would be read as a price. Type a sign or a word.')
    return word


def read_prices(text: str, unit: Unit) -> tuple[Price, ...]:
    """Prices as typed, a line each: a species, then the price of a board foot in an inch shop, else of a m³.

    `a bd ft` or `a m³` behind it says so whatever the shop's unit. Raises InvalidPrice, with the line.

    >>> read_prices("black walnut 14.50", Unit.INCH)[0].amount
    Fraction(29, 2)
    """
    lines = [(number, " ".join(line.split())) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if len(lines) > MAX_PRICES:
        raise InvalidPrice(f"There are {len(lines)} lines of prices and {MAX_PRICES} at most. Leave some out.")
    seen: dict[str, int] = {}
    found = []
    for number, line in lines:
        price = _read_line(number, line, unit)
        key = species_key(price.species)
        if key in seen:
            raise InvalidPrice(
                f"Line {number} gives a price for {price.species} again, after line {seen[key]}. Keep one."
            )
        seen[key] = number
        found.append(price)
    return tuple(found)


def _read_line(number: int, line: str, unit: Unit) -> Price:
    # The pattern looks at a line of signs from each of them on: at a very long one for minutes.
    typed = _LINE.fullmatch(line) if len(line) <= MAX_LINE_LENGTH else None
    usual = Per.BOARD_FOOT if unit is Unit.INCH else Per.CUBIC_METER
    if typed is None:
        example = "black walnut 14.50" if unit is Unit.INCH else "black walnut 5200"
        raise InvalidPrice(
            f'Line {number}, "{line[:40]}", is no price: it takes a species and an amount without a currency, '
            f"hundredths at the finest. Type one such as {example}."
        )
    species, per = typed["species"], _PER_WORDS[typed["per"].lower()] if typed["per"] else usual
    if len(species) > MAX_NAME_LENGTH:
        raise InvalidPrice(f"Line {number}: the species is longer than {MAX_NAME_LENGTH} letters. Shorten it.")
    return Price(species, Fraction(typed["amount"].replace(",", ".")), per)


def prices_text(prices: Iterable[Price], unit: Unit | None = None) -> str:
    """The lines that read back as exactly these prices; what the shop's `unit` says anyhow is left out."""
    return "\n".join(_lines(prices, unit))


def _lines(prices: Iterable[Price], unit: Unit | None) -> Iterator[str]:
    usual = {Unit.INCH: Per.BOARD_FOOT, Unit.MILLIMETER: Per.CUBIC_METER, None: None}[unit]
    for each in prices:
        whole, hundredths = divmod(int(each.amount * 100), 100)
        amount = f"{whole}.{hundredths:02d}" if hundredths else str(whole)
        yield f"{each.species} {amount}" + ("" if each.per is usual else f" a {each.per.value}")
