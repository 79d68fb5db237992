"""The costs of the best fills of a small rack, by brute force over all fills.

Exact, and slow beyond a hundred thousand combinations.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.costs import Preference
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from tests.fill.calculation import CutChoice, PartialCut, piece_options
from tests.verify.asked import BandRequirement, requirements_of
from tests.verify.eligible import is_named

PieceKey = tuple[object, ...]
"""Two pieces of the same likeness are near-copies: only their tag or place differs."""

CostKey = tuple[int, int]
"""What a preference minimizes, first and second."""


@dataclass(frozen=True)
class CandidateFill:
    """One fill: the likenesses of the pieces it touches, and its four costs."""

    touched: tuple[PieceKey, ...]
    loss: int
    worth_lost: int
    milling: int
    weighted: int

    def key(self, prefer: Preference) -> CostKey:
        return cost_order(prefer, self.loss, self.worth_lost, len(self.touched), self.milling, self.weighted)


def cost_order(prefer: Preference, loss: int, worth_lost: int, pieces: int, milling: int, weighted: int) -> CostKey:
    """The table of section 9: what is minimized first, and second; `weighted` is the worth lost, weighted by age."""
    match prefer:
        case Preference.BEST_USE:
            return worth_lost, pieces
        case Preference.LEAST_WASTE:
            return loss, pieces
        case Preference.FEWEST_PIECES:
            return pieces, worth_lost
        case Preference.LEAST_MILLING:
            return milling, worth_lost
        case Preference.OLDEST_FIRST:
            return weighted, pieces


def cost_key(fill: Fill, request: BoardRequest) -> CostKey:
    """What a fill of the search says that it costs."""
    weighted = sum(cut.worth_lost * piece_options(cut.offcut, request).weight // 1000 for cut in fill.cuts)
    return cost_order(fill.prefer, fill.loss, fill.worth_lost, fill.pieces, fill.milling, weighted)


def piece_key(offcut: Offcut, request: BoardRequest) -> PieceKey:
    """Species, sizes, faces and day; a piece that the request names is like no other."""
    sizes = (offcut.length, offcut.width, offcut.thickness)
    own = offcut.tag if is_named(request, offcut) else ""
    return (species_key(offcut.species), *sizes, offcut.face_a.value, offcut.face_b.value, str(offcut.tagged_on), own)


def touched(fill: Fill, request: BoardRequest) -> tuple[PieceKey, ...]:
    """The likenesses of the pieces that a fill of the search touches."""
    return tuple(sorted(piece_key(offcut, request) for offcut, _ in {(cut.offcut, cut.piece) for cut in fill.cuts}))


@dataclass(frozen=True)
class FillPart:
    """A pool or stripe of a glue-up, or of `copies` like ones that are filled together.

    `other_widths` are the widths of further glue-ups that the same strips may go to.
    """

    request: BoardRequest
    requirement: BandRequirement
    copies: int = 1
    other_widths: tuple[int, ...] = ()

    @property
    def widths(self) -> tuple[int, ...]:
        return (self.requirement.width,) * self.copies + self.other_widths


PartChoice = tuple[int, CutChoice | PartialCut, int]
"""Which part a piece serves, with what, and its weight."""


def fill_parts(request: BoardRequest) -> list[FillPart]:
    """The parts of one board in edge or face grain."""
    return [FillPart(request, requirement) for requirement in requirements_of(request)]


def _open_choices(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> list[tuple[PieceKey, list[PartChoice | None]]]:
    """For each piece what it can give, nothing included; pieces that give nothing are left out."""
    found = []
    for offcut in rack:
        choices: list[PartChoice | None] = [None]
        for number, part in enumerate(parts):
            given = piece_options(offcut, part.request, part.requirement)
            # Parts of lengths are asked for by one glue-up at a time.
            partial_cuts = given.partial_cuts if len(part.widths) == 1 else ()
            choices += [(number, choice, given.weight) for choice in given.choices]
            choices += [(number, partial, given.weight) for partial in partial_cuts]
        if len(choices) > 1:
            found += [(piece_key(offcut, parts[0].request), choices)] * offcut.count
    return found


def combinations(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> int:
    """How many combinations `all_fills` has to try."""
    return prod(len(choices) for _, choices in _open_choices(rack, parts))


def all_fills(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> Iterator[CandidateFill]:
    """Every way to fill all parts from the rack with what the request names; a piece serves one part only.

    Parts of several copies have no parts of a length here: they are right in edge grain alone.
    """
    pieces = _open_choices(rack, parts)
    request = parts[0].request
    named = [piece_key(offcut, request) for offcut in rack if is_named(request, offcut)]
    if len(named) < len(request.eligibility.required):
        return
    for chosen in product(*(choices for _, choices in pieces)):
        by_part: list[list[CutChoice | PartialCut]] = [[] for _ in parts]
        for taken in chosen:
            if taken is not None:
                by_part[taken[0]].append(taken[1])
        touched_keys = {key for (key, _), taken in zip(pieces, chosen, strict=True) if taken is not None}
        if touched_keys.issuperset(named) and all(map(_filled, parts, by_part)):
            missing = [
                sum(part.widths) - sum(each.adds for each in of) for part, of in zip(parts, by_part, strict=True)
            ]
            yield _found(pieces, chosen, missing)


def _filled(part: FillPart, given: Sequence[CutChoice | PartialCut]) -> bool:
    missing = sum(part.widths) - sum(each.adds for each in given)
    if part.requirement.is_stripe:
        return missing == 0
    partial = [each for each in given if isinstance(each, PartialCut)]
    if partial:
        return len(partial) == 1 and missing <= partial[0].most
    return missing <= 0 and _can_distribute(given, part.widths)


def _can_distribute(given: Sequence[CutChoice | PartialCut], widths: tuple[int, ...]) -> bool:
    """Whether the strips make up glue-ups of these widths."""
    strips = [each.adds // each.taken for each in given for _ in range(each.taken)]
    return len(widths) == 1 or can_distribute(strips, widths)


def can_distribute(strips: Sequence[int], widths: Sequence[int]) -> bool:
    """Whether strips so wide make up glue-ups of these widths: every way to share them is tried."""
    if sum(strips) < sum(widths):
        return False
    # Glue-ups of one width are exchanged for one another, so their sums are kept in order.
    reached = {tuple((width, 0) for width in sorted(widths))}
    for strip in strips:
        reached |= {
            tuple(sorted((*sums[:place], (width, min(width, filled + strip)), *sums[place + 1 :])))
            for sums in reached
            for place, (width, filled) in enumerate(sums)
        }
    return tuple((width, width) for width in sorted(widths)) in reached


def _found(
    pieces: Sequence[tuple[PieceKey, object]], chosen: Sequence[PartChoice | None], missing: Sequence[int]
) -> CandidateFill:
    loss = worth_lost = milling = weighted = 0
    likenesses = []
    for (like, _), taken in zip(pieces, chosen, strict=True):
        if taken is None:
            continue
        number, each, weight = taken
        if isinstance(each, PartialCut):
            width = max(missing[number], each.least)
            lost, worth = each.loss(width), each.worth_lost(width)
        else:
            lost, worth = each.loss, each.worth_lost
        loss += lost
        worth_lost += worth
        milling += each.milling
        weighted += worth * weight // 1000
        likenesses.append(like)
    return CandidateFill(tuple(sorted(likenesses)), loss, worth_lost, milling, weighted)


def best_cost_keys(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> dict[Preference, list[CostKey]]:
    """Per preference what the best fill costs, the best that touches other pieces, and so on to the last."""
    best: dict[Preference, dict[tuple[PieceKey, ...], CostKey]] = {prefer: {} for prefer in Preference}
    for found in all_fills(rack, parts):
        for prefer, so_far in best.items():
            key = found.key(prefer)
            if found.touched not in so_far or key < so_far[found.touched]:
                so_far[found.touched] = key
    return {prefer: sorted(so_far.values()) for prefer, so_far in best.items()}
