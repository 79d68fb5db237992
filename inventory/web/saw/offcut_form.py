"""The form of an offcut: what was typed about a piece, read, and shown again as typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.core.errors import UserError
from inventory.core.lengths import Length, NotALength, Unit, read_length, typed_text
from inventory.core.offcuts import MAX_BUNDLE_COUNT, Face, NotAnOffcut, Offcut, read_face

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
    "notes": "Note",
    "code": "Code of a blank tag",
    "line": "Typed line",
}
"""What each field is called in the list of answers to fix."""


class InvalidOffcutForm(UserError):
    """A form with answers that can't be; `errors` holds one sentence for each field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(" ".join(errors.values()))
        self.errors = dict(errors)


def read_offcut(form: Mapping[str, str], unit: Unit) -> Offcut:
    """The offcut that a form describes.

    A species or location typed beside the buttons counts more than a button;
    `face_b` may be left open where it is like `face_a`. Raises FormRejected with
    every answer that is wrong, not only the first.
    """
    errors: dict[str, str] = {}
    sizes = {name: _read_size(form, name, unit, errors) for name in SIZE_FIELDS}
    face_a = _read_face(form.get("face_a", ""), "face_a", errors)
    face_b = _read_face(form["face_b"], "face_b", errors) if form.get("face_b") else face_a
    count = _read_count(form.get("count", "1"), errors)
    if not errors:
        try:
            return Offcut(
                sizes["length"],
                sizes["width"],
                sizes["thickness"],
                species=_choice_or_text(form, "species"),
                face_a=face_a,
                face_b=face_b,
                count=count,
                location=_choice_or_text(form, "location"),
                notes=form.get("notes", "").replace("\r\n", "\n").strip(),
            )
        except NotAnOffcut as fault:
            errors[fault.what] = str(fault)
    raise InvalidOffcutForm(errors)


def _read_size(form: Mapping[str, str], name: str, unit: Unit, errors: dict[str, str]) -> Length:
    try:
        size = read_length(form.get(name, ""), unit)
        if size == 0:
            raise NotALength(f"The {name} is 0. Type the {name} as measured.")
        return size
    except NotALength as fault:
        errors[name] = str(fault)
        return Length(1)


def _read_face(typed: str, name: str, errors: dict[str, str]) -> Face:
    try:
        if not typed:
            raise NotAnOffcut("No condition of the faces is chosen. Choose rough, planed or finished.", name)
        return read_face(typed)
    except NotAnOffcut as fault:
        errors[name] = str(fault)
        return Face.ROUGH


def _read_count(typed: str, errors: dict[str, str]) -> int:
    text = typed.strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 6 and 1 <= int(text) <= MAX_BUNDLE_COUNT):
        errors["count"] = f'"{text[:20]}" is no number of like pieces. Type 1 to {MAX_BUNDLE_COUNT}.'
        return 1
    return int(text)


def _choice_or_text(form: Mapping[str, str], name: str) -> str:
    return " ".join((form.get(f"{name}_other", "").strip() or form.get(name, "")).split())


def read_version(form: Mapping[str, str]) -> int:
    """The version of the piece that the page was shown; what is no number is a version that no piece has."""
    typed = form.get("version", "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else -1


def offcut_form_values(offcut: Offcut, unit: Unit) -> dict[str, str]:
    """What the fields hold for this piece; the sizes read back exactly."""
    return defaults_from_last(offcut) | {
        "length": typed_text(offcut.length, unit),
        "width": typed_text(offcut.width, unit),
        "thickness": typed_text(offcut.thickness, unit),
        "count": str(offcut.count),
    }


def piece_form_values(offcut: Offcut, unit: Unit) -> dict[str, str]:
    """As `offcut_form_values`, with each face by its own name."""
    return offcut_form_values(offcut, unit) | {"face_b": offcut.face_b.value}


def defaults_from_last(last: Offcut | None) -> dict[str, str]:
    """What the next piece has from the last one: everything but its sizes.

    Nor its count: a bundle that is tagged unawares counts wood that isn't there.
    """
    if last is None:
        return {"species": "", "location": "", "face_a": Face.ROUGH.value, "face_b": "", "count": "1", "notes": ""}
    return {
        "species": last.species,
        "location": last.location,
        "face_a": last.face_a.value,
        "face_b": "" if last.face_a is last.face_b else last.face_b.value,
        "count": "1",
        "notes": last.notes,
    }


def choice_buttons(recent: Sequence[str], chosen: str) -> tuple[str, ...]:
    """The words for big buttons, latest first; the chosen one is among them, and so is none at all (last)."""
    words = [word for word in recent if word]
    if chosen and chosen not in words:
        words.insert(0, chosen)
    return (*words, "")
