"""Prices by species: how they are typed, what can't be, and sums calculated by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.core.lengths import Unit, inches, millimeters, volume_mm3
from inventory.core.prices import InvalidPrice, Per, Price, PriceList, prices_text, read_currency, read_prices

TYPED = "black walnut 14.50\n\n  white   oak: 9,25 a bd ft\nash 3100 / m3\nPin oak 2 = 4"


def test_prices_are_typed_a_line_each_in_the_shop_s_unit_or_another() -> None:
    assert read_prices(TYPED, Unit.INCH) == (
        Price("black walnut", Fraction("14.50"), Per.BOARD_FOOT),
        Price("white oak", Fraction("9.25"), Per.BOARD_FOOT),
        Price("ash", Fraction(3100), Per.CUBIC_METER),
        Price("Pin oak 2", Fraction(4), Per.BOARD_FOOT),
    )
    assert read_prices("ash 3100", Unit.MILLIMETER) == (Price("ash", Fraction(3100), Per.CUBIC_METER),)


@pytest.mark.parametrize("unit", [*Unit, None])
def test_prices_read_back_exactly(unit: Unit | None) -> None:
    prices = read_prices(TYPED, Unit.INCH)
    assert read_prices(prices_text(prices, unit), unit or Unit.INCH) == prices
    assert prices_text(prices, Unit.INCH) == "black walnut 14.50\nwhite oak 9.25\nash 3100 a m³\nPin oak 2 4"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("ash 4\nwalnut", 'Line 2, "walnut", is no price: '),
        ("ash 4\n\nwalnut 14,500", 'Line 3, "walnut 14,500", is no price: '),
        ("12.50", 'Line 1, "12.50", is no price: '),
        ("ash 4 a yard", 'Line 1, "ash 4 a yard", is no price: '),
        ("ash -4 €", 'Line 1, "ash -4 €", is no price: '),
        ("ash 4\nAsh  5", "Line 2 gives a price for Ash again, after line 1. Keep one."),
        (f"{'x' * 200} 4", "Line 1: the species is longer than"),
        (f"ash{'=' * 900_000}", f'Line 1, "ash{"=" * 37}", is no price: '),
        ("\n".join(f"wood{number} 1" for number in range(201)), "There are 201 lines of prices and 200 at most."),
    ],
)
def test_a_bad_line_is_named(typed: str, sentence: str) -> None:
    with pytest.raises(InvalidPrice) as error:
        read_prices(typed, Unit.INCH)
    assert str(error.value).startswith(sentence)


def test_a_bad_line_is_reported_whole() -> None:
    with pytest.raises(InvalidPrice) as error:
        read_prices("walnut", Unit.MILLIMETER)
    assert str(error.value) == (
        'Line 1, "walnut", is no price: it takes a species and an amount without a currency, '
        "hundredths at the finest. Type one such as black walnut 5200."
    )


def test_a_currency_is_a_sign_or_a_short_word() -> None:
    assert read_currency("  crowns ") == "crowns"
    with pytest.raises(InvalidPrice, match="has a digit in it"):
        read_currency("4 €")
    with pytest.raises(InvalidPrice, match="longer than 12 letters"):
        read_currency("golden guineas")


def test_a_board_foot_and_a_cubic_metre_are_worth_their_price() -> None:
    # 24 × 6 × 2 in = 288 in³ = 2 board feet, at 14.50 each.
    walnut = volume_mm3(inches("24"), inches("6"), inches("2"))
    worth = Price("walnut", Fraction("14.50"), Per.BOARD_FOOT).of(walnut)
    assert PriceList("€").format(worth) == "29.00 €"
    # 1000 × 200 × 25 mm = 0.005 m³, at 3100 a m³.
    ash = volume_mm3(millimeters("1000"), millimeters("200"), millimeters("25"))
    assert Price("ash", Fraction(3100), Per.CUBIC_METER).of(ash) == Fraction("15.50")


def test_amounts_are_rounded_once_halves_up() -> None:
    shown = [PriceList().format(Fraction(text)) for text in ("0", "0.004", "0.005", "2.675", "1234567.8949")]
    assert shown == ["0.00", "0.00", "0.01", "2.68", "1,234,567.89"]


def test_a_price_holds_under_another_name_of_the_species_but_its_own_name_first() -> None:
    prices = PriceList("€", read_prices("black walnut 14.50", Unit.INCH))
    assert prices.price_of(" Black  Walnut ") == prices.prices[0]
    assert prices.price_of("walnut") == prices.prices[0]
    assert prices.price_of("elm") is None
    assert prices.price_of("") is None
    both = PriceList("€", read_prices("black walnut 14.50\nwalnut 11", Unit.INCH))
    assert both.price_of("walnut") == both.prices[1]
