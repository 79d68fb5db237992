"""What each band of an option gets, as a table on the page."""

from __future__ import annotations

from collections.abc import Iterator

from inventory.core.lengths import Display, Length, format_length
from inventory.fill.plan import Fill
from inventory.fill.pool_report import PoolReport, pool_reports
from inventory.layout.positions import FillLayout
from inventory.web.drawings.board_preview import format_species
from inventory.wording.shortfall_text import format_band_numbers

PoolRow = tuple[str, str, str, str, str, str]
"""Bands, species, what they ask and get, how many strips, and the letters of the pieces that these come from."""


def build_pool_rows(fill_layout: FillLayout, display: Display) -> tuple[PoolRow, ...]:
    """A row for each pool and stripe; none where all strips serve the same, which the figures tell already."""
    pools = pool_reports(fill_layout.fill)
    return tuple(_rows(pools, fill_layout, display)) if len(pools) > 1 else ()


def _rows(pools: tuple[PoolReport, ...], fill_layout: FillLayout, display: Display) -> Iterator[PoolRow]:
    several = len({pool.request for pool in pools}) > 1
    for pool in pools:
        names = [_glue_ups_text(pool, fill_layout.fill, display)] if several else []
        names += [format_band_numbers(pool.bands)] if len(pool.request.bands) > 1 else []
        letters = dict.fromkeys(fill_layout.letters[cut.offcut.tag, cut.piece] for cut in pool.cuts)
        yield (
            ": ".join(names),
            format_species(pool.demand.species),
            _required_text(pool, display),
            f"{pool.received} strips" if pool.is_stripe else format_length(Length(pool.received), display),
            str(pool.strips),
            ", ".join(letters),
        )


def _required_text(pool: PoolReport, display: Display) -> str:
    if pool.demand.stripe is None:
        return format_length(Length(pool.required), display)
    return f"{pool.required} × {format_length(pool.demand.stripe, display)}"


def _glue_ups_text(pool: PoolReport, fill: Fill, display: Display) -> str:
    """`2 panels of 4 rows`, or `3 boards 18 in long`."""
    rows = next(each.rows for each in fill.glue_ups if each.request == pool.request)
    if rows:
        panels = "1 panel" if pool.glue_ups == 1 else f"{pool.glue_ups} panels"
        return f"{panels} of {rows} {'row' if rows == 1 else 'rows'}"
    boards = "1 board" if pool.glue_ups == 1 else f"{pool.glue_ups} boards"
    return f"{boards} {format_length(pool.request.length, display)} long"
