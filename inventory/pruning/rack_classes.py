"""Piece classes: pieces of the rack with the same species, sizes and faces, in the order in which they are cut."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Mark, Offcut, species_key
from inventory.cutting.rack_table import RackTable, build_table


@dataclass(frozen=True)
class PieceClass:
    """Pieces of the same species, sizes and faces. `tags` names each of them, the oldest first."""

    offcut: Offcut
    tags: tuple[str, ...]

    @property
    def volume(self) -> int:
        """Whole mm³ of one piece."""
        return volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)


@dataclass(frozen=True)
class PieceClasses:
    """All piece classes of a rack, and their table with a row each."""

    kinds: tuple[PieceClass, ...]
    table: RackTable

    def __len__(self) -> int:
        return len(self.kinds)

    def with_counts(self, counts: Sequence[int]) -> PieceClasses:
        """The same classes with only the first `counts` pieces of each; empty classes are left out."""
        kept = [replace(kind, tags=kind.tags[:many]) for kind, many in zip(self.kinds, counts, strict=True) if many]
        return _piece_classes(kept)


def piece_classes(rack: Sequence[Offcut], *, by_age: bool) -> PieceClasses:
    """The classes of these offcuts; with `by_age` those tagged on different days are apart, as `oldest-first` needs.

    Pieces with the mark `keep` are apart from others, since no board takes them.
    """
    alike: dict[Hashable, list[Offcut]] = {}
    for each in rack:
        faces = tuple(sorted(face.value for face in each.faces))
        age = each.tagged_on if by_age else None
        keep = Mark.KEEP in each.marks
        key = (species_key(each.species), each.length, each.width, each.thickness, faces, age, keep)
        alike.setdefault(key, []).append(each)
    found = []
    for offcuts in alike.values():
        offcuts.sort(key=lambda each: (each.tagged_on or date.max, each.tag))
        tags = tuple(each.tag for each in offcuts for _ in range(each.count))
        found.append(PieceClass(replace(offcuts[0], count=1), tags))
    return _piece_classes(found)


def _piece_classes(found: Sequence[PieceClass]) -> PieceClasses:
    return PieceClasses(tuple(found), build_table([_in_years(kind.offcut) for kind in found]))


def _in_years(offcut: Offcut) -> Offcut:
    """The piece as a simulation has it: what is damp now is dry by the time it is cut."""
    marks = tuple(mark for mark in offcut.marks if mark is not Mark.DAMP)
    return replace(offcut, species=species_key(offcut.species), marks=marks)
