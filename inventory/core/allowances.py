"""Allowances: what milling and the blade take, and which leftovers are kept (cutting model, section 3)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace

from inventory.core.errors import UserError
from inventory.core.lengths import Length, Unit, inches, millimeters, mm_text, read_length
from inventory.core.offcuts import Face, Offcut
from inventory.core.worth import worth


class InvalidAllowance(UserError):
    """An unknown or invalid allowance; `what` names it."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


# common practice, no source: every default below (cutting model, section 3)
@dataclass(frozen=True)
class Allowances:
    """What milling and the blade take, and which leftovers are kept: cutting model, section 3."""

    rip_kerf: Length = field(default=inches("1/8"), metadata={"meaning": "lost to each rip"})
    crosscut_kerf: Length = field(default=inches("1/8"), metadata={"meaning": "lost to each crosscut"})
    resaw_kerf: Length = field(default=inches("1/16"), metadata={"meaning": "lost to each resaw on the band saw"})
    rough_face: Length = field(default=inches("1/16"), metadata={"meaning": "taken off a rough face to make it flat"})
    finished_face: Length = field(
        default=inches("1/32"), metadata={"meaning": "taken off a finished face to reach bare wood"}
    )
    planed_face: Length = field(default=Length(0), metadata={"meaning": "taken off a planed face"})
    edge_jointing: Length = field(
        default=inches("1/32"), metadata={"meaning": "taken off an edge to make it straight and square"}
    )
    leaf_clean: Length = field(default=inches("1/32"), metadata={"meaning": "taken off a resawn leaf"})
    flattening: Length = field(
        default=inches("1/8"), metadata={"meaning": "both faces together, planed off the board after the glue-up"}
    )
    end_trim: Length = field(
        default=inches("1"), metadata={"meaning": "extra length of every strip, trimmed after the glue-up"}
    )
    side_trim: Length = field(
        default=inches("1/8"), metadata={"meaning": "extra width of the glue-up, jointed off the two outer edges"}
    )
    row_trim: Length = field(
        default=inches("1/8"),
        metadata={
            "meaning": "extra width of an end-grain board's panel, trimmed off the sides after the second glue-up"
        },
    )
    keep_length: Length = field(default=inches("6"), metadata={"meaning": "shortest remainder that is kept"})
    keep_width: Length = field(default=inches("3/4"), metadata={"meaning": "narrowest remainder that is kept"})
    keep_thickness: Length = field(default=inches("1/4"), metadata={"meaning": "thinnest remainder that is kept"})
    prime_length: Length = field(
        default=inches("96"), metadata={"meaning": "a piece as long as this is worth its full price by volume"}
    )
    prime_width: Length = field(
        default=inches("6"), metadata={"meaning": "a piece as wide as this is worth its full price by volume"}
    )
    max_strip_width: Length = field(
        default=inches("12"), metadata={"meaning": "widest strip of a face-grain glue-up; wider pieces are ripped"}
    )
    min_strip_width: Length = field(
        default=inches("3/4"), metadata={"meaning": "narrowest strip of a face-grain glue-up"}
    )
    thinnest_lamination: Length = field(
        default=inches("1/4"), metadata={"meaning": "thinnest strip of an edge-grain glue-up, stripes aside"}
    )
    shortest_machined: Length = field(
        default=inches("12"),
        metadata={"meaning": "nothing shorter goes over a jointer, through a planer or along a table saw's fence"},
    )

    def __post_init__(self) -> None:
        for name in ALLOWANCE_NAMES:
            size = getattr(self, name)
            most = MAX_PRIME_LENGTH if name == "prime_length" else MAX_ALLOWANCE
            if not 0 <= size <= most:
                raise InvalidAllowance(f"{name} must be between 0 and {mm_text(most)} mm. Check the unit.", name)
        for name, what in OVER_ZERO.items():
            if getattr(self, name) == 0:
                raise InvalidAllowance(f"{name} can't be 0. Type {what}.", name)
        if self.min_strip_width > self.max_strip_width:
            raise InvalidAllowance(
                "min_strip_width is wider than max_strip_width: no strip could be ripped. Make it narrower.",
                "min_strip_width",
            )

    def off(self, face: Face) -> Length:
        """What comes off one face of this condition."""
        match face:
            case Face.ROUGH:
                return self.rough_face
            case Face.PLANED:
                return self.planed_face
            case Face.FINISHED:
                return self.finished_face

    def clean_thickness(self, offcut: Offcut) -> Length:
        """`t` of section 3: what is left between two clean faces; may be 0 or less."""
        return Length(offcut.thickness - self.off(offcut.face_a) - self.off(offcut.face_b))

    def keeps(self, length: int, width: int, thickness: int) -> bool:
        """Whether a leftover of these sizes goes back on the rack."""
        return (
            min(length, width, thickness) > 0
            and length >= self.keep_length
            and width >= self.keep_width
            and thickness >= self.keep_thickness
        )

    def worth(self, length: int, width: int, thickness: int) -> int:
        """The worth of a piece of these sizes, in thousandths of a mm³ of prime wood (section 9)."""
        return worth(length, width, thickness, self.prime_length, self.prime_width)

    def with_value(self, name: str, size: Length) -> Allowances:
        """These allowances with one of them changed, by the model's name."""
        if name not in ALLOWANCE_NAMES:
            raise InvalidAllowance(f'"{name}" is no allowance of the cutting model.', name)
        return replace(self, **{name: size})

    def changed(self, typed: Mapping[str, str], unit: Unit) -> Allowances:
        """These allowances with some of them typed again, by the model's names.

        Raises InvalidAllowance for an unknown name and InvalidLength for a value that
        is none.
        """
        for name in typed:
            if name not in ALLOWANCE_NAMES:
                raise InvalidAllowance(
                    f'"{name}" is no allowance of the cutting model. Known are: {", ".join(ALLOWANCE_NAMES)}.', name
                )
        return replace(self, **{name: read_length(text, unit) for name, text in typed.items()})


MAX_ALLOWANCE = millimeters("1000")
OVER_ZERO = {
    "max_strip_width": "the width of a strip",
    "min_strip_width": "the width of a strip",
    "prime_length": "the length of a piece worth its full price",
    "prime_width": "the width of a piece worth its full price",
}
"""The allowances that can't be 0, and what they are."""
MAX_PRIME_LENGTH = millimeters("10000")
ALLOWANCE_NAMES = tuple(each.name for each in fields(Allowances))
ALLOWANCE_MEANINGS = {each.name: str(each.metadata["meaning"]) for each in fields(Allowances)}
