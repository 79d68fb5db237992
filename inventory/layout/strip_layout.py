"""The proposed place of every strip in the glue-ups of a fill (cutting model, sections 6 to 8).

Bands are in the requested order. `band_shares` shares a pool's strips among its bands, `arrangement` orders them within
a band. Any other order within a band glues up as wide.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from inventory.core.lengths import Length
from inventory.cutting.bands import Band, FieldBand, StripeBand, band_widths
from inventory.cutting.cuts import Cut
from inventory.cutting.marking_out import MarkedPiece
from inventory.fill.demands import part_of_band
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.arrangement import arrange, arrange_to_match
from inventory.layout.band_shares import share_by_count, share_by_width
from inventory.layout.positions import FillLayout, GlueUpLayout, LetteredPiece, Piece, Strip, letter_of
from inventory.layout.strip_order import InvalidOrder, StripOrder


@dataclass(frozen=True)
class BandGroup:
    """Bands side by side that the same strips may fill, from the first edge on, with their widths.

    `demand` is the number of the request's demand that they are part of, `stripes` the strips that they ask for
    together, 0 for fields.
    """

    bands: tuple[int, ...]
    widths: tuple[Length, ...]
    demand: int
    stripes: int

    @property
    def width(self) -> Length:
        return Length(sum(self.widths))

    def band_at(self, place: int, width: int) -> int:
        """The band of a strip whose middle is at `place` of this group, which its strips make `width` wide."""
        reached = 0
        for band, share in zip(self.bands, self.widths, strict=True):
            reached += share
            if place * self.width <= reached * width:
                return band
        return self.bands[-1]


def lay_out_fill(fill: Fill, request: BoardRequest, order: StripOrder | None = None) -> FillLayout:
    """Puts the strips of a fill in order across each of its glue-ups, and numbers them.

    Letters follow as the pieces come from the first strip to the last of the proposed
    order; they stay when the user chose another `order`. Raises InvalidOrder where
    that is not one of these strips, each within its band.
    """
    rows = proposed_arrangement(fill)
    letters: dict[Piece, str] = {}
    for strip in (strip for row in rows for strip in row):
        letters.setdefault(strip.source, letter_of(len(letters)))
    if order is not None:
        rows = _apply_order(rows, order)
    placed: list[tuple[Strip, ...]] = []
    first = 1
    for glue_up, row in zip(fill.glue_ups, rows, strict=True):
        placed.append(tuple(_placed(row, _band_groups(glue_up.request), letters, first)))
        first += len(row)
    numbers = {(strip.source, strip.nth): strip.number for row in placed for strip in row}
    marked = marked_pieces(fill)
    pieces = {
        piece: LetteredPiece(letter, marked[piece], _numbers_by_strip(marked[piece], piece, numbers))
        for piece, letter in letters.items()
    }
    layouts = tuple(
        GlueUpLayout(glue_up, row, tuple(pieces[piece] for piece in dict.fromkeys(strip.source for strip in row)))
        for glue_up, row in zip(fill.glue_ups, placed, strict=True)
    )
    return FillLayout(fill, request, layouts, tuple(pieces.values()))


def _placed(
    row: Sequence[Strip], band_groups: Sequence[BandGroup], letters: dict[Piece, str], first: int
) -> Iterator[Strip]:
    """The strips of a glue-up, from its first edge on, with their numbers from `first`, letters, starts and bands."""
    widths = Counter[int]()
    for strip in row:
        widths[strip.band_group] += strip.width
    start = 0
    starts: dict[int, int] = {}
    for number, strip in enumerate(row, first):
        middle = start - starts.setdefault(strip.band_group, start) + strip.width // 2
        yield replace(
            strip,
            number=number,
            letter=letters[strip.source],
            start=Length(start),
            band=band_groups[strip.band_group].band_at(middle, widths[strip.band_group]),
        )
        start += strip.width


def _numbers_by_strip(
    marked: MarkedPiece, piece: Piece, numbers: dict[tuple[Piece, int], int]
) -> tuple[tuple[int, ...], ...]:
    """The numbers of each ripped strip; those of spare strips are left out."""
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


def _strips_by_band(fill: Fill) -> dict[tuple[int, int], list[Strip]]:
    """The strips of a fill by the glue-up that they go to and the first band of what they fill there."""
    strips: dict[tuple[int, int], list[Strip]] = {}
    next_nth: dict[Piece, int] = {}
    # Whole lengths are ripped before the part of one, as `marking_out` has it.
    for cut in sorted(fill.cuts, key=lambda each: each.part):
        piece = (cut.offcut.tag, cut.piece)
        nth = next_nth.get(piece, 0)
        next_nth[piece] = nth + cut.glued_strips
        for share in cut.assignments:
            here = strips.setdefault((share.glue_up, cut.band), [])
            for count in range(share.strips):
                start, end = share.adds * count // share.strips, share.adds * (count + 1) // share.strips
                here.append(Strip(cut.offcut, cut.piece, nth, Length(end - start), cut.part))
                nth += 1
    return strips


def proposed_arrangement(fill: Fill) -> list[list[Strip]]:
    """The proposed order of each glue-up, from its first edge to its last."""
    strips = _strips_by_band(fill)
    rows = []
    for number, glue_up in enumerate(fill.glue_ups):
        request = glue_up.request
        by_demand = [
            [strip for band in demand.bands for strip in strips.get((number, band), [])] for demand in request.demands()
        ]
        rows.append(_arrange_demands(by_demand, _band_groups(request), mirror=not glue_up.rows))
    return rows


def _apply_order(rows: Sequence[Sequence[Strip]], order: StripOrder) -> list[list[Strip]]:
    """The strips in the user's order; a strip keeps to its band group."""
    if len(rows) != len(order):
        raise InvalidOrder("This order is for another number of glue-ups. Let the order be proposed again.")
    ordered = []
    for row, placements in zip(rows, order, strict=True):
        by_source = {(*strip.source, strip.nth): strip for strip in row}
        try:
            found = [by_source.pop((placement.tag, placement.piece, placement.nth)) for placement in placements]
        except KeyError:
            found = []
        if len(found) != len(row):
            raise InvalidOrder("This order is not of just the strips of this glue-up. Let the order be proposed again.")
        if any(one.band_group > other.band_group for one, other in pairwise(found)):
            raise InvalidOrder("A strip can't leave its band: the board would no longer be the one that was asked for.")
        ordered.append(
            [
                replace(strip, turned=placement.turned, flipped=placement.flipped)
                for strip, placement in zip(found, placements, strict=True)
            ]
        )
    return ordered


def _arrange_demands(
    by_demand: Sequence[Sequence[Strip]], band_groups: Sequence[BandGroup], *, mirror: bool
) -> list[Strip]:
    """One glue-up's strips in order: the strips of each demand shared among its band groups, each group arranged."""
    shared: dict[int, list[Strip]] = {}
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
    rows: dict[int, tuple[Strip, ...]] = {}
    for number in range(len(band_groups)):
        first = opposite.get(number, number)
        if first < number:
            rows[number] = arrange_to_match(shared[number], rows[first][::-1])
        else:
            rows[number] = arrange(shared[number], mirror=mirror)
    return _in_cutting_order(
        [replace(strip, band_group=number) for number in range(len(band_groups)) for strip in rows[number]]
    )


def _in_cutting_order(row: list[Strip]) -> list[Strip]:
    """The same row with like strips of a piece exchanged, so that they come in the order in which they are ripped."""
    remaining: dict[object, list[Strip]] = {}
    for strip in sorted(row, key=lambda strip: strip.nth, reverse=True):
        remaining.setdefault((strip.strip_class, strip.part), []).append(strip)
    return [replace(remaining[each.strip_class, each.part].pop(), band_group=each.band_group) for each in row]


def _mirror_pairs(band_groups: Sequence[BandGroup]) -> dict[int, int]:
    """Of a pattern that is its own mirror image, which band group is opposite which; the middle one has none."""
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
