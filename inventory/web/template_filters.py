"""Jinja filters and template globals: lengths, volumes, days and codes as the shop displays them."""

from __future__ import annotations

import re
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from flask import Flask, request, session

from inventory import __version__
from inventory.core.codes import format_code
from inventory.core.lengths import board_feet, exact_text, format_length, format_length_down, format_volume, typed_text
from inventory.core.offcuts import Offcut, carried_texts
from inventory.core.species import display_name
from inventory.web.access import access_control
from inventory.web.drawings.offcut import draw_outline
from inventory.web.rack.value_text import worth_figures
from inventory.web.request_context import current_settings

SCHEMES = ("auto", "light", "dark")
_NAV_SECTIONS = {
    "home": "Home",
    "tagging": "Saw",
    "scanning": "Scan",
    "bench": "Bench",
    "several_boards": "Bench",
    "usual_boards": "Bench",
    "rack": "Rack",
    "piece": "Rack",
    "photos": "Rack",
    "stock_levels": "Rack",
    "stock_check": "Rack",
    "pruning": "Rack",
    "boards": "Boards",
    "strip_order": "Boards",
    "yield_report": "Boards",
    "print_queue": "Labels",
    "blank_tags": "Labels",
    "label_stocks": "Labels",
    "print_jobs": "Labels",
    "settings": "Settings",
    "pairing": "Settings",
}


def measure(length: int, unit: bool = True) -> str:
    """A length in the shop's unit, ≈ before it where the display rounds it."""
    return format_length(length, current_settings().display, with_unit=unit)


def measure_down(length: int) -> str:
    """A length rounded down, for "at most" answers."""
    return format_length_down(length, current_settings().display)


def exact(length: int) -> str:
    """A length to the last nanometer, with its unit: for a tooltip or a note beside ≈."""
    return exact_text(length, current_settings().unit)


def typed(length: int) -> str:
    """A length as a form field holds it: reads back as exactly this length."""
    return typed_text(length, current_settings().unit)


def volume(mm3: int) -> str:
    """A volume in board feet or m³, by the shop's unit."""
    return format_volume(mm3, current_settings().unit)


def day(moment: date | datetime) -> str:
    """A day as `31 Jan 2030`, the same in every country's order."""
    return f"{moment.day} {moment:%b} {moment.year}"


def moment(when: datetime) -> str:
    """A day and time as `31 Jan 2030, 14:05`."""
    return f"{day(when)}, {when:%H:%M}"


def nonbreaking(text: str) -> str:
    """The text with non-breaking spaces within its measures, so that no line ends within `5 3/16 in`."""
    return re.sub(r"(?<=×) (?=[\d≈])|(?<=\d) (?=\d+/\d+|(?:in|mm|lb|kg)\b|[%°])", "\N{NO-BREAK SPACE}", text)


def elapsed_text(seconds: int) -> str:
    """How long a job has been running; coarse, so that a page does not change every second.

    >>> elapsed_text(3), elapsed_text(44), elapsed_text(60), elapsed_text(3599)
    ('just begun', 'under way for 40 seconds', 'under way for 1 minute', 'under way for 59 minutes')
    """
    if seconds < 10:
        return "just begun"
    return f"under way for {f'{seconds // 10 * 10} seconds' if seconds < 60 else counted(seconds // 60, 'minute')}"


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "piece"), counted(1200, "piece"), counted(2, "glue-up of ash", "glue-ups of ash")
    ('1 piece', '1,200 pieces', '2 glue-ups of ash')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def carried(offcut: Offcut) -> str:
    """Marks, moisture and batch of a piece in one line; empty where it has none of them."""
    return " · ".join(carried_texts(offcut))


def percent(share: float | Fraction) -> str:
    """A share from 0 to 1 in whole per cent.

    >>> percent(0.634)
    '63 %'
    """
    return f"{float(share) * 100:.0f} %"


def register(app: Flask) -> None:
    """Registers the filters, and the variables that all templates have."""
    app.jinja_env.filters.update(
        measure=measure,
        measure_down=measure_down,
        exact=exact,
        typed=typed,
        volume=volume,
        board_feet=lambda mm3: f"{float(board_feet(mm3)):.2f}",
        day=day,
        moment=moment,
        code=format_code,
        counted=counted,
        carried=carried,
        elapsed_text=elapsed_text,
        outline=draw_outline,
        percent=percent,
        nonbreaking=nonbreaking,
        display_name=display_name,
        worth_figures=worth_figures,
    )
    app.context_processor(_template_context)


def _template_context() -> dict[str, Any]:
    settings = current_settings()
    scheme = session.get("scheme", "auto")
    return {
        "program_version": __version__,
        "settings": settings,
        "shop_name": settings.shop_name if access_control.host_is_known() else "",
        "unit": settings.unit.value,
        "scheme": scheme if scheme in SCHEMES else "auto",
        "here": _NAV_SECTIONS.get(request.blueprint or "", ""),
        "may_enter": access_control.has_access(),
        "signed_in": access_control.signed_in(),
    }
