"""A shortfall as the bench shows it: what is missing, and links to searches that the rack could fill."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from inventory.core.lengths import Display, format_length_down, typed_text
from inventory.fill.plan import OTHER_SPECIES, Shortfall
from inventory.fill.request import BoardRequest
from inventory.web.bench import board_form
from inventory.wording.shortfall_text import (
    SIZE_ADJECTIVES,
    format_enough_panels,
    format_fix,
    format_miss,
    format_purchase,
    format_unhelpful_sizes,
    shortage_sentences,
    shortfall_title,
    smaller_sizes,
)


@dataclass(frozen=True)
class ShortfallView:
    """All that is said where the rack can't fill a board.

    Each of `misses` is a tag, by how much the piece was ruled out, what would let it serve, and the address of the
    search that takes it; the last two are empty where nothing helps. Each of `smaller` is the name of a size, the
    largest that it could be, and the words and address of a link to that search. `panels` are the words and address of
    the search with more panels, where that fills the board.
    """

    title: str
    shortages: tuple[str, ...]
    to_buy: tuple[str, ...]
    reasons: tuple[tuple[str, int], ...]
    misses: tuple[tuple[str, str, str, str], ...]
    smaller: tuple[tuple[str, str, str, str], ...]
    no_help: str
    any_species: str
    panels: tuple[str, str] | None

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(tag for tag, *_ in self.misses)


def build_shortfall_view(
    shortfall: Shortfall, asked: BoardRequest, typed: MultiDict[str, str], display: Display
) -> ShortfallView:
    """The shortfall of this request, in words; links keep the rest of the search as typed."""
    return ShortfallView(
        title=shortfall_title(shortfall, asked, display),
        shortages=tuple(shortage_sentences(shortfall, asked, display)),
        to_buy=tuple(format_purchase(purchase, display) for purchase in shortfall.to_buy),
        reasons=tuple((reason, count) for reason, count in shortfall.reasons.items() if count),
        misses=tuple(_misses(shortfall, typed, display)),
        smaller=tuple(_smaller(shortfall, asked, typed, display)),
        panels=None
        if shortfall.panels is None
        else (format_enough_panels(shortfall.panels), board_form.address(typed, panels=str(shortfall.panels))),
        no_help=format_unhelpful_sizes(shortfall, asked, display),
        any_species=board_form.url_for_any_species(typed)
        if asked.species and shortfall.reasons.get(OTHER_SPECIES)
        else "",
    )


def _misses(shortfall: Shortfall, typed: MultiDict[str, str], display: Display) -> Iterator[tuple[str, str, str, str]]:
    for miss in shortfall.nearest:
        fix = address = ""
        if miss.fix is not None:
            fix = format_fix(miss.fix, display)
            address = board_form.address(typed, **{miss.fix.allowance: typed_text(miss.fix.to, display.unit)})
        yield miss.tag, format_miss(miss, display), fix, address


def _smaller(
    shortfall: Shortfall, asked: BoardRequest, typed: MultiDict[str, str], display: Display
) -> Iterator[tuple[str, str, str, str]]:
    for name, length in smaller_sizes(shortfall, asked, display).items():
        size = format_length_down(length, display)
        address = board_form.address(typed, **{name: typed_text(length, display.unit)})
        yield name, size, f"Ask for {size} {SIZE_ADJECTIVES[name]}", address
