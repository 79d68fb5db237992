"""Every fill of a small rack, one after the other: what the best ones cost.

For tests alone; exact, and slow beyond a hundred thousand combinations.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from inventory.cutting.cost import Preference
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.pieces import Offcut, species_key
from tests.fill.reckoning import Choice, Closing, Gives, gives, target

Likeness = tuple[object, ...]
"""Two pieces of the same likeness are near-copies: only their tag or place differs."""

Key = tuple[int, int]
"""What a preference minimises, first and second."""


@dataclass(frozen=True)
class Found:
    """One fill: the likenesses of the pieces it touches, and its four costs."""

    touched: tuple[Likeness, ...]
    loss: int
    dirty: int
    cleared: int

    def key(self, prefer: Preference) -> Key:
        return in_order(prefer, self.loss, len(self.touched), self.dirty, self.cleared)


def in_order(prefer: Preference, loss: int, pieces: int, dirty: int, cleared: int) -> Key:
    """The table of section 9: what is minimised first, and second."""
    match prefer:
        case Preference.LEAST_WASTE:
            return loss, pieces
        case Preference.FEWEST_PIECES:
            return pieces, loss
        case Preference.LEAST_MILLING:
            return dirty, loss
        case Preference.CLEAR_OUT:
            return cleared, pieces


def key_of(fill: Fill, request: BoardRequest) -> Key:
    """What a fill of the search says that it costs."""
    cleared = sum(cut.loss * gives(cut.offcut, request).weight // 1000 for cut in fill.cuts)
    return in_order(fill.prefer, fill.loss, fill.pieces, fill.dirty, cleared)


def likeness(offcut: Offcut) -> Likeness:
    """Species, sizes, faces and day."""
    sizes = (offcut.length, offcut.width, offcut.thickness)
    return (species_key(offcut.species), *sizes, offcut.face_a.value, offcut.face_b.value, str(offcut.tagged_on))


def touched(fill: Fill) -> tuple[Likeness, ...]:
    """The likenesses of the pieces that a fill of the search touches."""
    return tuple(sorted(likeness(offcut) for offcut, _ in {(cut.offcut, cut.piece) for cut in fill.cuts}))


def _pieces(rack: Sequence[Offcut], request: BoardRequest) -> list[tuple[Likeness, Gives]]:
    each = [(offcut, likeness(offcut), gives(offcut, request)) for offcut in rack]
    return [(like, given) for offcut, like, given in each if given.choices for _ in range(offcut.count)]


def combinations(rack: Sequence[Offcut], request: BoardRequest) -> int:
    """How many combinations `every_fill` has to try."""
    return prod(1 + len(given.choices) + len(given.closings) for _, given in _pieces(rack, request))


def every_fill(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[Found]:
    """Every way to fill the board from the rack, closing strips included."""
    pieces = _pieces(rack, request)
    wide = target(request)
    for chosen in product(*((None, *given.choices, *given.closings) for _, given in pieces)):
        missing = wide - sum(each.adds for each in chosen if each is not None)
        closing = [each for each in chosen if isinstance(each, Closing)]
        if (missing <= 0 and not closing) or (len(closing) == 1 and closing[0].least <= missing <= closing[0].most):
            yield _found(pieces, chosen, missing)


def _found(pieces: Sequence[tuple[Likeness, Gives]], chosen: Sequence[Choice | Closing | None], missing: int) -> Found:
    loss = dirty = cleared = 0
    likenesses = []
    for (like, given), each in zip(pieces, chosen, strict=True):
        if each is None:
            continue
        lost = each.loss(missing) if isinstance(each, Closing) else each.loss
        loss += lost
        dirty += each.dirty
        cleared += lost * given.weight // 1000
        likenesses.append(like)
    return Found(tuple(sorted(likenesses)), loss, dirty, cleared)


def best_keys(rack: Sequence[Offcut], request: BoardRequest) -> dict[Preference, list[Key]]:
    """Per preference what the best fill costs, the best that touches other pieces, and so on to the last."""
    best: dict[Preference, dict[tuple[Likeness, ...], Key]] = {prefer: {} for prefer in Preference}
    for found in every_fill(rack, request):
        for prefer, so_far in best.items():
            key = found.key(prefer)
            if found.touched not in so_far or key < so_far[found.touched]:
                so_far[found.touched] = key
    return {prefer: sorted(so_far.values()) for prefer, so_far in best.items()}
