"""Which pieces of the rack may serve a request, before any search (cutting model, sections 2 and 8)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inventory.core.offcuts import Face
from inventory.cutting.rack_table import FACES, BoolArray, RackTable
from inventory.fill.request import BoardRequest, Faces


@dataclass(frozen=True)
class PieceStanding:
    """By row of a table: whether the request rules it out, and whether a mark keeps it back.

    `required` is by row which tag of the request's `with` names it, counted from 1, 0 for none; `unknown` are the tags
    under `with` that no row has.
    """

    ruled_out: BoolArray
    marked: BoolArray
    required: np.ndarray[tuple[int], np.dtype[np.int64]]
    unknown: tuple[str, ...]


def piece_standing(table: RackTable, request: BoardRequest) -> PieceStanding:
    """How each row of the table stands to the request; its species and sizes are left aside."""
    rules = request.eligibility
    required = np.zeros(len(table), dtype=np.int64)
    unknown = []
    for number, (tag, rows) in enumerate(zip(rules.required, table.rows_of_tags(rules.required), strict=True), 1):
        required[rows] = number
        if not len(rows):
            unknown.append(tag)
    ruled_out = np.zeros(len(table), dtype=np.bool_)
    for rows in table.rows_of_tags(rules.without):
        ruled_out[rows] = True
    if rules.longest is not None:
        ruled_out |= table.length > rules.longest
    if rules.faces is not Faces.ANY:
        allowed = np.array([_allows(rules.faces, face) for face in FACES], dtype=np.bool_)
        ruled_out |= ~(allowed[table.face_a] & allowed[table.face_b])
    if not rules.short_work:
        ruled_out |= table.length < request.allowances.shortest_machined
    if rules.batch:
        of_batch = np.zeros(len(table), dtype=np.bool_)
        of_batch[table.rows_of_batch(rules.batch)] = True
        ruled_out |= ~of_batch
    return PieceStanding(ruled_out, table.reserved & (required == 0), required, tuple(unknown))


def _allows(faces: Faces, face: Face) -> bool:
    return face is Face.PLANED or (faces is Faces.BARE and face is not Face.FINISHED)


def eligible_table(table: RackTable, request: BoardRequest) -> RackTable:
    """The rows that may serve, those that the request's `with` names marked as `required`."""
    standing = piece_standing(table, request)
    barred = standing.ruled_out | standing.marked
    named = table if not request.eligibility.required else replace(table, required=standing.required)
    return named.select(np.flatnonzero(~barred).astype(np.int64)) if barred.any() else named
