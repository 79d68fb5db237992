"""Laying out: which strip lies where in each glue-up of a fill, as a proposal (cutting model, sections 6 to 8).

Bands lie as requested; a pool's strips are shared out over its bands, each as near to
its width as whole strips allow, and lie in them as `inventory.layout.arrangement` puts them.
Any other order within a band glues up as wide. Knows nothing of how a fill was found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import glue_up_for
from inventory.cutting.bands import AccentBand, Band, FieldBand, band_widths
from inventory.cutting.cuts import Cut, Share
from inventory.cutting.marking_out import MarkedPiece, mark_edge_grain, mark_face_grain
from inventory.fill.plan import Fill, GlueUpTold
from inventory.fill.request import BoardRequest, Grain
from inventory.layout.arrangement import LooseStrip, Piece, arrange, arrange_like
from inventory.layout.band_shares import share_by_count, share_out
from inventory.layout.operations import glue_ups_told
from inventory.layout.positions import LaidOut as LaidOut
from inventory.layout.positions import Layout as Layout
from inventory.layout.positions import PieceInFill as PieceInFill
from inventory.layout.positions import Run as Run
from inventory.layout.positions import Strip as Strip
from inventory.layout.positions import letter_of as letter_of
from inventory.layout.strip_order import NotAnOrder, Order


@dataclass(frozen=True)
class Stretch:
    """Bands side by side that the same strips may fill, from the first edge on, with their widths.

    `accents` are the strips that they ask for together, 0 for fields.
    """

    bands: tuple[int, ...]
    widths: tuple[Length, ...]
    demand: int
    accents: int

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
class Placed:
    """A strip that has its place, in the stretch of that number."""

    strip: LooseStrip
    stretch: int
    turned: bool = False
    flipped: bool = False


def lay_out(fill: Fill, request: BoardRequest) -> Layout:
    """The proposed layout of a fill of one glue-up. Raises ValueError where there are several."""
    laid = lay_out_all(fill, request)
    if len(laid.layouts) != 1:
        raise ValueError("this fill has several glue-ups: lay them all out")
    return laid.layouts[0]


def lay_out_all(fill: Fill, request: BoardRequest, order: Order | None = None) -> LaidOut:
    """Puts the strips of a fill in order across each of its glue-ups, and numbers them.

    Letters follow as the pieces come from the first strip to the last of the proposed
    order; they stay when the user has an `order` of his own. Raises NotAnOrder where
    that is not one of these strips, each within its band.
    """
    told = glue_ups_told(fill, request)
    places = proposed_places(fill, told)
    letters: dict[Piece, str] = {}
    for each in (each for row in places for each in row):
        letters.setdefault(each.strip.piece, letter_of(len(letters)))
    if order is not None:
        places = _as_ordered(places, order)
    offcuts = {(cut.offcut.tag, cut.piece): cut.offcut for cut in fill.cuts}
    numbers = {(each.strip.piece, each.strip.nth): 0 for row in places for each in row}
    rows: list[tuple[Strip, ...]] = []
    empty: list[tuple[int, ...]] = []
    for glue_up, row in zip(told, places, strict=True):
        stretches = _stretches(glue_up.request)
        filled = {each.stretch for each in row}
        empty.append(tuple(band for place, each in enumerate(stretches) if place not in filled for band in each.bands))
        first = sum(map(len, rows)) + 1
        rows.append(tuple(_strips(row, stretches, letters, offcuts, first)))
        numbers |= {(each.strip.piece, each.strip.nth): first + place for place, each in enumerate(row)}
    marked = marked_pieces(fill, told)
    pieces = {
        piece: PieceInFill(letter, marked[piece], _by_strip(marked[piece], piece, numbers))
        for piece, letter in letters.items()
    }
    return LaidOut(request, tuple(_layouts(fill, told, rows, empty, pieces)), tuple(pieces.values()))


def _layouts(
    fill: Fill,
    told: Sequence[GlueUpTold],
    rows: Sequence[tuple[Strip, ...]],
    empty: Sequence[tuple[int, ...]],
    pieces: dict[Piece, PieceInFill],
) -> Iterator[Layout]:
    for glue_up, strips, empty_bands in zip(told, rows, empty, strict=True):
        asked = glue_up.request
        sizes = glue_up_for(asked.length, asked.width, asked.thickness, asked.allowances)
        yield Layout(
            request=asked,
            length=sizes.strip_length,
            width=Length(sum(strip.width for strip in strips)),
            thickness=sizes.rough_thickness,
            strips=strips,
            pieces=tuple(pieces[key] for key in dict.fromkeys((strip.offcut.tag, strip.piece) for strip in strips)),
            told=glue_up if fill.glue_ups else None,
            empty_bands=empty_bands,
        )


def _strips(
    row: Sequence[Placed],
    stretches: Sequence[Stretch],
    letters: dict[Piece, str],
    offcuts: dict[Piece, Offcut],
    first: int,
) -> Iterator[Strip]:
    place = 0
    wide = Counter[int]()
    for each in row:
        wide[each.stretch] += each.strip.width
    starts: dict[int, int] = {}
    for number, each in enumerate(row, first):
        loose = each.strip
        start = starts.setdefault(each.stretch, place)
        yield Strip(
            number=number,
            letter=letters[loose.piece],
            offcut=offcuts[loose.piece],
            start=Length(place),
            width=loose.width,
            closing=loose.closing,
            band=stretches[each.stretch].band_at(place - start + loose.width // 2, wide[each.stretch]),
            piece=loose.piece[1],
            nth=loose.nth,
            turned=each.turned,
            flipped=each.flipped,
            stretch=each.stretch,
        )
        place += loose.width


def _by_strip(marked: MarkedPiece, piece: Piece, numbers: dict[tuple[Piece, int], int]) -> tuple[tuple[int, ...], ...]:
    """The numbers of each ripped strip; those of strips that are over are left out."""
    given, nth = [], 0
    for many in marked.gives:
        named = [numbers.get((piece, each), 0) for each in range(nth, nth + many)]
        given.append(tuple(number for number in named if number))
        nth += many
    return tuple(given)


def marked_pieces(fill: Fill, told: Sequence[GlueUpTold]) -> dict[Piece, MarkedPiece]:
    """Every piece of the fill with its cuts marked out."""
    by_piece: dict[Piece, list[Cut]] = {}
    for cut in fill.cuts:
        by_piece.setdefault((cut.offcut.tag, cut.piece), []).append(cut)
    return {piece: _marked(cuts, told[_shares(cuts[0])[0].glue_up].request) for piece, cuts in by_piece.items()}


def _marked(cuts: Sequence[Cut], asked: BoardRequest) -> MarkedPiece:
    sizes = glue_up_for(asked.length, asked.width, asked.thickness, asked.allowances)
    if asked.grain is Grain.EDGE:
        return mark_edge_grain(cuts, asked.allowances, sizes.strip_length, sizes.rough_thickness)
    band = asked.bands[cuts[0].band] if asked.bands else FieldBand()
    accent = band.each if isinstance(band, AccentBand) else None
    return mark_face_grain(cuts, asked.allowances, sizes.strip_length, accent)


def _shares(cut: Cut) -> tuple[Share, ...]:
    return cut.shares or (Share(0, cut.leaves or cut.strips, cut.adds),)


def loose_strips(fill: Fill) -> dict[tuple[int, int], list[LooseStrip]]:
    """The strips of a fill by the glue-up that they go to and the first band of what they fill there."""
    loose: dict[tuple[int, int], list[LooseStrip]] = {}
    nths: dict[Piece, int] = {}
    # Whole lengths are ripped before the closing strip, as `marking` has it.
    for cut in sorted(fill.cuts, key=lambda each: each.closing):
        piece = (cut.offcut.tag, cut.piece)
        nth = nths.get(piece, 0)
        nths[piece] = nth + (cut.leaves or cut.strips)
        for share in _shares(cut):
            here = loose.setdefault((share.glue_up, cut.band), [])
            for count in range(share.strips):
                start, end = share.adds * count // share.strips, share.adds * (count + 1) // share.strips
                here.append(LooseStrip(piece, nth, cut.offcut.species, Length(end - start), cut.closing))
                nth += 1
    return loose


def proposed_places(fill: Fill, told: Sequence[GlueUpTold]) -> list[list[Placed]]:
    """The proposed order of each glue-up, from its first edge to its last."""
    loose = loose_strips(fill)
    rows = []
    for number, glue_up in enumerate(told):
        asked = glue_up.request
        by_demand = [
            [strip for band in demand.bands for strip in loose.get((number, band), [])] for demand in asked.demands()
        ]
        rows.append(_arranged(by_demand, _stretches(asked), mirror=not glue_up.rows))
    return rows


def _as_ordered(places: Sequence[Sequence[Placed]], order: Order) -> list[list[Placed]]:
    """The places in the user's order; a strip keeps to the stretch that it was given."""
    if len(places) != len(order):
        raise NotAnOrder("This order is for another number of glue-ups. Let the order be proposed again.")
    rows = []
    for row, asked in zip(places, order, strict=True):
        by_strip = {(*each.strip.piece, each.strip.nth): each for each in row}
        try:
            found = [by_strip.pop((lying.tag, lying.piece, lying.nth)) for lying in asked]
        except KeyError:
            found = []
        if len(found) != len(row):
            raise NotAnOrder("This order is not of just the strips of this glue-up. Let the order be proposed again.")
        if any(one.stretch > other.stretch for one, other in pairwise(found)):
            raise NotAnOrder("A strip can't leave its band: the board would no longer be the one that was asked for.")
        rows.append(
            [
                replace(each, turned=lying.turned, flipped=lying.flipped)
                for each, lying in zip(found, asked, strict=True)
            ]
        )
    return rows


def _arranged(by_demand: Sequence[Sequence[LooseStrip]], stretches: Sequence[Stretch], *, mirror: bool) -> list[Placed]:
    shared: dict[int, list[LooseStrip]] = {}
    opposite = _opposite(stretches) if mirror else {}
    for demand, strips in enumerate(by_demand):
        here = [number for number, stretch in enumerate(stretches) if stretch.demand == demand]
        if stretches[here[0]].accents:
            bands, _ = share_by_count(strips, [stretches[number].accents for number in here])
        else:
            pairs = [
                (here.index(number), here.index(opposite[number]))
                for number in here
                if number < opposite.get(number, -1)
            ]
            bands = share_out(strips, [stretches[number].width for number in here], pairs)
        shared |= dict(zip(here, bands, strict=True))
    rows: dict[int, tuple[LooseStrip, ...]] = {}
    for number in range(len(stretches)):
        first = opposite.get(number, number)
        if first < number:
            rows[number] = arrange_like(shared[number], rows[first][::-1])
        else:
            rows[number] = arrange(shared[number], mirror=mirror)
    return _as_they_come_off([Placed(strip, number) for number in range(len(stretches)) for strip in rows[number]])


def _as_they_come_off(row: list[Placed]) -> list[Placed]:
    """The same row with like strips of a piece exchanged, so that they lie in the order in which they come off."""
    waiting: dict[object, list[LooseStrip]] = {}
    for each in sorted((each.strip for each in row), key=lambda strip: strip.nth, reverse=True):
        waiting.setdefault((each.kind, each.closing), []).append(each)
    return [Placed(waiting[each.strip.kind, each.strip.closing].pop(), each.stretch) for each in row]


def _opposite(stretches: Sequence[Stretch]) -> dict[int, int]:
    """Of a pattern that is its own mirror image, which stretch lies opposite which; the middle one has none."""
    last = len(stretches) - 1
    if any(
        (one.demand, one.accents) != (other.demand, other.accents)
        for one, other in zip(stretches, reversed(stretches), strict=True)
    ):
        return {}
    return {number: last - number for number in range(last + 1) if number != last - number}


def _stretches(asked: BoardRequest) -> list[Stretch]:
    """The bands of a glue-up; bands side by side that ask for the same are one."""
    bands: tuple[Band, ...] = asked.bands or (FieldBand(),)
    widths = band_widths(bands, asked.width, asked.allowances.side_trim)
    demand_of = {band: number for number, demand in enumerate(asked.demands()) for band in demand.bands}
    stretches: list[Stretch] = []
    for number, band in enumerate(bands):
        demand = demand_of[number]
        here = Stretch((number,), (widths[number],), demand, band.strips if isinstance(band, AccentBand) else 0)
        if stretches and stretches[-1].demand == demand:
            last = stretches.pop()
            here = Stretch((*last.bands, number), (*last.widths, widths[number]), demand, last.accents + here.accents)
        stretches.append(here)
    return stretches
