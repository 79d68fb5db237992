"""The history of a piece in sentences, made from its events when it is shown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum
from fractions import Fraction
from typing import Any

from inventory.core.codes import format_code
from inventory.core.lengths import Unit, exact_text
from inventory.core.offcuts import Mark, Offcut, marks_text, moisture_text
from inventory.services.rack.typed_line import describe_line
from inventory.storage.records import Event, EventKind


@dataclass(frozen=True)
class HistoryLine:
    """One event as it is shown; `detail` is a sentence or part of one, may be empty."""

    at: datetime
    kind: EventKind
    detail: str


def history_line(event: Event, unit: Unit) -> HistoryLine:
    """The line for an event, sizes in `unit`."""
    return HistoryLine(event.at, event.kind, _detail(event, unit) if event.sentence is None else event.sentence)


def _detail(event: Event, unit: Unit) -> str:
    match event.kind:
        case EventKind.TAGGED:
            return describe_line(Offcut(**event.after), unit)
        case EventKind.LEFTOVER:
            line = describe_line(Offcut(**event.after), unit)
            return f"left over from {format_code(event.parent)}, {_board(event)}: {line}"
        case EventKind.CHANGED:
            return _tag_change(event) if "tag" in event.after else "; ".join(_changes(event, unit))
        case EventKind.PHOTO:
            return event.action or ""
        case EventKind.ON_HOLD | EventKind.CUT:
            return " ".join(_parts(_share(event), _board(event)))
        case EventKind.RELEASED:
            return "not needed: " + " ".join(_parts(_share(event), _board(event)))
        case EventKind.CUT_UNDONE:
            return f"the cut {_board(event)} was undone" + ("" if event.pieces is None else ", set aside again")
        case EventKind.USED:
            return ": ".join(_parts(_share(event), event.note))
        case EventKind.REMOVED:
            gone = ", ".join(_parts(event.action, _share(event)))
            return ": ".join(_parts(gone, event.note, _stock_check(event)))
        case EventKind.REMOVAL_UNDONE:
            return "; ".join(_parts(f"was {event.action}", _stock_check(event)))
        case EventKind.SEEN:
            return "; ".join(_parts(_stock_check(event), event.action, *_seen_changes(event)))
        case EventKind.MISSED:
            return f"{_stock_check(event)}; still looked for"
        case EventKind.LABEL_PRINTED:
            return ""


def _parts(*parts: str | None) -> Iterator[str]:
    return (part for part in parts if part)


def _share(event: Event) -> str:
    """`2 of 4` of a bundle of which some went; empty for a single piece."""
    return f"{event.pieces} of {event.bundle}" if event.bundle is not None and event.bundle > 1 else ""


def _board(event: Event) -> str:
    return f'for board {event.board}, "{event.board_name}"'


def _stock_check(event: Event) -> str:
    return f"stocktake of {event.stock_check}" if event.stock_check else ""


def _tag_change(event: Event) -> str:
    old, new = format_code(event.before["tag"]), format_code(event.after["tag"])
    return f"tag {old} replaced by {new}; the old one still finds it"


_SIZES = ("length", "width", "thickness")
_FIELD_NAMES = {"face_a": "face a", "face_b": "face b", "moisture_on": "moisture read on"}


def _changes(event: Event, unit: Unit) -> Iterator[str]:
    """What changed, old → new, one text each; sizes exact."""
    for name, new in event.after.items():
        old = event.before[name]
        if name in _SIZES:
            yield f"{name} {exact_text(old, unit)} → {exact_text(new, unit)}"
        else:
            yield f"{_FIELD_NAMES.get(name, name)} {_value_text(old)} → {_value_text(new)}"


def _value_text(value: str | int | Enum | Fraction | date | tuple[Mark, ...] | None) -> str:
    if isinstance(value, tuple):
        return marks_text(value) or "none"
    if isinstance(value, Fraction):
        return f"{moisture_text(value)} %"
    if isinstance(value, Enum):
        return str(value.value)
    return f'"{value}"' if isinstance(value, str) and value else str(value or "none")


def _seen_changes(event: Event) -> Iterator[str]:
    """How a stock check moved or counted a piece."""
    for name, new in event.after.items():
        old: Any = event.before[name]
        if name == "count":
            yield f"count {old} → {new}"
        else:
            yield f'{name} "{old}" → "{new}"' if old else f'{name} "{new}"'
