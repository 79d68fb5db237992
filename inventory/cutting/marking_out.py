"""Where the cuts fall on one piece: marking out (cutting model, sections 4, 5 and 7).

Knows in which order a blade and a jointer eat into a piece, so that a drawing,
a cut sheet and a count of rips agree. Knows nothing of which piece was chosen,
of strip numbers or of how a drawing looks. Places are Length from the corner
where the first length begins, along the grain and across it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from inventory.core.lengths import Length
from inventory.core.offcuts import Allowances, Offcut
from inventory.cutting.cuts import Cut


class Use(Enum):
    """What becomes of a part of the piece."""

    STRIP = "strip"
    RIP_KERF = "rip kerf"
    CROSSCUT_KERF = "crosscut kerf"
    JOINTED = "jointed off"
    KEPT = "kept"
    LOST = "lost"
    LEAF = "leaf"
    RESAW_KERF = "resaw kerf"


@dataclass(frozen=True)
class Slab:
    """One layer of a strip's thickness, seen on its end; `leaf` counts the leaves of the piece from 0."""

    use: Use
    start: Length
    thickness: Length
    leaf: int | None = None


@dataclass(frozen=True)
class Resawn:
    """A ripped strip between its clean faces, resawn to leaves, or planed down to one where there is no room to saw.

    `sawn` is the thickness of a leaf as it comes off the saw, `leaf` once it is clean.
    """

    slabs: tuple[Slab, ...]
    sawn: Length
    leaf: Length

    @property
    def leaves(self) -> int:
        return sum(slab.use is Use.LEAF for slab in self.slabs)

    @property
    def passes(self) -> int:
        """How often it goes through the band saw."""
        return sum(slab.use is Use.RESAW_KERF for slab in self.slabs)


@dataclass(frozen=True)
class Region:
    """One rectangle of the piece as seen on its face.

    `along` and `across` are where it begins; `strip` counts the strips of the
    piece from 0 in the order in which they are ripped, None for all other uses.
    """

    use: Use
    along: Length
    across: Length
    length: Length
    width: Length
    strip: int | None = None


@dataclass(frozen=True)
class MarkedLength:
    """One crosscut length: its regions across the width, and where it lies.

    `ripped` is the width of a strip as it comes off the saw, `glued` what the
    strip adds to the glue-up: edge grain its clean thickness, face grain its
    width once both edges are jointed.
    """

    along: Length
    length: Length
    regions: tuple[Region, ...]
    ripped: Length
    glued: Length
    closing: bool = False

    @property
    def strips(self) -> tuple[Region, ...]:
        return tuple(region for region in self.regions if region.use is Use.STRIP)

    @property
    def left_over(self) -> Region | None:
        """What is left of the width, kept or lost."""
        return next((region for region in self.regions if region.use in (Use.KEPT, Use.LOST)), None)


@dataclass(frozen=True)
class MarkedPiece:
    """A piece with every cut marked; `lengths` in the order of crosscutting, then `left_over`.

    `clean` is the thickness between two clean faces. `resawn` tells for each strip, in
    the order in which they are ripped, which leaves come out of it; of a piece whose
    strips stay whole it is empty.
    """

    offcut: Offcut
    piece: int
    clean: Length
    lengths: tuple[MarkedLength, ...]
    crosscut_kerfs: tuple[Region, ...]
    left_over: Region | None
    resawn: tuple[Resawn, ...] = ()

    @property
    def regions(self) -> Iterator[Region]:
        """All regions; together they cover the piece once."""
        for length in self.lengths:
            yield from length.regions
        yield from self.crosscut_kerfs
        if self.left_over is not None:
            yield self.left_over

    @property
    def rips(self) -> int:
        """Rips that take wood away; a strip that ends at the edge needs none."""
        return sum(region.use is Use.RIP_KERF for region in self.regions)

    @property
    def crosscuts(self) -> int:
        return len(self.crosscut_kerfs)

    @property
    def resaws(self) -> int:
        return sum(strip.passes for strip in self.resawn)

    @property
    def gives(self) -> tuple[int, ...]:
        """How many strips of the glue-up each ripped strip gives: itself, or its leaves."""
        if self.resawn:
            return tuple(strip.leaves for strip in self.resawn)
        return (1,) * sum(len(length.strips) for length in self.lengths)

    @property
    def left_overs(self) -> tuple[Region, ...]:
        """What is left of the length, then of each width, kept or lost."""
        widths = [length.left_over for length in self.lengths]
        return tuple(region for region in (self.left_over, *widths) if region is not None)


def mark_edge_grain(
    cuts: Sequence[Cut], allowances: Allowances, strip_length: Length, strip_width: Length
) -> MarkedPiece:
    """Marks one piece for an edge-grain glue-up: joint one edge, rip strip after strip, resaw those of an accent."""

    def across(cut: Cut, rips: int, along: Length, first: int) -> MarkedLength:
        ripper = _Ripper(cut.offcut, allowances, along, strip_length, first)
        ripper.take(Use.JOINTED, allowances.edge_jointing)
        for _ in range(rips):
            ripper.strip(strip_width)
            ripper.take(Use.RIP_KERF, allowances.rip_kerf)
        return ripper.done(ripped=strip_width, glued=allowances.clean_thickness(cut.offcut), closing=False)

    marked = _mark(cuts, allowances, strip_length, across)
    leaves = cuts[0].leaves
    if leaves is None:
        return marked
    return replace(marked, resawn=tuple(_resawn(marked, leaves, Length(cuts[0].adds // leaves), allowances)))


def _resawn(marked: MarkedPiece, leaves: int, leaf: Length, allowances: Allowances) -> Iterator[Resawn]:
    """Resaws strip after strip until the piece has given all its leaves."""
    sawn = Length(leaf + allowances.leaf_clean)
    z = max((marked.clean + allowances.resaw_kerf) // (sawn + allowances.resaw_kerf), 1)
    given = 0
    for _ in range(-(-leaves // z)):
        here = min(z, leaves - given)
        yield _slabs(marked.clean, given, here, sawn, leaf, allowances.resaw_kerf)
        given += here


def _slabs(clean: Length, first: int, many: int, sawn: Length, leaf: Length, kerf: Length) -> Resawn:
    """The layers of one strip; a last leaf with no room for the saw behind it is planed down to its thickness."""
    slabs: list[Slab] = []
    place = 0

    def take(use: Use, thickness: int, number: int | None = None) -> None:
        nonlocal place
        if thickness > 0:
            slabs.append(Slab(use, Length(place), Length(thickness), number))
            place += thickness

    for number in range(first, first + many):
        take(Use.LEAF, min(sawn, clean - place), number)
        if number < first + many - 1 or clean - place > kerf:
            take(Use.RESAW_KERF, min(kerf, clean - place))
    take(Use.LOST, clean - place)
    return Resawn(tuple(slabs), sawn, leaf)


def mark_face_grain(
    cuts: Sequence[Cut], allowances: Allowances, strip_length: Length, accent: Length | None = None
) -> MarkedPiece:
    """Marks one piece for a face-grain glue-up: equal strips, the one closing strip, or strips for an accent this wide.

    Strips are drawn as ripped: the jointing of both their edges is still on them.
    """

    def across(cut: Cut, rips: int, along: Length, first: int) -> MarkedLength:
        ripper = _Ripper(cut.offcut, allowances, along, strip_length, first)
        if cut.closing:
            ripped = Length(cut.adds + 2 * allowances.edge_jointing)
            ripper.strip(ripped)
            ripper.take(Use.RIP_KERF, allowances.rip_kerf)
            return ripper.done(ripped=ripped, glued=cut.adds, closing=True)
        if accent is not None:
            ripped = Length(accent + 2 * allowances.edge_jointing)
            for _ in range(rips):
                ripper.strip(ripped)
                ripper.take(Use.RIP_KERF, allowances.rip_kerf)
            return ripper.done(ripped=ripped, glued=accent, closing=False)
        wood = cut.offcut.width - (rips - 1) * allowances.rip_kerf
        for number in range(rips):
            ripper.strip(Length(wood * (number + 1) // rips - wood * number // rips))
            if number < rips - 1:
                ripper.take(Use.RIP_KERF, allowances.rip_kerf)
        ripped = Length(wood // rips)
        return ripper.done(ripped=ripped, glued=Length(ripped - 2 * allowances.edge_jointing), closing=False)

    return _mark(cuts, allowances, strip_length, across)


class _Ripper:
    """Walks across one length and notes what each cut takes, never past the far edge."""

    def __init__(self, offcut: Offcut, allowances: Allowances, along: Length, length: Length, first: int) -> None:
        self.offcut = offcut
        self.allowances = allowances
        self.along = along
        self.length = length
        self.next_strip = first
        self.place = 0
        self.regions: list[Region] = []

    def take(self, use: Use, width: int, strip: int | None = None) -> None:
        width = min(width, self.offcut.width - self.place)
        if width > 0:
            self.regions.append(Region(use, self.along, Length(self.place), self.length, Length(width), strip))
            self.place += width

    def strip(self, width: Length) -> None:
        self.take(Use.STRIP, width, self.next_strip)
        self.next_strip += 1

    def done(self, *, ripped: Length, glued: Length, closing: bool) -> MarkedLength:
        left = self.offcut.width - self.place
        kept = self.allowances.keeps(self.length, left, self.offcut.thickness)
        self.take(Use.KEPT if kept else Use.LOST, left)
        return MarkedLength(self.along, self.length, tuple(self.regions), ripped, glued, closing)


def _mark(
    cuts: Sequence[Cut],
    allowances: Allowances,
    strip_length: Length,
    across: Callable[[Cut, int, Length, int], MarkedLength],
) -> MarkedPiece:
    """Crosscuts lengths from one end, whole lengths before the closing strip, and marks each across."""
    offcut, piece = cuts[0].offcut, cuts[0].piece
    lengths: list[MarkedLength] = []
    kerfs: list[Region] = []
    place = strips = 0
    for cut in sorted(cuts, key=lambda each: each.closing):
        for rips in cut.rips:
            lengths.append(across(cut, rips, Length(place), strips))
            strips += rips
            place += strip_length
            kerf = min(allowances.crosscut_kerf, offcut.length - place)
            if kerf > 0:
                kerfs.append(Region(Use.CROSSCUT_KERF, Length(place), Length(0), Length(kerf), offcut.width))
                place += kerf
    left = offcut.length - place
    use = Use.KEPT if allowances.keeps(left, offcut.width, offcut.thickness) else Use.LOST
    left_over = Region(use, Length(place), Length(0), Length(left), offcut.width) if left > 0 else None
    return MarkedPiece(offcut, piece, allowances.clean_thickness(offcut), tuple(lengths), tuple(kerfs), left_over)
