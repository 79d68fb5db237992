"""Which pieces a request leaves to a fill, recomputed (cutting model, sections 2 and 8).

Where the model leaves room, this is the reading: tags and batches are compared without case, spaces and hyphens, and I
and L are 1, O is 0; a piece exactly as long as `longest` or as `shortest_machined` may be cut; unknown wood is an empty
species, "unknown" and "?".
"""

from __future__ import annotations

from inventory.core.offcuts import Face, Mark, Offcut, species_key
from inventory.fill.request import BoardRequest, Faces

MARKED = "marked"
RULED_OUT = "ruled out"

_SHEET_GOODS = ("plywood", "mdf", "particle board", "hardboard", "veneer")
_UNKNOWN = ("", "unknown", "?")


def plain(tag: str) -> str:
    """A tag in the form in which tags are compared."""
    upper = tag.upper().replace("-", "").replace(" ", "")
    return upper.replace("I", "1").replace("L", "1").replace("O", "0")


def is_named(request: BoardRequest, offcut: Offcut) -> bool:
    """Whether the request names the piece under `with`."""
    return plain(offcut.tag) in map(plain, request.eligibility.required)


def counts_as_any(species: str) -> bool:
    """Whether wood of this name serves where any is asked for."""
    name = species_key(species)
    return name not in _UNKNOWN and not any(sheet in name for sheet in _SHEET_GOODS)


def barred(request: BoardRequest, offcut: Offcut) -> str | None:
    """Why the request leaves this piece out, whatever its species and sizes: "ruled out", "marked", or None."""
    rules = request.eligibility
    ruled_out = (
        plain(offcut.tag) in map(plain, rules.without)
        or (rules.longest is not None and offcut.length > rules.longest)
        or (rules.faces is Faces.BARE and Face.FINISHED in offcut.faces)
        or (rules.faces is Faces.PLANED and offcut.faces != (Face.PLANED, Face.PLANED))
        or (not rules.short_work and offcut.length < request.allowances.shortest_machined)
        or (rules.batch != "" and species_key(offcut.batch) != species_key(rules.batch))
    )
    if ruled_out:
        return RULED_OUT
    kept_back = Mark.KEEP in offcut.marks or Mark.DAMP in offcut.marks
    return MARKED if kept_back and not is_named(request, offcut) else None
