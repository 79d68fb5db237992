"""How values are shown on a page."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from flask import Flask, render_template_string

from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.shop import Shop


@pytest.mark.parametrize(
    ("template", "shown"),
    [
        ("{{ a|measure }}", "23 1/2 in"),
        ("{{ b|measure }}", "≈23 1/2 in"),
        ("{{ b|measure(unit=false) }}", "≈23 1/2"),
        ("{{ b|measure_down }}", "23 1/2 in"),
        ("{{ b|exact }}", "597 mm"),
        ("{{ b|typed }} {{ a|typed }}", "597 mm 23 1/2"),
        ("{{ 23597372|volume }} {{ 23597372|board_feet }}", "10.00 bd ft 10.00"),
        ("{{ when|day }}, {{ when|moment }}", "5 Jan 2030, 5 Jan 2030, 09:05"),
        ("{{ '0000011'|code }}", "000-0011"),
        ("{{ 1|counted('piece') }} {{ 1200|counted('piece') }}", "1 piece 1,200 pieces"),
        ("{{ 1|counted('leaf', 'leaves') }} {{ 0|counted('leaf', 'leaves') }}", "1 leaf 0 leaves"),
        ("{{ 0.634|percent }}", "63 %"),
    ],
)
def test_values_are_shown_as_the_shop_reads_them(app: Flask, template: str, shown: str) -> None:
    values = {"a": inches("23 1/2"), "b": millimeters("597"), "when": datetime(2030, 1, 5, 9, 5, tzinfo=UTC)}
    with app.test_request_context():
        assert render_template_string(template, **values) == shown


def test_a_metric_shop_reads_millimeters_and_cubic_metres(app: Flask, shop: Shop) -> None:
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    with app.test_request_context():
        template = "{{ a|measure }} {{ a|typed }} {{ 12345678|volume }}"
        assert render_template_string(template, a=inches("1/8")) == "≈3.2 mm 3.175 0.0123 m³"
