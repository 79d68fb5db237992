"""The form in which the leftovers of a cut are confirmed or corrected.

Whether a leftover can be is `services.remainders`' to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from inventory.core.errors import UserError
from inventory.core.lengths import Length, NotALength, Unit, read_length, typed_text
from inventory.core.offcuts import Face
from inventory.services.boards.making import ConfirmedLeftover, InvalidLeftover, ProposedLeftover

SIZE_FIELDS = ("length", "width", "thickness")
FACES = {"same": None, "planed": Face.PLANED}
"""Whether the faces are still the parent's, or were flattened with it."""


class InvalidLeftoverForm(UserError):
    """Remainders that can't be; `errors` has a sentence by field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(next(iter(errors.values())))
        self.errors = dict(errors)


def field_name(cut: int, remainder: int, what: str) -> str:
    """The name of one field: `left-2-0-length`."""
    return f"left-{cut}-{remainder}-{what}"


def proposed_form_values(proposed: Sequence[ProposedLeftover], unit: Unit) -> dict[str, str]:
    """The form before anybody typed in it."""
    typed: dict[str, str] = {}
    for each in proposed:
        values = {name: typed_text(getattr(each, name), unit) for name in SIZE_FIELDS}
        values |= {"location": each.location, "faces": "same"}
        if each.keep:
            values["keep"] = "yes"
        typed |= {field_name(each.cut, each.remainder, name): value for name, value in values.items()}
    return typed


def read_leftovers(
    proposed: Sequence[ProposedLeftover], typed: Mapping[str, str], unit: Unit
) -> tuple[ConfirmedLeftover, ...]:
    """What was confirmed. Raises LeftOverRejected with a sentence for every size that can't be read."""
    errors: dict[str, str] = {}
    confirmed = tuple(_read(each, typed, unit, errors) for each in proposed)
    if errors:
        raise InvalidLeftoverForm(errors)
    return confirmed


def _read(each: ProposedLeftover, typed: Mapping[str, str], unit: Unit, errors: dict[str, str]) -> ConfirmedLeftover:
    def answer(what: str) -> str:
        return typed.get(field_name(each.cut, each.remainder, what), "")

    keep = answer("keep") == "yes"
    sizes: dict[str, Length] = {}
    for name in SIZE_FIELDS:
        try:
            sizes[name] = read_length(answer(name), unit) if keep else getattr(each, name)
        except NotALength as error:
            errors[field_name(each.cut, each.remainder, name)] = str(error)
            sizes[name] = getattr(each, name)
    face = FACES.get(answer("faces"))
    return ConfirmedLeftover(
        cut=each.cut,
        remainder=each.remainder,
        length=sizes["length"],
        width=sizes["width"],
        thickness=sizes["thickness"],
        keep=keep,
        location=answer("location").strip(),
        face_a=face,
        face_b=face,
    )


def leftover_errors(error: InvalidLeftover) -> dict[str, str]:
    """The sentence beside the field it belongs to; above the form where it is no leftover at all."""
    return {field_name(error.cut, error.remainder, error.what) if error.what else "": str(error)}


def field_labels(proposed: Sequence[ProposedLeftover]) -> Iterator[tuple[str, str]]:
    """What each size is called above the form."""
    for number, each in enumerate(proposed, 1):
        for name in (*SIZE_FIELDS, "location"):
            yield field_name(each.cut, each.remainder, name), f"{name.capitalize()} of remainder {number}"
