"""Laying out: which strip lies where in each glue-up of a fill, as a proposal (cutting model, sections 6 to 8).

Bands lie as requested; a pool's strips are shared out over its bands, each as near to its width as whole strips
allow, and lie in them as `inventory.layout.arrangement` puts them. Any other order within a band glues up as wide.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import Band, FieldBand, StripeBand, band_widths
from inventory.cutting.cuts import Cut
from inventory.cutting.marking_out import MarkedPiece
from inventory.fill.demands import part_of_band
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest
from inventory.layout.arrangement import Piece, UnplacedStrip, arrange, arrange_to_match
from inventory.layout.band_shares import share_by_count, share_by_width
from inventory.layout.positions import FillLayout as FillLayout
from inventory.layout.positions import GlueUpLayout as GlueUpLayout
from inventory.layout.positions import LetteredPiece as LetteredPiece
from inventory.layout.positions import PlacedStrip as PlacedStrip
from inventory.layout.positions import StripRun as StripRun
from inventory.layout.positions import letter_of as letter_of
from inventory.layout.strip_order import InvalidOrder, StripOrder


@dataclass(frozen=True)
class BandGroup:
    """Bands side by side that the same strips may fill, from the first edge on, with their widths.

    `stripes` are the strips that they ask for together, 0 for fields.
    """

    bands: tuple[int, ...]
    widths: tuple[Length, ...]
    demand: int
    stripes: int

    @property
    def width(self) -> Length:
        return Length(sum(self.widths))

    def band_at(self, place: int, width: int) -> int:
        """The band in which a strip lies whose middle is at `place` of a stretch that became `width` wide."""
        reached = 0
        for band, share in zip(self.bands, self.widths, strict=True):
            reached += share
            if place * self.width <= reached * width:
                return band
        return self.bands[-1]


@dataclass(frozen=True)
class ArrangedStrip:
    """A strip that has its place, in the stretch of that number."""

    strip: UnplacedStrip
    band_group: int
    turned: bool = False
    flipped: bool = False


def lay_out_glue_up(fill: Fill, request: BoardRequest) -> GlueUpLayout:
    """The proposed layout of a fill of one glue-up. Raises ValueError where there are several."""
    fill_layout = lay_out_fill(fill, request)
    if len(fill_layout.layouts) != 1:
        raise ValueError("this fill has several glue-ups: lay them all out")
    return fill_layout.layouts[0]


def lay_out_fill(fill: Fill, request: BoardRequest, order: StripOrder | None = None) -> FillLayout:
    """Puts the strips of a fill in order across each of its glue-ups, and numbers them.

    Letters follow as the pieces come from the first strip to the last of the proposed
    order; they stay when the user has an `order` of his own. Raises NotAnOrder where
    that is not one of these strips, each within its band.
    """
    places = proposed_arrangement(fill)
    letters: dict[Piece, str] = {}
    for each in (each for row in places for each in row):
        letters.setdefault(each.strip.piece, letter_of(len(letters)))
    if order is not None:
        places = _apply_order(places, order)
    offcuts = {(cut.offcut.tag, cut.piece): cut.offcut for cut in fill.cuts}
    numbers = {(each.strip.piece, each.strip.nth): 0 for row in places for each in row}
    rows: list[tuple[PlacedStrip, ...]] = []
    empty: list[tuple[int, ...]] = []
    for glue_up, row in zip(fill.glue_ups, places, strict=True):
        band_groups = _band_groups(glue_up.request)
        filled = {each.band_group for each in row}
        empty.append(
            tuple(band for place, each in enumerate(band_groups) if place not in filled for band in each.bands)
        )
        first = sum(map(len, rows)) + 1
        rows.append(tuple(_strips(row, band_groups, letters, offcuts, first)))
        numbers |= {(each.strip.piece, each.strip.nth): first + place for place, each in enumerate(row)}
    marked = marked_pieces(fill)
    pieces = {
        piece: LetteredPiece(letter, marked[piece], _numbers_by_strip(marked[piece], piece, numbers))
        for piece, letter in letters.items()
    }
    return FillLayout(request, tuple(_layouts(fill.glue_ups, rows, empty, pieces)), tuple(pieces.values()))


def _layouts(
    glue_ups: Sequence[PlannedGlueUp],
    rows: Sequence[tuple[PlacedStrip, ...]],
    empty: Sequence[tuple[int, ...]],
    pieces: dict[Piece, LetteredPiece],
) -> Iterator[GlueUpLayout]:
    for glue_up, strips, empty_bands in zip(glue_ups, rows, empty, strict=True):
        request = glue_up.request
        sizes = request.glue_up
        yield GlueUpLayout(
            request=request,
            length=sizes.strip_length,
            width=Length(sum(strip.width for strip in strips)),
            thickness=sizes.rough_thickness,
            strips=strips,
            pieces=tuple(pieces[key] for key in dict.fromkeys((strip.offcut.tag, strip.piece) for strip in strips)),
            planned=glue_up,
            empty_bands=empty_bands,
        )


def _strips(
    row: Sequence[ArrangedStrip],
    band_groups: Sequence[BandGroup],
    letters: dict[Piece, str],
    offcuts: dict[Piece, Offcut],
    first: int,
) -> Iterator[PlacedStrip]:
    place = 0
    wide = Counter[int]()
    for each in row:
        wide[each.band_group] += each.strip.width
    starts: dict[int, int] = {}
    for number, each in enumerate(row, first):
        unplaced = each.strip
        start = starts.setdefault(each.band_group, place)
        yield PlacedStrip(
            number=number,
            letter=letters[unplaced.piece],
            offcut=offcuts[unplaced.piece],
            start=Length(place),
            width=unplaced.width,
            closing=unplaced.closing,
            band=band_groups[each.band_group].band_at(place - start + unplaced.width // 2, wide[each.band_group]),
            piece=unplaced.piece[1],
            nth=unplaced.nth,
            turned=each.turned,
            flipped=each.flipped,
            band_group=each.band_group,
        )
        place += unplaced.width


def _numbers_by_strip(
    marked: MarkedPiece, piece: Piece, numbers: dict[tuple[Piece, int], int]
) -> tuple[tuple[int, ...], ...]:
    """The numbers of each ripped strip; those of strips that are over are left out."""
    given, nth = [], 0
    for many in marked.strips_by_rip:
        named = [numbers.get((piece, each), 0) for each in range(nth, nth + many)]
        given.append(tuple(number for number in named if number))
        nth += many
    return tuple(given)


def marked_pieces(fill: Fill) -> dict[Piece, MarkedPiece]:
    """Every piece of the fill with its cuts marked out."""
    by_piece: dict[Piece, list[Cut]] = {}
    for cut in fill.cuts:
        by_piece.setdefault((cut.offcut.tag, cut.piece), []).append(cut)
    marked: dict[Piece, MarkedPiece] = {}
    for piece, cuts in by_piece.items():
        request = fill.glue_ups[cuts[0].assignments[0].glue_up].request
        marked[piece] = part_of_band(request, cuts[0].band).construction.mark(tuple(cuts), request.glue_up)
    return marked


def unplaced_strips(fill: Fill) -> dict[tuple[int, int], list[UnplacedStrip]]:
    """The strips of a fill by the glue-up that they go to and the first band of what they fill there."""
    unplaced: dict[tuple[int, int], list[UnplacedStrip]] = {}
    nths: dict[Piece, int] = {}
    # Whole lengths are ripped before the closing strip, as `marking` has it.
    for cut in sorted(fill.cuts, key=lambda each: each.closing):
        piece = (cut.offcut.tag, cut.piece)
        nth = nths.get(piece, 0)
        nths[piece] = nth + cut.glued_strips
        for share in cut.assignments:
            here = unplaced.setdefault((share.glue_up, cut.band), [])
            for count in range(share.strips):
                start, end = share.adds * count // share.strips, share.adds * (count + 1) // share.strips
                here.append(UnplacedStrip(piece, nth, cut.offcut.species, Length(end - start), cut.closing))
                nth += 1
    return unplaced


def proposed_arrangement(fill: Fill) -> list[list[ArrangedStrip]]:
    """The proposed order of each glue-up, from its first edge to its last."""
    unplaced = unplaced_strips(fill)
    rows = []
    for number, glue_up in enumerate(fill.glue_ups):
        request = glue_up.request
        by_demand = [
            [strip for band in demand.bands for strip in unplaced.get((number, band), [])]
            for demand in request.demands()
        ]
        rows.append(_arrange_demands(by_demand, _band_groups(request), mirror=not glue_up.rows))
    return rows


def _apply_order(places: Sequence[Sequence[ArrangedStrip]], order: StripOrder) -> list[list[ArrangedStrip]]:
    """The places in the user's order; a strip keeps to the stretch that it was given."""
    if len(places) != len(order):
        raise InvalidOrder("This order is for another number of glue-ups. Let the order be proposed again.")
    rows = []
    for row, request in zip(places, order, strict=True):
        by_strip = {(*each.strip.piece, each.strip.nth): each for each in row}
        try:
            found = [by_strip.pop((placement.tag, placement.piece, placement.nth)) for placement in request]
        except KeyError:
            found = []
        if len(found) != len(row):
            raise InvalidOrder("This order is not of just the strips of this glue-up. Let the order be proposed again.")
        if any(one.band_group > other.band_group for one, other in pairwise(found)):
            raise InvalidOrder("A strip can't leave its band: the board would no longer be the one that was asked for.")
        rows.append(
            [
                replace(each, turned=placement.turned, flipped=placement.flipped)
                for each, placement in zip(found, request, strict=True)
            ]
        )
    return rows


def _arrange_demands(
    by_demand: Sequence[Sequence[UnplacedStrip]], band_groups: Sequence[BandGroup], *, mirror: bool
) -> list[ArrangedStrip]:
    shared: dict[int, list[UnplacedStrip]] = {}
    opposite = _mirror_pairs(band_groups) if mirror else {}
    for demand, strips in enumerate(by_demand):
        here = [number for number, band_group in enumerate(band_groups) if band_group.demand == demand]
        if band_groups[here[0]].stripes:
            bands, _ = share_by_count(strips, [band_groups[number].stripes for number in here])
        else:
            pairs = [
                (here.index(number), here.index(opposite[number]))
                for number in here
                if number < opposite.get(number, -1)
            ]
            bands = share_by_width(strips, [band_groups[number].width for number in here], pairs)
        shared |= dict(zip(here, bands, strict=True))
    rows: dict[int, tuple[UnplacedStrip, ...]] = {}
    for number in range(len(band_groups)):
        first = opposite.get(number, number)
        if first < number:
            rows[number] = arrange_to_match(shared[number], rows[first][::-1])
        else:
            rows[number] = arrange(shared[number], mirror=mirror)
    return _in_cutting_order(
        [ArrangedStrip(strip, number) for number in range(len(band_groups)) for strip in rows[number]]
    )


def _in_cutting_order(row: list[ArrangedStrip]) -> list[ArrangedStrip]:
    """The same row with like strips of a piece exchanged, so that they lie in the order in which they come off."""
    remaining: dict[object, list[UnplacedStrip]] = {}
    for each in sorted((each.strip for each in row), key=lambda strip: strip.nth, reverse=True):
        remaining.setdefault((each.strip_class, each.closing), []).append(each)
    return [ArrangedStrip(remaining[each.strip.strip_class, each.strip.closing].pop(), each.band_group) for each in row]


def _mirror_pairs(band_groups: Sequence[BandGroup]) -> dict[int, int]:
    """Of a pattern that is its own mirror image, which stretch lies opposite which; the middle one has none."""
    last = len(band_groups) - 1
    if any(
        (one.demand, one.stripes) != (other.demand, other.stripes)
        for one, other in zip(band_groups, reversed(band_groups), strict=True)
    ):
        return {}
    return {number: last - number for number in range(last + 1) if number != last - number}


def _band_groups(request: BoardRequest) -> list[BandGroup]:
    """The bands of a glue-up; bands side by side that ask for the same are one."""
    bands: tuple[Band, ...] = request.bands or (FieldBand(),)
    widths = band_widths(bands, request.width, request.allowances.side_trim)
    demand_of = {band: number for number, demand in enumerate(request.demands()) for band in demand.bands}
    band_groups: list[BandGroup] = []
    for number, band in enumerate(bands):
        demand = demand_of[number]
        here = BandGroup((number,), (widths[number],), demand, band.strips if isinstance(band, StripeBand) else 0)
        if band_groups and band_groups[-1].demand == demand:
            last = band_groups.pop()
            here = BandGroup((*last.bands, number), (*last.widths, widths[number]), demand, last.stripes + here.stripes)
        band_groups.append(here)
    return band_groups
