"""Every fill of a small rack, one after the other: what the best ones cost.

For tests alone; exact, and slow beyond a hundred thousand combinations.
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
from tests.fill.calculation import Choice, Closing, gives
from tests.verify.asked import Ask, asks

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


@dataclass(frozen=True)
class Part:
    """A pool or accent of a glue-up, or of `copies` like ones that are filled together.

    `beside` are the widths of further glue-ups that the same strips may go to.
    """

    request: BoardRequest
    ask: Ask
    copies: int = 1
    beside: tuple[int, ...] = ()

    @property
    def widths(self) -> tuple[int, ...]:
        return (self.ask.width,) * self.copies + self.beside


Taken = tuple[int, Choice | Closing, int]
"""Which part a piece serves, with what, and its weight."""


def parts_of(request: BoardRequest) -> list[Part]:
    """The parts of one board in edge or face grain."""
    return [Part(request, ask) for ask in asks(request)]


def _open_choices(rack: Sequence[Offcut], parts: Sequence[Part]) -> list[tuple[Likeness, list[Taken | None]]]:
    """For each piece what it can give, nothing included; pieces that give nothing are left out."""
    found = []
    for offcut in rack:
        choices: list[Taken | None] = [None]
        for number, part in enumerate(parts):
            given = gives(offcut, part.request, part.ask)
            # Closing strips are asked for by one glue-up at a time.
            closings = given.closings if len(part.widths) == 1 else ()
            choices += [(number, choice, given.weight) for choice in given.choices]
            choices += [(number, closing, given.weight) for closing in closings]
        if len(choices) > 1:
            found += [(likeness(offcut), choices)] * offcut.count
    return found


def combinations(rack: Sequence[Offcut], parts: Sequence[Part]) -> int:
    """How many combinations `every_fill` has to try."""
    return prod(len(choices) for _, choices in _open_choices(rack, parts))


def every_fill(rack: Sequence[Offcut], parts: Sequence[Part]) -> Iterator[Found]:
    """Every way to fill all parts from the rack, closing strips included; a piece serves one part only.

    Parts of several copies have no closing strips here: they are right in edge grain alone.
    """
    pieces = _open_choices(rack, parts)
    for chosen in product(*(choices for _, choices in pieces)):
        by_part: list[list[Choice | Closing]] = [[] for _ in parts]
        for taken in chosen:
            if taken is not None:
                by_part[taken[0]].append(taken[1])
        if all(_filled(part, given) for part, given in zip(parts, by_part, strict=True)):
            missing = [
                sum(part.widths) - sum(each.adds for each in of) for part, of in zip(parts, by_part, strict=True)
            ]
            yield _found(pieces, chosen, missing)


def _filled(part: Part, given: Sequence[Choice | Closing]) -> bool:
    missing = sum(part.widths) - sum(each.adds for each in given)
    if part.ask.is_accent:
        return missing == 0
    closing = [each for each in given if isinstance(each, Closing)]
    if closing:
        return len(closing) == 1 and closing[0].least <= missing <= closing[0].most
    return missing <= 0 and _can_be_shared_out(given, part.widths)


def _can_be_shared_out(given: Sequence[Choice | Closing], widths: tuple[int, ...]) -> bool:
    """Whether the strips make up glue-ups of these widths."""
    strips = [each.adds // each.taken for each in given for _ in range(each.taken)]
    return len(widths) == 1 or can_be_shared_out(strips, widths)


def can_be_shared_out(strips: Sequence[int], widths: Sequence[int]) -> bool:
    """Whether strips so wide make up glue-ups of these widths: every way to share them out is tried."""
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


def _found(pieces: Sequence[tuple[Likeness, object]], chosen: Sequence[Taken | None], missing: Sequence[int]) -> Found:
    loss = dirty = cleared = 0
    likenesses = []
    for (like, _), taken in zip(pieces, chosen, strict=True):
        if taken is None:
            continue
        number, each, weight = taken
        lost = each.loss(missing[number]) if isinstance(each, Closing) else each.loss
        loss += lost
        dirty += each.dirty
        cleared += lost * weight // 1000
        likenesses.append(like)
    return Found(tuple(sorted(likenesses)), loss, dirty, cleared)


def best_keys(rack: Sequence[Offcut], parts: Sequence[Part]) -> dict[Preference, list[Key]]:
    """Per preference what the best fill costs, the best that touches other pieces, and so on to the last."""
    best: dict[Preference, dict[tuple[Likeness, ...], Key]] = {prefer: {} for prefer in Preference}
    for found in every_fill(rack, parts):
        for prefer, so_far in best.items():
            key = found.key(prefer)
            if found.touched not in so_far or key < so_far[found.touched]:
                so_far[found.touched] = key
    return {prefer: sorted(so_far.values()) for prefer, so_far in best.items()}
