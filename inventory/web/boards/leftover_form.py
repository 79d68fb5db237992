"""The form that confirms or corrects the leftovers of a cut.

`inventory.services.boards.leftovers` checks them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inventory.core.lengths import Unit, typed_text
from inventory.core.offcuts import Face
from inventory.services.boards.making import ConfirmedLeftover, InvalidLeftover, ProposedLeftover
from inventory.web.forms import Form

SIZE_FIELDS = ("length", "width", "thickness")
FACES = {"same": None, "planed": Face.PLANED}
"""Whether the faces are still those of the parent, or were planed with it."""


def field_name(cut: int, remainder: int, what: str) -> str:
    """The name of one field: `left-2-0-length`."""
    return f"left-{cut}-{remainder}-{what}"


def proposed_form_values(proposed: Sequence[ProposedLeftover], unit: Unit) -> dict[str, str]:
    """The form as the plan proposes it."""
    typed: dict[str, str] = {}
    for each in proposed:
        values = {name: typed_text(getattr(each, name), unit) for name in SIZE_FIELDS}
        values |= {"location": each.location, "faces": "same"}
        if each.keep:
            values["keep"] = "yes"
        typed |= {field_name(each.cut, each.remainder, name): value for name, value in values.items()}
    return typed


def read_leftovers(proposed: Sequence[ProposedLeftover], form: Form) -> tuple[ConfirmedLeftover, ...]:
    """The confirmed leftovers. Raises FormError."""
    confirmed = tuple(_read(each, form) for each in proposed)
    form.check()
    return confirmed


def _read(each: ProposedLeftover, form: Form) -> ConfirmedLeftover:
    def named(what: str) -> str:
        return field_name(each.cut, each.remainder, what)

    keep = form.text(named("keep")) == "yes"
    length, width, thickness = (form.length(named(name)) if keep else getattr(each, name) for name in SIZE_FIELDS)
    face = FACES.get(form.text(named("faces")))
    return ConfirmedLeftover(
        cut=each.cut,
        remainder=each.remainder,
        length=length,
        width=width,
        thickness=thickness,
        keep=keep,
        location=form.text(named("location")),
        face_a=face,
        face_b=face,
    )


def leftover_errors(error: InvalidLeftover) -> dict[str, str]:
    """The sentence by the name of its field; under an empty name where it belongs to no field."""
    return {field_name(error.cut, error.remainder, error.what) if error.what else "": str(error)}


def field_labels(proposed: Sequence[ProposedLeftover]) -> Iterator[tuple[str, str]]:
    """The label of each field in the list of errors."""
    for number, each in enumerate(proposed, 1):
        for name in (*SIZE_FIELDS, "location"):
            yield field_name(each.cut, each.remainder, name), f"{name.capitalize()} of remainder {number}"
