"""Item classes: identical offcuts grouped, so that the solver counts them instead of distinguishing them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import SupportsIndex, overload

import numpy as np

from inventory.core.allowances import Allowances
from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.bands import Demand
from inventory.cutting.offcut_arrays import IntArray, RackArrays
from inventory.cutting.rack_table import RackTable, rows_for


@dataclass(frozen=True)
class ItemClasses:
    """Groups of identical offcuts; row r of `arrays` describes the pieces of `members[r]`.

    The species of row r is `names[species[r]]`. `required` is as in `RackTable`: a row that a request's `with` names
    is a class of its own.
    """

    members: Members
    arrays: RackArrays
    species: IntArray
    required: IntArray
    names: tuple[str, ...]

    def pieces(self, row: int) -> Iterator[tuple[Offcut, int]]:
        """The pieces of one class in the order in which they are taken, those of one tag counted from 1."""
        for offcut in self.members[row]:
            for piece in range(1, offcut.count + 1):
                yield offcut, piece

    @property
    def required_rows(self) -> IntArray:
        """The rows that a request's `with` names."""
        return np.flatnonzero(self.required).astype(np.int64)

    @cached_property
    def required_tags(self) -> frozenset[str]:
        """The tags that a request's `with` names, as they are on the rack."""
        return frozenset(offcut.tag for row in self.required_rows.tolist() for offcut in self.members[row])

    def rows_for(self, demand: Demand) -> IntArray:
        """The rows whose species may serve the demand."""
        return rows_for(demand, self.names, self.species, self.required)


class Members(Sequence[tuple[Offcut, ...]]):
    """The offcuts of each class, the oldest first; read from the table when first asked for."""

    def __init__(self, table: RackTable, rows: IntArray, starts: IntArray) -> None:
        self._table = table
        self._rows = rows
        self._starts = starts
        self._loaded: dict[int, tuple[Offcut, ...]] = {}

    def __len__(self) -> int:
        return len(self._starts) - 1

    @overload
    def __getitem__(self, item_class: SupportsIndex) -> tuple[Offcut, ...]: ...

    @overload
    def __getitem__(self, item_class: slice) -> list[tuple[Offcut, ...]]: ...

    def __getitem__(self, item_class: SupportsIndex | slice) -> tuple[Offcut, ...] | list[tuple[Offcut, ...]]:
        if isinstance(item_class, slice):
            return [self[each] for each in range(*item_class.indices(len(self)))]
        place = range(len(self))[item_class]
        if place not in self._loaded:
            self.load([place])
        return self._loaded[place]

    def load(self, item_classes: Iterable[int]) -> None:
        """Reads the offcuts of these classes together, which is faster than one class after another."""
        wanted = [item_class for item_class in dict.fromkeys(item_classes) if item_class not in self._loaded]
        rows = [self._rows[self._starts[item_class] : self._starts[item_class + 1]] for item_class in wanted]
        offcuts = iter(self._table.offcuts(np.concatenate(rows)) if rows else ())
        for item_class, those in zip(wanted, rows, strict=True):
            self._loaded[item_class] = tuple(sorted((next(offcuts) for _ in those), key=_age))


def group_table(table: RackTable, allowances: Allowances, on: date, *, by_age: bool) -> ItemClasses:
    """The item classes of all rows: same species, sizes and faces, and same day if `by_age`; the offcuts are read."""
    item_classes = group_rows(table, np.arange(len(table)), allowances, on, by_age=by_age)
    item_classes.members.load(range(len(item_classes.members)))
    return item_classes


def group_rows(table: RackTable, rows: IntArray, allowances: Allowances, on: date, *, by_age: bool) -> ItemClasses:
    """The item classes of some rows of a table, in the order of the first row of each."""
    keys: dict[str, int] = {}
    species_code = np.array([keys.setdefault(species_key(name), len(keys)) for name in table.names], dtype=np.int64)
    species = species_code[table.species[rows]] if len(species_code) else np.zeros(0, dtype=np.int64)
    faces = np.sort(np.stack((table.face_a[rows], table.face_b[rows])), axis=0)
    alike = [species, table.length[rows], table.width[rows], table.thickness[rows], *faces, table.required[rows]]
    if by_age:
        alike.append(table.tagged_day[rows])
    order = np.lexsort(alike)
    new = np.ones(len(rows), dtype=np.bool_)
    new[1:] = np.any([each[order][1:] != each[order][:-1] for each in alike], axis=0)
    # The sort is stable, so the first row of each class is its first row in the table.
    rank = np.argsort(order[new], kind="stable")
    item_class = np.empty(len(rows), dtype=np.int64)
    item_class[order] = np.argsort(rank, kind="stable")[np.cumsum(new) - 1]
    first = order[new][rank]
    by_class = np.argsort(item_class, kind="stable")
    starts = np.searchsorted(item_class[by_class], np.arange(len(first) + 1))
    arrays = replace(
        table.select(rows[first]).arrays(allowances, on),
        count=np.bincount(item_class, weights=table.count[rows], minlength=len(first)).astype(np.int64),
    )
    required = table.required[rows[first]]
    return ItemClasses(Members(table, rows[by_class], starts), arrays, species[first], required, tuple(keys))


def _age(offcut: Offcut) -> tuple[date, str]:
    return offcut.tagged_on or date.max, offcut.tag
