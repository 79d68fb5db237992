"""Which pieces of the rack may serve a request, before any search (cutting model, sections 2 and 8)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inventory.core.offcuts import Face, species_key
from inventory.core.species import counts_as_any
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import FACES, BoolArray, RackTable
from inventory.fill.request import BoardRequest, Faces


@dataclass(frozen=True)
class PieceStanding:
    """By row of a table: whether the request rules it out, and whether a mark keeps it back.

    `required` is by row which tag of the request's `with` names it, counted from 1, 0 for none. `absent` are the tags
    under `with` of which no piece may serve: it is not on the rack, or the request rules it out.
    """

    ruled_out: BoolArray
    marked: BoolArray
    required: IntArray
    absent: tuple[str, ...]


@dataclass(frozen=True)
class EligiblePieces:
    """The rows that may serve, `required` set where the request's `with` names them; `absent` as in PieceStanding."""

    table: RackTable
    absent: tuple[str, ...]


def piece_standing(table: RackTable, request: BoardRequest) -> PieceStanding:
    """How each row of the table stands to the request; its species and sizes are left aside."""
    rules = request.eligibility
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
    required = np.zeros(len(table), dtype=np.int64)
    named = table.rows_of_tags(rules.required)
    for number, rows in enumerate(named, 1):
        required[rows] = number
    absent = tuple(tag for tag, rows in zip(rules.required, named, strict=True) if ruled_out[rows].all())
    return PieceStanding(ruled_out, table.reserved & (required == 0), required, absent)


def _allows(faces: Faces, face: Face) -> bool:
    return face is Face.PLANED or (faces is Faces.BARE and face is not Face.FINISHED)


def eligible_pieces(table: RackTable, *requests: BoardRequest) -> EligiblePieces:
    """The pieces that may serve an order, whatever their sizes; what the first request demands holds for all.

    Sheet goods and unknown wood that no band and no tag names are left out here already: where one species is chosen
    for a field of any, it may be that of a named piece.
    """
    request = requests[0]
    standing = piece_standing(table, request)
    barred = standing.ruled_out | standing.marked
    species = {name for each in requests for band in each.bands for name in map(species_key, band.species)}
    unnamed = np.array(
        [not counts_as_any(name) and species_key(name) not in species for name in table.names], dtype=np.bool_
    )
    if unnamed.any():
        barred |= unnamed[table.species] & (standing.required == 0)
    named = table if not request.eligibility.required else replace(table, required=standing.required)
    may_serve = named.select(np.flatnonzero(~barred).astype(np.int64)) if barred.any() else named
    return EligiblePieces(may_serve, standing.absent)
