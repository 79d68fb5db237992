"""Which of a printer's papers a sheet or label is: by its size alone, never by luck."""

from fractions import Fraction

import pytest

from inventory.printers.media import media_name
from labels import STOCKS, Paper, Stock

OFFICE = ["iso_a4_210x297mm", "na_number-10_4.125x9.5in", "na_letter_8.5x11in", "not-a-size"]
FREE = [*OFFICE, "custom_min_20x20mm", "custom_max_62x300mm"]


def mm(width: str, height: str) -> tuple[Fraction, Fraction]:
    return Fraction(width), Fraction(height)


@pytest.mark.parametrize(
    ("size", "supported", "name"),
    [
        (mm("215.9", "279.4"), OFFICE, "na_letter_8.5x11in"),
        (mm("210", "297"), OFFICE, "iso_a4_210x297mm"),
        (mm("62", "29"), OFFICE, None),
        (mm("297", "210"), OFFICE, None),
        (mm("62", "29"), FREE, "custom_62x29mm_62x29mm"),
        (mm("57.15", "31.75"), FREE, "custom_57.15x31.75mm_57.15x31.75mm"),
        (mm("62", "300.01"), FREE, None),
        (mm("19.99", "29"), FREE, None),
        (mm("62", "29"), ["om_tag_62x29mm"], "om_tag_62x29mm"),
        (mm("62", "29"), ["om_tag_62.05x28.95mm"], "om_tag_62.05x28.95mm"),
        (mm("62", "29"), ["om_tag_62.06x29mm"], None),
        (mm("62", "29"), [], "custom_62x29mm_62x29mm"),
        (mm("215.9", "279.4"), ["says-nothing"], "na_letter_8.5x11in"),
    ],
)
def test_a_paper_is_asked_for_by_the_printers_own_name_or_within_its_range(
    size: tuple[Fraction, Fraction], supported: list[str], name: str | None
) -> None:
    assert media_name(*size, supported) == name


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.key)
def test_every_sheet_goes_on_an_office_printer_and_no_single_label_does(stock: Stock) -> None:
    assert (media_name(stock.page.width, stock.page.height, OFFICE) is None) == (
        stock.paper not in (Paper.LETTER, Paper.A4)
    )
