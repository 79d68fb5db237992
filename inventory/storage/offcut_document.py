"""The fields of an offcut as JSON: lengths as exact millimeters in text, days as ISO 8601, faces and marks as words,
moisture as percent in text.

Every field of `Offcut` is written and read, without a list of them here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from typing import Any, get_type_hints

from inventory.core.lengths import Length, mm_text
from inventory.core.lengths import millimeters as read_millimeters
from inventory.core.offcuts import Mark, Offcut, moisture_text

_TYPES: dict[str, Any] = get_type_hints(Offcut)
_KEYS = {name: f"{name}_mm" if type_ is Length else name for name, type_ in _TYPES.items()}


@lru_cache(maxsize=4096)
def millimeters(text: str) -> Length:
    """As `lengths.millimeters`; a fill of many boards has few different sizes, each many times."""
    return read_millimeters(text)


def offcut_document(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Some or all fields of an offcut, by their names, as JSON.

    >>> offcut_document({"length": Length(25_400_000), "species": "ash", "tagged_on": date(2030, 1, 31)})
    {'length_mm': '25.4', 'species': 'ash', 'tagged_on': '2030-01-31'}
    """
    return {_KEYS[name]: _value(name, value) for name, value in fields.items()}


def _value(name: str, value: Any) -> Any:
    if _TYPES[name] is Length:
        return mm_text(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [mark.value for mark in value]
    if isinstance(value, Fraction):
        return moisture_text(value)
    return value.isoformat() if isinstance(value, date) else value


def read_offcut_document(document: Mapping[str, Any]) -> dict[str, Any]:
    """The fields that `offcut_document` wrote, by their names."""
    return {name: _read_value(name, document[key]) for name, key in _KEYS.items() if key in document}


def _read_value(name: str, value: Any) -> Any:
    type_ = _TYPES[name]
    if value is None:
        return None
    if type_ is Length:
        return millimeters(value)
    if isinstance(type_, type) and issubclass(type_, Enum):
        return type_(value)
    if type_ == tuple[Mark, ...]:
        return tuple(Mark(word) for word in value)
    if type_ == Fraction | None:
        return Fraction(value)
    return date.fromisoformat(value) if type_ == date | None else value
