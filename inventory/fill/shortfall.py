"""Why the rack cannot fill a board, and which board it could fill (cutting model, section 10).

Knows how misfits are counted and told. Knows no rule of cutting. Sizes are Length.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from inventory.cutting.columns import Columns, columns_of
from inventory.cutting.constructions import Construction
from inventory.cutting.offers import GlueUp, Misfit, glue_up_for
from inventory.fill.plan import NearMiss, Shortfall
from inventory.fill.request import BoardRequest
from inventory.measures import Length
from inventory.pieces import Offcut

OTHER_SPECIES = "other species"
SET_ASIDE = "set aside"
NEAREST = 5


def shortfall_of(
    rack: Sequence[Offcut], request: BoardRequest, construction: Construction, set_aside: int
) -> Shortfall:
    """What is missing, why pieces fell out, the nearest misses, and the largest boards."""
    wanted = [each for each in rack if request.takes(each.species)]
    columns = columns_of(wanted, request.allowances, request.on)
    glue_up = glue_up_for(request.length, request.width, request.thickness, request.allowances)
    reasons, nearest = _misfits(wanted, columns, construction, glue_up)
    reasons[OTHER_SPECIES] = sum(each.count for each in rack) - sum(each.count for each in wanted)
    reasons[SET_ASIDE] = set_aside
    reached = _reached(columns, construction, glue_up)
    return Shortfall(
        missing=Length(glue_up.target - reached),
        species=request.species,
        reasons=reasons,
        nearest=nearest,
        largest_width=_largest_width(reached, request),
        largest_length=_largest(request.length, lambda size: _fills(columns, construction, request, length=size)),
        largest_thickness=_largest(
            request.thickness, lambda size: _fills(columns, construction, request, thickness=size)
        ),
    )


def _reached(columns: Columns, construction: Construction, glue_up: GlueUp) -> int:
    """The width that all strips together reach."""
    return int((construction.capacities(columns, glue_up) * columns.count).sum())


def _misfits(
    wanted: list[Offcut], columns: Columns, construction: Construction, glue_up: GlueUp
) -> tuple[dict[str, int], tuple[NearMiss, ...]]:
    """How many pieces fell out for which reason, a piece counted once, and the nearest misses.

    A piece with several reasons is counted under the first of short, narrow, thin. A near
    miss has one reason alone.
    """
    misfits = construction.misfits(columns, glue_up)
    reasons: dict[str, int] = {}
    near: list[NearMiss] = []
    lacking = np.stack([misfits.short, misfits.narrow, misfits.thin])
    counted = np.zeros(len(columns), dtype=np.bool_)
    alone = (lacking > 0).sum(axis=0) == 1
    for each, by in zip(Misfit, lacking, strict=True):
        here = (by > 0) & ~counted
        reasons[each.value] = int(columns.count[here].sum())
        counted |= here
        near += [
            NearMiss(wanted[row].tag, each.value, Length(int(by[row]))) for row in np.flatnonzero(alone & (by > 0))
        ]
    near.sort(key=lambda miss: (miss.by, miss.tag))
    return reasons, tuple(near[:NEAREST])


def _largest_width(reached: int, request: BoardRequest) -> Length | None:
    width = reached - request.allowances.side_trim
    return Length(width) if width > 0 else None


def _fills(
    columns: Columns,
    construction: Construction,
    request: BoardRequest,
    *,
    length: Length | None = None,
    thickness: Length | None = None,
) -> bool:
    glue_up = glue_up_for(length or request.length, request.width, thickness or request.thickness, request.allowances)
    return _reached(columns, construction, glue_up) >= glue_up.target


def _largest(asked: Length, fills: Callable[[Length], bool]) -> Length | None:
    """The largest size, to the nanometre, that can be filled: smaller sizes never give fewer strips."""
    low, high = 0, int(asked)
    while high - low > 1:
        middle = (low + high) // 2
        if fills(Length(middle)):
            low = middle
        else:
            high = middle
    return Length(low) if low else None
