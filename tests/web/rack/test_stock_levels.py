"""The range of sizes is read from the form of the stock levels, with a sentence for each field that can't be."""

import pytest

from inventory.core.lengths import Unit, inches
from inventory.services.rack.stock_levels import SizeRange
from inventory.web.forms import Form
from inventory.web.rack.stock_levels import read_size_range


def test_a_range_has_the_bounds_that_are_typed() -> None:
    form = Form({"length_from": "23 1/2", "length_to": "30", "width_from": "", "width_to": "4"}, Unit.INCH)
    assert read_size_range(form) == SizeRange("", inches("23 1/2"), inches("30"), None, inches("4"))
    assert form.errors == {}


@pytest.mark.parametrize(
    ("typed", "what", "sentence"),
    [
        ({"length_from": "9", "length_to": "8"}, "length_from", "The least length is above the most. Swap the two."),
        ({"width_from": "3", "width_to": "2"}, "width_from", "The least width is above the most. Swap the two."),
        ({"species": "x" * 1000}, "species", "The species is longer than"),
        ({"width_to": "wide"}, "width_to", '"wide" is not a length.'),
    ],
)
def test_a_part_that_can_t_be_is_reported(typed: dict[str, str], what: str, sentence: str) -> None:
    form = Form(typed, Unit.INCH)
    assert read_size_range(form) == SizeRange()
    assert list(form.errors) == [what]
    assert form.errors[what].startswith(sentence)
