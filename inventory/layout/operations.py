"""The work of a fill: set-ups, thin rips, short pieces, glue-ups in parts.

Sizes are Length. In words: `inventory.wording.effort_text`. The limits of machines are common practice, no source; the
machines' manuals come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from inventory.core.lengths import Length, inches
from inventory.core.workshop import Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.demands import part_of_band
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest

# common practice, no source
THIN_RIP_WIDTH = inches("1/4")
MIN_RIP_WIDTH = inches("1/8")
MIN_MACHINED_LENGTH = inches("12")


class Flattening(Enum):
    """How a glue-up gets through the planer."""

    WHOLE = "whole"
    AFTER_TRIMMING = "once it is cut to width"
    IN_PARTS = "in parts"
    OTHER_METHOD = "another way"
    END_GRAIN = "end grain, another way"


@dataclass(frozen=True)
class GlueUpOperation:
    """Gluing up once: `parts` are the strips of each part, in order; one part where all are glued at once.

    Of the rows of an end-grain board each counts as a strip. `glue_spreads` counts the
    spreads of glue: each part, then the parts together. `first` is the number of the
    first strip in the drawing, None where the parts were not taken from one.
    """

    width: Length
    parts: tuple[int, ...]
    glue_spreads: int
    flattening: Flattening
    exceeds_spread: bool
    first: int | None = None

    @property
    def strips(self) -> int:
        return sum(self.parts)

    @property
    def joins_rows(self) -> bool:
        """Whether the rows of an end-grain board are glued here."""
        return self.flattening is Flattening.END_GRAIN


@dataclass(frozen=True)
class Operations:
    """The work of a fill.

    Each setting of fence or stop that the cuts need, the smallest first: `fence` are widths to rip, `stop` lengths to
    crosscut, slices of a panel too, `resaw` thicknesses of leaves as they come off the band saw. `thinnest` is the
    thinnest strip at the saw, however it is turned. `short_offcuts` are the tags of pieces too short for jointer and
    planer, `short_lengths` the crosscut lengths that are.
    """

    fence: tuple[Length, ...]
    stop: tuple[Length, ...]
    resaw: tuple[Length, ...]
    thinnest: Length
    short_offcuts: tuple[str, ...]
    short_lengths: tuple[Length, ...]
    glue_ups: tuple[GlueUpOperation, ...]

    @property
    def glue_spreads(self) -> int:
        """Spreads of glue in all."""
        return sum(each.glue_spreads for each in self.glue_ups)


def operations_for(fill: Fill, workshop: Workshop, strip_widths: Sequence[Sequence[Length]] = ()) -> Operations:
    """The work of a fill in this workshop.

    `strip_widths` are the widths of the strips of each glue-up as they are drawn, numbered
    through all of them; without it they are taken as the cuts come.
    """
    pairs = [(cut, fill.glue_ups[_glue_up_of(cut)].request) for cut in fill.cuts]
    # A piece that is just one length long needs no crosscut.
    stops = {request.glue_up.strip_length for cut, request in pairs if cut.offcut.length > request.glue_up.strip_length}
    stops |= {slice_length(glue_up) for glue_up in fill.glue_ups if glue_up.rows > 1}
    lengths = {request.glue_up.strip_length for _, request in pairs}
    short = (cut.offcut.tag for cut in fill.cuts if cut.offcut.length < MIN_MACHINED_LENGTH)
    return Operations(
        fence=_unique_sorted(width for cut, request in pairs if (width := ripped_width(cut, request)) is not None),
        stop=_unique_sorted(stops),
        resaw=_unique_sorted(leaf for cut, request in pairs if (leaf := _resawn_leaf(cut, request)) is not None),
        thinnest=Length(min(_thinnest(cut, request) for cut, request in pairs)),
        short_offcuts=tuple(dict.fromkeys(short)),
        short_lengths=_unique_sorted(length for length in lengths if length < MIN_MACHINED_LENGTH),
        glue_ups=(*_strip_glue_ups(fill, workshop, strip_widths), *_row_glue_ups(fill, workshop)),
    )


def ripped_width(cut: Cut, request: BoardRequest) -> Length | None:
    """The width that the fence is set to for this cut; None where a length is glued in as wide as it is."""
    return part_of_band(request, cut.band).construction.ripped_width(cut, request.glue_up)


def slice_length(panel: PlannedGlueUp) -> Length:
    """How long a slice of a panel is along the panel's grain (cutting model, section 6)."""
    kerf = panel.request.allowances.crosscut_kerf
    return Length((panel.request.length + kerf) // panel.rows - kerf)


def strips_by_glue_up(fill: Fill) -> list[list[tuple[str, Length]]]:
    """For each glue-up its strips, each as species and the width that it adds."""
    strips: list[list[tuple[str, Length]]] = [[] for _ in fill.glue_ups]
    for cut in fill.cuts:
        for share in cut.assignments:
            each = (cut.offcut.species, Length(share.adds // share.strips))
            strips[share.glue_up] += [each] * share.strips
    return strips


def split_into_parts(widths: Sequence[int], most_width: int | None, most_strips: int) -> tuple[int, ...] | None:
    """The fewest parts of neighboring strips that keep both limits, none much wider than it must be.

    Returns the number of strips in each; None where a strip alone is too wide.

    >>> split_into_parts([30, 30, 30, 30, 30], 100, 16), split_into_parts([30, 30], 20, 16)
    ((3, 2), None)
    """
    widest = sum(widths) if most_width is None else most_width
    fewest = _greedy_parts(widths, widest, most_strips)
    if fewest is None or len(fewest) == 1:
        return fewest
    low, high = max(widths, default=0), widest
    while low < high:
        middle = (low + high) // 2
        parts = _greedy_parts(widths, middle, most_strips)
        if parts is not None and len(parts) == len(fewest):
            high = middle
        else:
            low = middle + 1
    return _greedy_parts(widths, low, most_strips) or fewest


def _greedy_parts(widths: Sequence[int], most_width: int, most_strips: int) -> tuple[int, ...] | None:
    parts: list[int] = []
    here = 0
    for width in widths:
        if width > most_width:
            return None
        if parts and here + width <= most_width and parts[-1] < most_strips:
            parts[-1] += 1
            here += width
        else:
            parts.append(1)
            here = width
    return tuple(parts)


def _strip_glue_ups(fill: Fill, workshop: Workshop, strip_widths: Sequence[Sequence[Length]]) -> list[GlueUpOperation]:
    widths = strip_widths or [[width for _, width in strips] for strips in strips_by_glue_up(fill)]
    made = []
    first = 1
    for each, glue_up in zip(widths, fill.glue_ups, strict=True):
        made.append(_glue_up_operation(each, glue_up.jointed_width, workshop, first if strip_widths else None))
        first += len(each)
    return made


def _glue_up_operation(
    widths: Sequence[Length], finished: Length, workshop: Workshop, first: int | None
) -> GlueUpOperation:
    """One glue-up of strips, in as few parts as planer and glue allow."""
    width = Length(sum(widths))
    exceeds_spread = len(widths) > workshop.max_strips_per_spread
    if width <= workshop.planer_width:
        flattening, most = Flattening.WHOLE, None
    elif finished <= workshop.planer_width:
        flattening, most = Flattening.AFTER_TRIMMING, None
    elif max(widths) <= workshop.planer_width:
        flattening, most = Flattening.IN_PARTS, workshop.planer_width
    else:
        flattening, most = Flattening.OTHER_METHOD, None
    parts = split_into_parts(widths, most, workshop.max_strips_per_spread) or (len(widths),)
    return GlueUpOperation(width, parts, _glue_spreads(parts, workshop), flattening, exceeds_spread, first)


def _row_glue_ups(fill: Fill, workshop: Workshop) -> list[GlueUpOperation]:
    """The second glue-up of each end-grain board: its rows."""
    rows: dict[int, list[Length]] = {}
    widths: dict[int, Length] = {}
    for glue_up in fill.glue_ups:
        if glue_up.rows:
            rows.setdefault(glue_up.board, []).extend([glue_up.request.thickness] * glue_up.rows)
            widths[glue_up.board] = glue_up.jointed_width
    made = []
    for board, depths in rows.items():
        parts = split_into_parts(depths, None, workshop.max_strips_per_spread) or (len(depths),)
        over = len(depths) > workshop.max_strips_per_spread
        made.append(GlueUpOperation(widths[board], parts, _glue_spreads(parts, workshop), Flattening.END_GRAIN, over))
    return made


def _glue_spreads(parts: Sequence[int], workshop: Workshop) -> int:
    """One for each part of more than one strip; then as many parts together as one spread allows, until all are one."""
    glue_spreads = sum(strips > 1 for strips in parts)
    left = len(parts)
    while left > 1:
        left = -(-left // workshop.max_strips_per_spread)
        glue_spreads += left
    return glue_spreads


def _glue_up_of(cut: Cut) -> int:
    """One glue-up that this cut serves; all that it serves are alike."""
    return cut.assignments[0].glue_up


def _thinnest(cut: Cut, request: BoardRequest) -> int:
    ripped = ripped_width(cut, request)
    return min(cut.offcut.thickness, cut.offcut.width if ripped is None else ripped)


def _resawn_leaf(cut: Cut, request: BoardRequest) -> Length | None:
    """How thick leaves come off the band saw; None where none is resawn, or a strip is only planed down to one."""
    if cut.leaves is None:
        return None
    a = request.allowances
    leaf = Length(cut.adds // cut.leaves + a.leaf_clean)
    return leaf if a.clean_thickness(cut.offcut) >= leaf + a.resaw_kerf else None


def _unique_sorted(sizes: Iterable[Length]) -> tuple[Length, ...]:
    return tuple(sorted(set(sizes)))
