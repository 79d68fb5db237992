"""Reads the form of an offcut, and fills it from one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory.core.lengths import Length, Unit, typed_text
from inventory.core.offcuts import (
    MAX_BUNDLE_COUNT,
    Face,
    InvalidOffcut,
    Mark,
    Offcut,
    moisture_text,
    read_face,
    read_moisture,
)
from inventory.web.forms import Form, FormError, errors_by_field

SIZE_FIELDS = ("length", "width", "thickness")
FIELD_LABELS = {
    "photo": "Photo",
    "length": "Length",
    "width": "Width",
    "thickness": "Thickness",
    "species": "Species",
    "location": "Location",
    "face_a": "Faces",
    "face_b": "Other face",
    "count": "Like pieces",
    "moisture": "Moisture",
    "moisture_on": "Read on",
    "batch": "Batch",
    "notes": "Note",
    "code": "Code of a blank tag",
    "line": "Typed line",
}
"""The label of each field in the list of errors."""
MARK_FIELDS = tuple((f"mark_{mark.name.lower()}", mark.value) for mark in Mark)
"""The field of each mark, a check box, and its word."""


def read_offcut(form: Form) -> Offcut:
    """The offcut that a form describes.

    A species, location or batch typed beside the buttons counts more than a button;
    `face_b` may be left open where it is like `face_a`. The day of an empty moisture
    is ignored. Raises FormError.
    """
    length, width, thickness = (_read_size(form, name) for name in SIZE_FIELDS)
    face_a = form.read("face_a", _read_face, Face.ROUGH)
    face_b = form.read("face_b", _read_face, Face.ROUGH) if form.text("face_b") else face_a
    count = 1
    if "count" in form.typed:
        sentence = f'"{{}}" is no number of like pieces. Type 1 to {MAX_BUNDLE_COUNT}.'
        count = form.integer("count", sentence, 1, MAX_BUNDLE_COUNT)
    moisture = form.read("moisture", read_moisture, None) if form.text("moisture") else None
    moisture_on = form.read("moisture_on", _read_day, None) if form.text("moisture") else None
    form.check()
    try:
        return Offcut(
            length,
            width,
            thickness,
            species=_choice_or_text(form, "species"),
            face_a=face_a,
            face_b=face_b,
            count=count,
            location=_choice_or_text(form, "location"),
            notes=form.text("notes").replace("\r\n", "\n"),
            marks=tuple(Mark(word) for name, word in MARK_FIELDS if form.text(name)),
            moisture=moisture,
            moisture_on=moisture_on,
            batch=_choice_or_text(form, "batch"),
        )
    except InvalidOffcut as error:
        raise FormError(errors_by_field(error)) from None


def _read_size(form: Form, name: str) -> Length:
    size = form.length(name)
    if size == 0:
        form.reject(name, f"The {name} is 0. Type the {name} as measured.")
    return size


def _read_face(typed: str) -> Face:
    if not typed:
        raise InvalidOffcut("No condition of the faces is chosen. Choose rough, planed or finished.")
    return read_face(typed)


def _read_day(typed: str) -> date | None:
    if not typed:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise InvalidOffcut(f'"{typed[:40]}" is no day. Type it as 2030-01-31, or leave it empty for today.') from None


def _choice_or_text(form: Form, name: str) -> str:
    return " ".join((form.text(f"{name}_other") or form.text(name)).split())


def offcut_form_values(offcut: Offcut, unit: Unit) -> dict[str, str]:
    """The fields of the form for this piece; the sizes read back exactly."""
    return defaults_from_last(offcut) | {
        "length": typed_text(offcut.length, unit),
        "width": typed_text(offcut.width, unit),
        "thickness": typed_text(offcut.thickness, unit),
        "count": str(offcut.count),
        "moisture": "" if offcut.moisture is None else moisture_text(offcut.moisture),
        "moisture_on": "" if offcut.moisture_on is None else offcut.moisture_on.isoformat(),
        **{name: word for name, word in MARK_FIELDS if Mark(word) in offcut.marks},
    }


def piece_form_values(offcut: Offcut, unit: Unit) -> dict[str, str]:
    """As `offcut_form_values`, with each face by its own name."""
    return offcut_form_values(offcut, unit) | {"face_b": offcut.face_b.value}


def defaults_from_last(last: Offcut | None) -> dict[str, str]:
    """The fields of the next piece, from the last one: all but its sizes, its count, its marks and its moisture.

    A count carried over unnoticed would add wood that isn't there.
    """
    if last is None:
        none = dict.fromkeys(("species", "location", "face_b", "notes", "batch"), "")
        return none | {"face_a": Face.ROUGH.value, "count": "1"}
    return {
        "species": last.species,
        "location": last.location,
        "face_a": last.face_a.value,
        "face_b": "" if last.face_a is last.face_b else last.face_b.value,
        "count": "1",
        "notes": last.notes,
        "batch": last.batch,
    }


def choice_buttons(recent: Sequence[str], chosen: str) -> tuple[str, ...]:
    """The values of the big buttons, latest first; the chosen one is among them, the empty one is last."""
    words = [word for word in recent if word]
    if chosen and chosen not in words:
        words.insert(0, chosen)
    return (*words, "")
