"""The leftovers of a board's cut, as the plan proposes them and as the user confirms them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.allowances import Allowances
from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.offcuts import Face, InvalidOffcut, Offcut
from inventory.cutting.cuts import Cut, Leftover
from inventory.fill.plan import Fill


class InvalidLeftover(UserError):
    """A confirmed leftover that can't be; `cut` and `remainder` say which, `what` names the value."""

    def __init__(self, message: str, cut: int, remainder: int, what: str = "") -> None:
        super().__init__(message)
        self.cut = cut
        self.remainder = remainder
        self.what = what


@dataclass(frozen=True)
class ProposedLeftover:
    """A leftover of the plan, `fill.cuts[cut].leftovers[remainder]`, with species, faces and location of its parent."""

    cut: int
    remainder: int
    parent: str
    species: str
    length: Length
    width: Length
    thickness: Length
    face_a: Face
    face_b: Face
    keep: bool
    location: str
    flattened: Length | None
    """Its thickness if its length was flattened before it was ripped off; None where that takes nothing off."""


@dataclass(frozen=True)
class ConfirmedLeftover:
    """A leftover as measured; the sizes matter only where it is kept. Faces None are the parent's."""

    cut: int
    remainder: int
    length: Length
    width: Length
    thickness: Length
    keep: bool
    location: str
    face_a: Face | None = None
    face_b: Face | None = None
    notes: str = ""


def proposed(fill: Fill, allowances: Allowances, location_of: Callable[[str], str]) -> Iterator[ProposedLeftover]:
    """The leftovers of the plan, in the order of the cuts; `location_of` returns the location of a parent's tag."""
    for place, cut in enumerate(fill.cuts):
        for number, left in enumerate(cut.leftovers):
            yield ProposedLeftover(
                cut=place,
                remainder=number,
                parent=cut.offcut.tag,
                species=cut.offcut.species,
                length=left.length,
                width=left.width,
                thickness=left.thickness,
                face_a=cut.offcut.face_a,
                face_b=cut.offcut.face_b,
                keep=left.kept,
                location=location_of(cut.offcut.tag),
                flattened=_flattened(cut, left, allowances),
            )


def _flattened(cut: Cut, left: Leftover, allowances: Allowances) -> Length | None:
    """The thickness of a leftover that may be flattened before it is cut off, None for one crosscut from the length."""
    clean = allowances.clean_thickness(cut.offcut)
    return clean if left.width < cut.offcut.width and 0 < clean < left.thickness else None


def kept_offcuts(fill: Fill, confirmed: Sequence[ConfirmedLeftover]) -> list[tuple[ConfirmedLeftover, Offcut]]:
    """The offcuts that go back on the rack, in the order of the cuts; they have no tag yet. Raises InvalidLeftover."""
    seen: set[tuple[int, int]] = set()
    kept = []
    for each in sorted(confirmed, key=lambda each: (each.cut, each.remainder)):
        place = (each.cut, each.remainder)
        known = 0 <= each.cut < len(fill.cuts) and 0 <= each.remainder < len(fill.cuts[each.cut].leftovers)
        if not known or place in seen:
            raise InvalidLeftover("This is no remainder of the board. Open its page anew.", *place)
        seen.add(place)
        if each.keep:
            kept.append((each, _offcut(fill.cuts[each.cut], each)))
    return kept


def _offcut(cut: Cut, left: ConfirmedLeftover) -> Offcut:
    parent = cut.offcut
    for name in ("length", "width", "thickness"):
        if getattr(left, name) > getattr(parent, name):
            raise InvalidLeftover(
                f"The {name} of what is left of {format_code(parent.tag)} is more than it had before. Measure "
                "it again.",
                left.cut,
                left.remainder,
                name,
            )
    try:
        return replace(
            parent,
            length=left.length,
            width=left.width,
            thickness=left.thickness,
            face_a=left.face_a or parent.face_a,
            face_b=left.face_b or parent.face_b,
            location=left.location,
            notes=left.notes,
            count=1,
            tag="",
            tagged_on=None,
        )
    except InvalidOffcut as error:
        raise InvalidLeftover(str(error), left.cut, left.remainder, error.what) from None
