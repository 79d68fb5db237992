"""What each band of a set gets, as a table on the page.

The figures come from `inventory.fill.pool_report`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from inventory.core.lengths import Display, Length, format_length
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill
from inventory.fill.pool_report import PoolReport, pool_reports
from inventory.fill.request import BoardRequest
from inventory.web.drawings.board_preview import format_species
from inventory.wording.shortfall_text import format_band_numbers


@dataclass(frozen=True)
class PoolView:
    """One row: which bands, of which wood, what they ask and get, and from which pieces by their letters."""

    bands: str
    wood: str
    asked: str
    received: str
    strips: int
    letters: str


def build_pool_views(
    fill: Fill, request: BoardRequest, letter_of: Callable[[Cut], str], display: Display
) -> tuple[PoolView, ...]:
    """A row for each pool and stripe; none where all strips serve the same, which the figures tell already."""
    pools = pool_reports(fill)
    return tuple(_rows(pools, fill, letter_of, display)) if len(pools) > 1 else ()


def _rows(
    pools: tuple[PoolReport, ...], fill: Fill, letter_of: Callable[[Cut], str], display: Display
) -> Iterator[PoolView]:
    several = len({pool.request for pool in pools}) > 1
    for pool in pools:
        glue_up = f"{_glue_ups(pool, fill, display)}: " if several else ""
        yield PoolView(
            bands=glue_up + format_band_numbers(pool.bands)
            if len(pool.request.bands) > 1
            else glue_up.removesuffix(": "),
            wood=format_species(pool.demand.species),
            asked=_requested_text(pool, display),
            received=f"{pool.received} strips" if pool.is_stripe else format_length(Length(pool.received), display),
            strips=pool.strips,
            letters=", ".join(dict.fromkeys(letter_of(cut) for cut in pool.cuts)),
        )


def _requested_text(pool: PoolReport, display: Display) -> str:
    if pool.demand.stripe is None:
        return format_length(Length(pool.required), display)
    return f"{pool.required} × {format_length(pool.demand.stripe, display)}"


def _glue_ups(pool: PoolReport, fill: Fill, display: Display) -> str:
    """`2 panels of 4 rows`, or `3 boards 18 in long`."""
    rows = next(each.rows for each in fill.glue_ups if each.request == pool.request)
    if rows:
        panels = "1 panel" if pool.glue_ups == 1 else f"{pool.glue_ups} panels"
        return f"{panels} of {rows} {'row' if rows == 1 else 'rows'}"
    boards = "1 board" if pool.glue_ups == 1 else f"{pool.glue_ups} boards"
    return f"{boards} {format_length(pool.request.length, display)} long"
