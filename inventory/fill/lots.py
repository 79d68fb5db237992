"""Like offcuts put together, so that the search counts them instead of telling them apart.

Knows when two offcuts are alike, and which of them is taken first. Knows nothing of
boards.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from inventory.cutting.columns import Columns, Ints, columns_of
from inventory.pieces import Allowances, Offcut, species_key


@dataclass(frozen=True)
class Lots:
    """Groups of like offcuts; row r of `columns` stands for the pieces of `members[r]`."""

    members: tuple[tuple[Offcut, ...], ...]
    columns: Columns

    def pieces(self, row: int) -> Iterator[tuple[Offcut, int]]:
        """The pieces of a lot in the order in which they are taken, a bundle's counted from 1."""
        for offcut in self.members[row]:
            for piece in range(1, offcut.count + 1):
                yield offcut, piece

    def of_species(self, takes: Callable[[str], bool]) -> Ints:
        """The rows whose species is taken."""
        known: dict[str, bool] = {}
        for lot in self.members:
            name = lot[0].species
            if name not in known:
                known[name] = takes(name)
        return np.flatnonzero([known[lot[0].species] for lot in self.members]).astype(np.int64)


def lots_of(offcuts: Sequence[Offcut], allowances: Allowances, on: date, *, by_age: bool) -> Lots:
    """Offcuts of the same species, sizes and faces as lots; those of other days apart if `by_age`.

    Within a lot what has lain longest is taken first.
    """
    alike: dict[Hashable, list[Offcut]] = {}
    for each in offcuts:
        faces = (each.face_a, each.face_b) if each.face_a.value <= each.face_b.value else (each.face_b, each.face_a)
        age = each.tagged_on if by_age else None
        key = (species_key(each.species), each.length, each.width, each.thickness, faces, age)
        alike.setdefault(key, []).append(each)
    members = tuple(tuple(sorted(lot, key=_age)) for lot in alike.values())
    standing = [lot[0] for lot in members]
    columns = columns_of(standing, allowances, on)
    counts = [sum(each.count for each in lot) for lot in members]
    return Lots(members, replace(columns, count=np.array(counts, dtype=np.int64)))


def _age(offcut: Offcut) -> tuple[date, str]:
    return offcut.tagged_on or date.max, offcut.tag
