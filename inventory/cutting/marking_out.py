"""Marking out: where the cuts are on one piece (cutting model, sections 4, 5 and 7).

Drawings, cut sheets and counts of rips all use these regions, so that they agree. Positions are
`Length` from the corner where the first length begins, along the grain and across it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import GlueUpSpec
from inventory.cutting.cuts import Cut


class RegionUse(Enum):
    """What becomes of a part of the piece."""

    STRIP = "strip"
    RIP_KERF = "rip kerf"
    CROSSCUT_KERF = "crosscut kerf"
    JOINTED = "jointed off"
    KEPT = "kept"
    WASTE = "lost"
    LEAF = "leaf"
    RESAW_KERF = "resaw kerf"


@dataclass(frozen=True)
class Layer:
    """One layer of a strip's thickness, seen on its end; `leaf` counts the leaves of the piece from 0."""

    use: RegionUse
    start: Length
    thickness: Length
    leaf: int | None = None


@dataclass(frozen=True)
class ResawnStrip:
    """A ripped strip between its clean faces, resawn to leaves, or planed to one where it is too thin to saw.

    `sawn` is the thickness of a leaf as it comes off the saw, `leaf` once it is clean.
    """

    layers: tuple[Layer, ...]
    sawn: Length
    leaf: Length

    @property
    def leaves(self) -> int:
        return sum(slab.use is RegionUse.LEAF for slab in self.layers)

    @property
    def passes(self) -> int:
        """How often it goes through the band saw."""
        return sum(slab.use is RegionUse.RESAW_KERF for slab in self.layers)


@dataclass(frozen=True)
class Region:
    """One rectangle of the piece as seen on its face.

    `along` and `across` are where it begins; `strip` counts the strips of the
    piece from 0 in the order in which they are ripped, None for all other uses.
    """

    use: RegionUse
    along: Length
    across: Length
    length: Length
    width: Length
    strip: int | None = None


@dataclass(frozen=True)
class MarkedLength:
    """One crosscut length: its position, and its regions across the width.

    `ripped` is the width of a strip as it comes off the saw, `glued_width` what the
    strip adds to the glue-up: edge grain its clean thickness, face grain its
    width once both edges are jointed.
    """

    along: Length
    length: Length
    regions: tuple[Region, ...]
    ripped: Length
    glued_width: Length
    part: bool = False

    @property
    def strips(self) -> tuple[Region, ...]:
        return tuple(region for region in self.regions if region.use is RegionUse.STRIP)

    @property
    def leftover(self) -> Region | None:
        """What is left of the width, kept or lost."""
        return next((region for region in self.regions if region.use in (RegionUse.KEPT, RegionUse.WASTE)), None)


@dataclass(frozen=True)
class MarkedPiece:
    """A piece with every cut marked; `lengths` in the order of crosscutting, then `leftover`.

    `clean` is the thickness between two clean faces. `resawn` has, for each strip in
    the order in which they are ripped, its leaves; it is empty where strips stay whole.
    """

    offcut: Offcut
    piece: int
    clean: Length
    lengths: tuple[MarkedLength, ...]
    crosscut_kerfs: tuple[Region, ...]
    leftover: Region | None
    resawn: tuple[ResawnStrip, ...] = ()

    @property
    def regions(self) -> Iterator[Region]:
        """All regions; together they cover the piece exactly once."""
        for length in self.lengths:
            yield from length.regions
        yield from self.crosscut_kerfs
        if self.leftover is not None:
            yield self.leftover

    @property
    def rips(self) -> int:
        """The number of rips; a strip that ends at the edge needs none."""
        return sum(region.use is RegionUse.RIP_KERF for region in self.regions)

    @property
    def crosscuts(self) -> int:
        return len(self.crosscut_kerfs)

    @property
    def resaws(self) -> int:
        return sum(strip.passes for strip in self.resawn)

    @property
    def strips_by_rip(self) -> tuple[int, ...]:
        """How many strips of the glue-up each ripped strip gives: itself, or its leaves."""
        if self.resawn:
            return tuple(strip.leaves for strip in self.resawn)
        return (1,) * sum(len(length.strips) for length in self.lengths)

    @property
    def leftovers(self) -> tuple[Region, ...]:
        """What is left of the length, then of each width, kept or lost."""
        widths = [length.leftover for length in self.lengths]
        return tuple(region for region in (self.leftover, *widths) if region is not None)


def mark_edge_grain(cuts: Sequence[Cut], glue_up: GlueUpSpec) -> MarkedPiece:
    """One piece marked out for an edge-grain glue-up: joint one edge, rip the strips, resaw those of a stripe."""
    allowances, strip_length, strip_width = glue_up.allowances, glue_up.strip_length, glue_up.rough_thickness

    def across(cut: Cut, rips: int, along: Length, first: int) -> MarkedLength:
        marker = _LengthMarker(cut.offcut, allowances, along, strip_length, first)
        marker.take(RegionUse.JOINTED, allowances.edge_jointing)
        for _ in range(rips):
            marker.strip(strip_width)
            marker.take(RegionUse.RIP_KERF, allowances.rip_kerf)
        return marker.finish(ripped=strip_width, glued_width=allowances.clean_thickness(cut.offcut), part=False)

    marked = _mark(cuts, allowances, strip_length, across)
    leaves = cuts[0].leaves
    if leaves is None:
        return marked
    return replace(marked, resawn=tuple(_resawn(marked, leaves, Length(cuts[0].adds // leaves), allowances)))


def _resawn(marked: MarkedPiece, leaves: int, leaf: Length, allowances: Allowances) -> Iterator[ResawnStrip]:
    """The strips, resawn until the piece has given all its leaves."""
    sawn = Length(leaf + allowances.leaf_clean)
    z = max((marked.clean + allowances.resaw_kerf) // (sawn + allowances.resaw_kerf), 1)
    given = 0
    for _ in range(-(-leaves // z)):
        here = min(z, leaves - given)
        yield _layers(marked.clean, given, here, sawn, leaf, allowances.resaw_kerf)
        given += here


def _layers(clean: Length, first: int, many: int, sawn: Length, leaf: Length, kerf: Length) -> ResawnStrip:
    """The layers of one strip; a last leaf with no room for the saw behind it is planed to its thickness."""
    layers: list[Layer] = []
    place = 0

    def take(use: RegionUse, thickness: int, number: int | None = None) -> None:
        nonlocal place
        if thickness > 0:
            layers.append(Layer(use, Length(place), Length(thickness), number))
            place += thickness

    for number in range(first, first + many):
        take(RegionUse.LEAF, min(sawn, clean - place), number)
        if number < first + many - 1 or clean - place > kerf:
            take(RegionUse.RESAW_KERF, min(kerf, clean - place))
    take(RegionUse.WASTE, clean - place)
    return ResawnStrip(tuple(layers), sawn, leaf)


def mark_face_grain(cuts: Sequence[Cut], glue_up: GlueUpSpec, stripe: Length | None = None) -> MarkedPiece:
    """One piece marked out for a face-grain glue-up: whole lengths, a part of one, or strips of a stripe.

    Strips are drawn as ripped: the jointing of both their edges is still on them.
    """
    allowances, strip_length = glue_up.allowances, glue_up.strip_length

    def across(cut: Cut, rips: int, along: Length, first: int) -> MarkedLength:
        marker = _LengthMarker(cut.offcut, allowances, along, strip_length, first)
        if stripe is not None:
            ripped = Length(stripe + 2 * allowances.edge_jointing)
            for _ in range(rips):
                marker.strip(ripped)
                marker.take(RegionUse.RIP_KERF, allowances.rip_kerf)
            return marker.finish(ripped=ripped, glued_width=stripe, part=False)
        jointed = 2 * allowances.edge_jointing
        wood = cut.adds + rips * jointed if cut.part else cut.offcut.width - (rips - 1) * allowances.rip_kerf
        for number in range(rips):
            marker.strip(Length(wood * (number + 1) // rips - wood * number // rips))
            if number < rips - 1 or cut.part:
                marker.take(RegionUse.RIP_KERF, allowances.rip_kerf)
        ripped = Length(wood // rips)
        return marker.finish(ripped=ripped, glued_width=Length(ripped - jointed), part=cut.part)

    return _mark(cuts, allowances, strip_length, across)


class _LengthMarker:
    """The regions across one length, added from one edge and never past the other."""

    def __init__(self, offcut: Offcut, allowances: Allowances, along: Length, length: Length, first: int) -> None:
        self.offcut = offcut
        self.allowances = allowances
        self.along = along
        self.length = length
        self.next_strip = first
        self.place = 0
        self.regions: list[Region] = []

    def take(self, use: RegionUse, width: int, strip: int | None = None) -> None:
        width = min(width, self.offcut.width - self.place)
        if width > 0:
            self.regions.append(Region(use, self.along, Length(self.place), self.length, Length(width), strip))
            self.place += width

    def strip(self, width: Length) -> None:
        self.take(RegionUse.STRIP, width, self.next_strip)
        self.next_strip += 1

    def finish(self, *, ripped: Length, glued_width: Length, part: bool) -> MarkedLength:
        left = self.offcut.width - self.place
        kept = self.allowances.keeps(self.length, left, self.offcut.thickness)
        self.take(RegionUse.KEPT if kept else RegionUse.WASTE, left)
        return MarkedLength(self.along, self.length, tuple(self.regions), ripped, glued_width, part)


def _mark(
    cuts: Sequence[Cut],
    allowances: Allowances,
    strip_length: Length,
    across: Callable[[Cut, int, Length, int], MarkedLength],
) -> MarkedPiece:
    """The piece crosscut from one end, whole lengths before the part of one, each length marked by `across`."""
    offcut, piece = cuts[0].offcut, cuts[0].piece
    lengths: list[MarkedLength] = []
    kerfs: list[Region] = []
    place = strips = 0
    for cut in sorted(cuts, key=lambda each: each.part):
        for rips in cut.rips:
            lengths.append(across(cut, rips, Length(place), strips))
            strips += rips
            place += strip_length
            kerf = min(allowances.crosscut_kerf, offcut.length - place)
            if kerf > 0:
                kerfs.append(Region(RegionUse.CROSSCUT_KERF, Length(place), Length(0), Length(kerf), offcut.width))
                place += kerf
    left = offcut.length - place
    use = RegionUse.KEPT if allowances.keeps(left, offcut.width, offcut.thickness) else RegionUse.WASTE
    leftover = Region(use, Length(place), Length(0), Length(left), offcut.width) if left > 0 else None
    return MarkedPiece(offcut, piece, allowances.clean_thickness(offcut), tuple(lengths), tuple(kerfs), leftover)
