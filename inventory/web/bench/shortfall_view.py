"""A shortfall as the bench shows it: what is missing of which wood, what would rescue a piece, what could be filled.

The figures come from `inventory.orders.shortfall`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from inventory.core.lengths import Display, Length, format_length, format_length_down, typed_text
from inventory.cutting.bands import Demand
from inventory.fill.plan import NearMiss, Shortage, Shortfall
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.shortfall import OTHER_SPECIES
from inventory.web.bench import board_form
from inventory.web.bench.effort_view import nonbreaking
from inventory.web.bench.pools_view import format_band_numbers
from inventory.web.drawings.board_preview import format_species
from inventory.wording.shortfall_text import format_fix, format_unhelpful, smaller_sizes, unhelpful_sizes

SIZE_ADJECTIVES = {"width": "wide", "length": "long", "thickness": "thick"}


@dataclass(frozen=True)
class NearMissView:
    """A piece that just falls out, by what; `fix` says what would let it serve, `address` searches so."""

    tag: str
    by: str
    fix: str
    address: str


@dataclass(frozen=True)
class SmallerBoardView:
    """The largest board where one size gives way: which size, how large at most, and the search for it."""

    name: str
    size: str
    words: str
    address: str


@dataclass(frozen=True)
class ShortfallView:
    """All that is said where the rack can't fill a board."""

    title: str
    shortages: tuple[str, ...]
    reasons: tuple[tuple[str, int], ...]
    misses: tuple[NearMissView, ...]
    smaller: tuple[SmallerBoardView, ...]
    no_help: str
    any_species: str

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(miss.tag for miss in self.misses)


def build_shortfall_view(
    shortfall: Shortfall, asked: BoardRequest, typed: MultiDict[str, str], display: Display
) -> ShortfallView:
    """The shortfall of this request, in words; links keep the rest of the search as typed."""
    smaller = tuple(_smaller(shortfall, asked, typed, display))
    return ShortfallView(
        title=_title(shortfall, asked, display),
        shortages=tuple(nonbreaking(each) for each in _lack_texts(shortfall.shortages, asked, display)),
        reasons=tuple((reason, count) for reason, count in shortfall.reasons.items() if count),
        misses=tuple(_miss(miss, typed, display) for miss in shortfall.nearest),
        smaller=smaller,
        no_help=format_unhelpful(unhelpful_sizes(shortfall, asked, display)),
        any_species=board_form.url_for_any_species(typed) if shortfall.reasons.get(OTHER_SPECIES) else "",
    )


def _title(shortfall: Shortfall, asked: BoardRequest, display: Display) -> str:
    if not shortfall.shortages:
        return "The bands want the same wood" if len(asked.bands) > 1 else "No way was found to share the wood out"
    if all(shortage.strips is not None for shortage in shortfall.shortages):
        many = sum(shortage.strips or 0 for shortage in shortfall.shortages)
        return f"{many} accent strip{' is' if many == 1 else 's are'} missing"
    missing = Length(sum(shortage.width for shortage in shortfall.shortages))
    return f"{format_length(missing, display)} of width is missing"


def _lack_texts(shortages: Sequence[Shortage], asked: BoardRequest, display: Display) -> Iterator[str]:
    """A sentence for each pool and stripe that is short, or one where only the sharing fails."""
    if not shortages and len(asked.bands) <= 1:
        yield (
            "There is width enough for all of it together, but no way was found to share the strips out among the "
            "glue-ups. Ask for one board fewer, or make them a little narrower."
        )
    elif not shortages:
        yield (
            "Each band could be filled if it had the wood to itself, but not all of them from what is there. "
            "Give a band other species, or make it narrower."
        )
    demands = {demand.bands[0]: demand for demand in asked.demands()}
    for shortage in shortages:
        yield _lack_text(shortage, demands[shortage.band], asked, display)


def _lack_text(shortage: Shortage, demand: Demand, asked: BoardRequest, display: Display) -> str:
    wood = f" of {format_species(shortage.species)}" if shortage.species else ""
    of_band = f"{format_band_numbers(tuple(band + 1 for band in demand.bands))}: " if len(asked.bands) > 1 else ""
    several = asked.count > 1 or asked.grain is Grain.END
    if shortage.strips is not None:
        there = max(demand.target - shortage.strips, 0)
        wanted = f"strips {format_length(demand.stripe or Length(0), display)} wide{wood}"
        if several:
            return f"{of_band}{shortage.strips} {wanted} are missing, all panels and boards together."
        return f"{of_band}{there} of {demand.target} {wanted} can be had."
    there = max(demand.target - shortage.width, 0)
    if several:
        return (
            f"{of_band}{format_length(shortage.width, display)} of width{wood} is missing, all panels and "
            "boards together."
        )
    if not there:
        return f"{of_band}No piece{wood} on the rack gives a single strip for it."
    return (
        f"{of_band}All strips{wood} that the rack can give reach {format_length(Length(there), display)} "
        "together; the glue-up "
        f"needs {format_length(Length(demand.target), display)}, side trim included."
    )


def _miss(miss: NearMiss, typed: MultiDict[str, str], display: Display) -> NearMissView:
    by = f"{format_length(miss.by, display)} {miss.reason}"
    if miss.fix is None:
        return NearMissView(miss.tag, by, "", "")
    name, to = miss.fix.allowance, miss.fix.to
    return NearMissView(
        tag=miss.tag,
        by=by,
        fix=format_fix(miss.fix, display),
        address=board_form.address(typed, **{name: typed_text(to, display.unit)}),
    )


def _smaller(
    shortfall: Shortfall, asked: BoardRequest, typed: MultiDict[str, str], display: Display
) -> Iterator[SmallerBoardView]:
    """Sizes are rounded down to what the shop reads, which the rack fills as well."""
    for name, size in smaller_sizes(shortfall, asked, display).items():
        yield SmallerBoardView(
            name=name,
            size=format_length_down(size, display),
            words=f"Ask for {format_length_down(size, display)} {SIZE_ADJECTIVES[name]}",
            address=board_form.address(typed, **{name: typed_text(size, display.unit)}),
        )
