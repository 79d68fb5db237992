"""What one piece can give, counted strip by strip (cutting model, sections 3 to 5, 7 and 9).

Written from the cutting model's text without counting formulas: strips and lengths are placed side by
side until the next does not fit. It shares no code with `inventory.cutting` and the search, and takes
only the demands of bands from `tests.verify`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.allowances import Allowances
from inventory.core.offcuts import Face, Offcut
from inventory.fill.request import BoardRequest, Grain
from tests.verify.asked import BandRequirement, requirements_of
from tests.verify.eligible import barred


@dataclass(frozen=True)
class CutChoice:
    """`taken` strips (of a stripe on edge: leaves) or whole lengths (face grain) of one piece; `strips` in all."""

    taken: int
    adds: int
    loss: int
    worth_lost: int
    milling: int
    strips: int


@dataclass(frozen=True)
class PartialCut:
    """`taken` whole lengths, `strips` in all, and then a part of a length, `least` to `most` wide, in equal strips.

    What is missing decides how wide it is, `least` where less is missing. A part in more strips is one of its own.
    `covers_less` says that narrower parts do not cover all that is less than `least`.
    """

    taken: int
    strips: int
    adds: int
    least: int
    most: int
    covers_less: bool
    kept_up_to: int
    loss_unkept: int
    worth_unkept: int
    beside: int
    strip_length: int
    thickness: int
    milling: int
    allowances: Allowances

    @property
    def area(self) -> int:
        """nm² of the end of a strip as long as the leftover beside the part."""
        return self.strip_length * self.thickness

    def loss(self, width: int) -> int:
        """mm³ lost where the part is this wide: what is beside it goes back, if large enough."""
        if width > self.kept_up_to:
            return self.loss_unkept
        return self.loss_unkept - self.area * (self.beside - width) // 10**18

    def worth_lost(self, width: int) -> int:
        """The worth lost where the part is this wide."""
        if width > self.kept_up_to:
            return self.worth_unkept
        left = self.strip_length, self.beside - width, self.thickness
        return self.worth_unkept - worth_of(*left, self.allowances)


@dataclass(frozen=True)
class PieceOptions:
    """All that a piece can give, and its weight under oldest-first (in thousandths)."""

    choices: tuple[CutChoice, ...]
    partial_cuts: tuple[PartialCut, ...]
    weight: int


def piece_options(offcut: Offcut, request: BoardRequest, requirement: BandRequirement | None = None) -> PieceOptions:
    """Every choice that one piece of `offcut` offers to a pool or stripe; none where it can't or may not serve.

    Without `requirement` the board is one pool.
    """
    [asked, *_] = [requirement] if requirement else requirements_of(request)
    weight = _weight(offcut.tagged_on, request.on)
    if barred(request, offcut) is not None or not asked.accepts(request, offcut):
        return PieceOptions((), (), weight)
    if asked.is_stripe:
        return PieceOptions(_stripe(offcut, request, asked), (), weight)
    if request.grain is Grain.EDGE:
        return PieceOptions(_edge(offcut, request), (), weight)
    return PieceOptions(*_face(offcut, request), weight)


def target(request: BoardRequest) -> int:
    """The width that the glue-up must reach."""
    return request.width + request.allowances.side_trim


def max_width(rack: Sequence[Offcut], request: BoardRequest) -> int:
    """The width of a glue-up of everything on the rack that serves."""
    return sum(
        offcut.count * max((c.adds for c in piece_options(offcut, request).choices), default=0) for offcut in rack
    )


def _weight(tagged_on: date | None, on: date) -> int:
    days = (on - tagged_on).days if tagged_on else 0
    days = min(max(days, 0), 730)
    return 1000 - (750 * days) // 730


def _clean(offcut: Offcut, request: BoardRequest) -> int:
    off = 0
    for face in (offcut.face_a, offcut.face_b):
        if face is Face.ROUGH:
            off += request.allowances.rough_face
        elif face is Face.FINISHED:
            off += request.allowances.finished_face
        else:
            off += request.allowances.planed_face
    return offcut.thickness - off


def _count_fitting(room: int, each: int, kerf: int) -> int:
    """How many of `each` fit in `room` with a kerf between them."""
    many, used = 0, each
    while used <= room:
        many += 1
        used += kerf + each
    return many


def _edge(offcut: Offcut, request: BoardRequest) -> tuple[CutChoice, ...]:
    a = request.allowances
    clean = _clean(offcut, request)
    if clean < max(1, a.thinnest_lamination):
        return ()
    strip, room = request.thickness + a.flattening, offcut.width - a.edge_jointing
    return tuple(
        CutChoice(taken, taken * clean, *costs, taken) for taken, costs in _ripped(offcut, request, strip, room)
    )


def _stripe(offcut: Offcut, request: BoardRequest, requirement: BandRequirement) -> tuple[CutChoice, ...]:
    """Strips of a stripe: leaves resawn from ripped strips on edge, narrow rips laid flat."""
    a = request.allowances
    clean, height = _clean(offcut, request), request.thickness + a.flattening
    if request.grain is Grain.FACE:
        if clean < height:
            return ()
        ripped = _ripped(offcut, request, requirement.each + 2 * a.edge_jointing, offcut.width)
        return tuple(CutChoice(taken, taken * requirement.each, *costs, taken) for taken, costs in ripped)
    leaves = _count_fitting(clean, requirement.each + a.leaf_clean, a.resaw_kerf) or int(clean >= requirement.each)
    found = []
    for strips, costs in _ripped(offcut, request, height, offcut.width - a.edge_jointing):
        found += [
            CutChoice(taken, taken * requirement.each, *costs, taken)
            for taken in range((strips - 1) * leaves + 1, strips * leaves + 1)
        ]
    return tuple(found)


def _ripped(offcut: Offcut, request: BoardRequest, strip: int, room: int) -> Iterator[tuple[int, tuple[int, int, int]]]:
    """Strips ripped, with the loss, the worth lost and the milling, strip after strip, length after length."""
    a = request.allowances
    strip_length = request.length + a.end_trim
    across, off = _count_fitting(room, strip, a.rip_kerf), offcut.thickness - _clean(offcut, request)
    left_long: int = offcut.length
    for ripped_fully in range(_count_fitting(offcut.length, strip_length, a.crosscut_kerf)):
        left_long -= strip_length + a.crosscut_kerf
        beside = room
        for rips in range(1, across + 1):
            beside -= strip + a.rip_kerf
            rest = room - across * (strip + a.rip_kerf)
            left = [(left_long, offcut.width), (strip_length, beside), *[(strip_length, rest)] * ripped_fully]
            milled = (ripped_fully + 1) * _box(strip_length, offcut.width, off)
            yield ripped_fully * across + rips, (*_lost(offcut, left, request), milled)


def _face(offcut: Offcut, request: BoardRequest) -> tuple[tuple[CutChoice, ...], tuple[PartialCut, ...]]:
    a = request.allowances
    strip_length = request.length + a.end_trim
    lengths = _count_fitting(offcut.length, strip_length, a.crosscut_kerf)
    split = _split_length(offcut, request)
    if _clean(offcut, request) < request.thickness + a.flattening or not lengths or split is None:
        return (), ()
    strips, glued = split
    whole, partial = [], []
    for crosscut in range(1, lengths + 1):
        left_long = offcut.length - crosscut * (strip_length + a.crosscut_kerf)
        lost, worth_lost = _lost(offcut, [(left_long, offcut.width)], request)
        used = request.thickness + a.flattening
        milling = crosscut * _box(strip_length, offcut.width, offcut.thickness - used)
        whole.append(CutChoice(crosscut, crosscut * glued, lost, worth_lost, milling, crosscut * strips))
        can_be_kept = strip_length >= a.keep_length and offcut.thickness >= a.keep_thickness
        covered = 0
        for parts in range(1, strips + 1):
            least, most = max(parts * a.min_strip_width, covered + 1), min(glued, parts * a.max_strip_width)
            beside = offcut.width - parts * (2 * a.edge_jointing + a.rip_kerf)
            partial.append(
                PartialCut(
                    taken=crosscut - 1,
                    strips=(crosscut - 1) * strips,
                    adds=(crosscut - 1) * glued,
                    least=least,
                    most=most,
                    covers_less=least > covered + 1,
                    kept_up_to=beside - max(a.keep_width, 1) if can_be_kept else -1,
                    loss_unkept=lost,
                    worth_unkept=worth_lost,
                    beside=beside,
                    strip_length=strip_length,
                    thickness=offcut.thickness,
                    milling=milling,
                    allowances=a,
                )
            )
            covered = most
    return tuple(whole), tuple(partial)


def _split_length(offcut: Offcut, request: BoardRequest) -> tuple[int, int] | None:
    """The fewest strips of one whole length that are not too wide, and what they add; None where all are too narrow."""
    a = request.allowances
    for strips in range(1, 10_000):
        glued = offcut.width - (strips - 1) * a.rip_kerf - strips * 2 * a.edge_jointing
        if glued <= strips * a.max_strip_width:
            return (strips, glued) if glued >= strips * a.min_strip_width else None
    raise ValueError("an offcut wider than 10,000 strips")


def worth_of(length: int, width: int, thickness: int, a: Allowances) -> int:
    """Section 9: thousandths of a mm³ of prime wood."""
    by_length = 250 + 750 * min(length, a.prime_length) // a.prime_length
    by_width = 500 + 500 * min(width, a.prime_width) // a.prime_width
    return _box(length, width, thickness) * by_length * by_width // 1000


def _box(length: int, width: int, thickness: int) -> int:
    return length * width * thickness // 10**18


def _lost(offcut: Offcut, left: Sequence[tuple[int, int]], request: BoardRequest) -> tuple[int, int]:
    """The loss in mm³ and the worth lost, where these lengths by widths are left of the piece."""
    a, thickness = request.allowances, offcut.thickness
    kept = [
        (length, width, thickness)
        for length, width in left
        if length > 0 and width > 0 and length >= a.keep_length and width >= a.keep_width
        and thickness >= a.keep_thickness
    ]  # fmt: skip
    whole = offcut.length, offcut.width, thickness
    loss = _box(*whole) - sum(_box(*each) for each in kept)
    return loss, worth_of(*whole, a) - sum(worth_of(*each, a) for each in kept)
