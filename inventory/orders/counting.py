"""How many of these boards are in the rack (cutting model, section 8).

Method: every part of the board is a question of its own: how many glue-ups do its
strips fill (`inventory.orders.max_covering`)? Where parts compete for the same pieces, those
are allotted first, and again with the better prices. Then the boards found are filled
with less loss, where that can be done. The answer says how far from the most it can be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import Ints
from inventory.fill.certainty import first_cost
from inventory.fill.glue_ups import depths_to_try, glue_ups_of, with_depth
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.plan import Plan
from inventory.fill.request import MOST_BOARDS, BoardRequest, Grain
from inventory.orders.allocation import allocate
from inventory.orders.dual_prices import extend_prices
from inventory.orders.joint_fill import BatchAnswer, batch_fill, cheaper_part, cuts_of_shares, loss_bound, pieces_got
from inventory.orders.max_covering import MaxCovering
from inventory.orders.strip_inventory import Given, given_by, group_parts

ALLOTMENTS = 8
"""So often pieces that parts compete for are allotted anew."""
MOST_EXTRA = 1.25
"""A part that was filled less often than promised is allotted at most so many times its need."""


@dataclass(frozen=True)
class Count:
    """So far `boards` boards are in the rack, with their plan, and never more than `at_most`.

    More boards than can be asked for at once are not counted.
    """

    boards: int
    at_most: int
    plan: Plan | None

    @property
    def settled(self) -> bool:
        """Whether no better answer can exist."""
        return self.boards >= self.at_most


def count_boards(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[Count]:
    """Better and better answers, the last one the best that is found; stop whenever it is good enough.

    The request's `count` does not matter. Only the first preference is followed. An
    end-grain request without a row depth is counted with each usual one.
    """
    one = replace(request, count=1, prefer=request.prefer[:1], fills=1)
    item_classes = group_offcuts(rack, one.allowances, one.on, by_age=False)
    if one.grain is not Grain.END:
        yield from _Boards(one, item_classes).better()
        return
    each_depth = [_Boards(with_depth(one, depth), item_classes) for depth in depths_to_try(one)]
    best = Count(0, 0, None)
    # The depth that promises most first; what the others promise bounds the answer until they are counted.
    while each_depth:
        boards = max(each_depth, key=lambda each: each.at_most)
        each_depth.remove(boards)
        others = max((each.at_most for each in each_depth), default=0)
        before = best
        for count in boards.better():
            best = count if count.boards > before.boards else before
            yield Count(best.boards, max(best.boards, boards.at_most, others), best.plan)
        each_depth = [each for each in each_depth if each.at_most > best.boards]


class _Boards:
    """One request counted: its parts, what each lot gives them, and which pieces each part gets."""

    def __init__(self, request: BoardRequest, item_classes: ItemClasses) -> None:
        self._request = request
        self._item_classes = item_classes
        self._single = group_parts(glue_ups_of([request]))
        self._given = [given_by(part, item_classes) for part in self._single]
        self._widths = [_Widths(has) for has in self._given]
        self._got, most = allocate(
            self._gives([widths.widest for widths in self._widths]),
            item_classes.columns.count,
            [sum(part.targets) for part in self._single],
        )
        self._parts = self._filling_up()
        self._cuts: list[tuple[Cut, ...]] = []
        self._mine: list[dict[int, list[tuple[Offcut, int]]]] = []
        self.at_most = min(most, MOST_BOARDS)
        self._tighten()

    def better(self) -> Iterator[Count]:
        """Better and better answers for this request."""
        best = self._count()
        yield best
        for _ in range(ALLOTMENTS if self._compete else 1):
            for _ in self._steps():
                if self._filled > best.boards:
                    best = self._count()
                yield replace(best, at_most=self.at_most)
            if self._filled > best.boards:
                best = self._count()
            if best.boards >= self.at_most or not self._compete or not self._allot_anew():
                break
            if self._filled > best.boards:
                best = self._count()
        yield from self._cheaper(best)

    @property
    def _filled(self) -> int:
        """Boards of which every part is filled."""
        return min(MOST_BOARDS, *(self._of(place) for place in range(len(self._parts))))

    def _of(self, place: int) -> int:
        return self._parts[place].filled // len(self._single[place].targets)

    @property
    def _compete(self) -> bool:
        """Whether some lot could serve two parts."""
        rows = [each.row for has in self._given for each in has]
        return len(set(rows)) < len(rows)

    def _gives(self, worth: Sequence[Sequence[int]]) -> Ints:
        """By part and lot what one piece gives, its strips at what their width is worth to the part."""
        gives = np.zeros((len(self._given), len(self._item_classes.members)), dtype=np.int64)
        for place, (has, widths) in enumerate(zip(self._given, self._widths, strict=True)):
            for each in has:
                gives[place, each.row] = each.strips * worth[place][widths.place[each.width]]
        return gives

    def _filling_up(self) -> list[MaxCovering]:
        return [
            MaxCovering(
                widths.widths,
                widths.widest,
                widths.counts(has, pieces),
                part.targets[0],
                MOST_BOARDS * len(part.targets),
            )
            for has, widths, pieces, part in zip(self._given, self._widths, self._got, self._single, strict=True)
        ]

    def _tighten(self) -> None:
        """Where no piece is competed for, no board count passes what some part can be filled for at most."""
        if not self._compete:
            parts = zip(self._parts, self._single, strict=True)
            self.at_most = min(self.at_most, *(each.at_most // len(part.targets) for each, part in parts))

    def _steps(self) -> Iterator[None]:
        """Works on the part of which least is filled, until all boards are or that part is given up.

        Where parts compete, all are worked on: each needs its prices for the next allotment.
        """
        working = {
            place: part.steps(self.at_most * len(single.targets))
            for place, (part, single) in enumerate(zip(self._parts, self._single, strict=True))
        }
        while working and self._filled < self.at_most:
            behind = min(working if self._compete else range(len(self._parts)), key=self._of)
            if behind not in working:
                return
            try:
                next(working[behind])
            except StopIteration:
                del working[behind]
            self._tighten()
            yield

    def _allot_anew(self) -> bool:
        """Allots by the parts' prices, which tightens the bound; whether any piece changes hands."""
        needs, worth = [], []
        for part, single, has, widths in zip(self._parts, self._single, self._given, self._widths, strict=True):
            everything = widths.counts(has, self._item_classes.columns.count)
            prices = extend_prices(part.prices, widths.widest, everything, single.targets[0], part.counts)
            needs.append(prices.least * len(single.targets))
            worth.append(prices.each)
        gives = self._gives(worth)
        _, most = allocate(gives, self._item_classes.columns.count, needs)
        self.at_most = min(self.at_most, most)
        # A part that was filled less often than its prices promise needs that much more.
        promised = (gives * self._got).sum(axis=1).tolist()
        behind = [
            have / max(need * self._of(place), 1)
            for place, (have, need) in enumerate(zip(promised, needs, strict=True))
        ]
        scaled = [round(need * min(max(each, 1.0), MOST_EXTRA)) for need, each in zip(needs, behind, strict=True)]
        got, _ = allocate(gives, self._item_classes.columns.count, scaled)
        if np.array_equal(got, self._got):
            return False
        self._got = got
        self._parts = self._filling_up()
        return True

    def _count(self) -> Count:
        """The boards that are filled now, and how."""
        boards = self._filled
        if not boards:
            return Count(0, self.at_most, None)
        parts = group_parts(glue_ups_of([replace(self._request, count=boards)]))
        self._mine = pieces_got(self._item_classes, self._got)
        self._cuts = [
            cuts_of_shares(part, has, mine, each.widths, each.shares[: len(part.targets)])
            for part, has, mine, each in zip(parts, self._given, self._mine, self._parts, strict=True)
        ]
        return Count(
            boards, self.at_most, self._plan(boards, loss_bound(parts, self._item_classes, self._request.prefer[0]))
        )

    def _plan(self, boards: int, bound: int) -> Plan:
        asked = replace(self._request, count=boards)
        volume = boards * volume_mm3(asked.length, asked.width, asked.thickness)
        answer = BatchAnswer(tuple(cut for cuts in self._cuts for cut in cuts), bound, False)
        return Plan(asked, (batch_fill(glue_ups_of([asked]), asked.prefer[0], answer, volume),))

    def _cheaper(self, best: Count) -> Iterator[Count]:
        """As many boards from less, where that is found: each part anew, from the pieces that it got."""
        if best.plan is None:
            return
        [fill] = best.plan.fills
        parts = group_parts(fill.glue_ups)
        for place, (part, mine) in enumerate(zip(parts, self._mine, strict=True)):
            for cuts in cheaper_part(part, fill.prefer, self._item_classes, mine):
                before = self._cuts[place]
                if cuts is not None:
                    self._cuts[place] = cuts
                    plan = self._plan(best.boards, fill.bound)
                    if first_cost(plan.fills[0], self._request.on) < first_cost(best.plan.fills[0], self._request.on):
                        best = replace(best, plan=plan)
                    else:
                        self._cuts[place] = before
                yield replace(best, at_most=self.at_most)


class _Widths:
    """The widths of strips that a part is given, each with what it may be at most, rounded up."""

    def __init__(self, given: Sequence[Given]) -> None:
        most: dict[int, int] = {}
        for each in given:
            most[each.width] = max(each.at_most, most.get(each.width, 0))
        self.widths = sorted(most)
        self.widest = [most[width] for width in self.widths]
        self.place = {width: place for place, width in enumerate(self.widths)}

    def counts(self, given: Sequence[Given], pieces: Ints) -> list[int]:
        """The strips of each width that so many pieces give."""
        counts = [0] * len(self.widths)
        for each in given:
            counts[self.place[each.width]] += each.strips * int(pieces[each.row])
        return counts
