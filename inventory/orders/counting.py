"""How many boards of one request the rack gives (cutting model, section 8).

Method: a bin covering problem for each part (`orders.max_covering`). Where parts compete for the same
pieces, these are allocated first (`orders.allocation`), and again with better dual prices. The boards
found are then filled at lower cost where possible. The answer has a proven upper bound.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import build_table
from inventory.fill.certainty import primary_cost
from inventory.fill.eligible_pieces import eligible_pieces
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.item_classes import ItemClasses, group_table
from inventory.fill.plan import Plan
from inventory.fill.request import MAX_BOARDS, BoardRequest, Grain, Mix
from inventory.orders.allocation import allocate
from inventory.orders.dual_prices import extend_prices
from inventory.orders.joint_fill import (
    OrderSolution,
    allocated_pieces,
    cost_lower_bound,
    cuts_for_shares,
    reoptimize_part,
    to_fill,
)
from inventory.orders.max_covering import MaxCovering
from inventory.orders.species_choices import species_choices
from inventory.orders.strip_inventory import StripSupply, pool_parts, strip_supply

MAX_REALLOCATIONS = 8
"""How often pieces that parts compete for are reallocated."""
MAX_CHOICES_COUNTED = 8
"""Of a board of several pools and stripes so many choices of species are counted."""
MAX_NEED_FACTOR = 1.25
"""A part filled less often than its prices promise is allocated at most so many times its need."""


@dataclass(frozen=True)
class BoardCount:
    """`boards` boards found so far, with their plan; there are at most `upper_bound`.

    Boards beyond `MAX_BOARDS` are not counted.
    """

    boards: int
    upper_bound: int
    plan: Plan | None

    @property
    def is_optimal(self) -> bool:
        """Whether there are no more boards."""
        return self.boards >= self.upper_bound


def count_boards(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[BoardCount]:
    """Better and better counts; the caller may stop at any of them.

    The request's `count` is ignored and only its first preference is followed. An
    end-grain request without a row depth is counted at each standard depth.
    """
    one = replace(request, count=1, prefer=request.prefer[:1], fills=1)
    eligible = eligible_pieces(build_table(rack), one)
    if eligible.absent:
        yield BoardCount(0, 0, None)
        return
    item_classes = group_table(eligible.table, one.allowances, one.on, by_age=False)
    if one.mix is Mix.ONE:
        yield from _count_one_species(rack, one, item_classes)
        return
    if one.grain is not Grain.END:
        yield from _BoardCounter(one, item_classes).improve()
        return
    each_depth = [_BoardCounter(with_depth(one, depth), item_classes) for depth in candidate_depths(one)]
    best = BoardCount(0, 0, None)
    # The depth with the highest upper bound first; the bounds of the others hold until they are counted.
    while each_depth:
        boards = max(each_depth, key=lambda each: each.upper_bound)
        each_depth.remove(boards)
        others = max((each.upper_bound for each in each_depth), default=0)
        before = best
        for count in boards.improve():
            best = count if count.boards > before.boards else before
            yield BoardCount(best.boards, max(best.boards, boards.upper_bound, others), best.plan)
        each_depth = [each for each in each_depth if each.upper_bound > best.boards]


def _count_one_species(rack: Sequence[Offcut], one: BoardRequest, item_classes: ItemClasses) -> Iterator[BoardCount]:
    """The count where each pool and stripe of a board is of one species: at each row depth, the best of them."""
    if one.grain is not Grain.END or one.panel.row_depth is not None:
        yield from _count_by_species(rack, one, item_classes)
        return
    depths = [with_depth(one, depth) for depth in candidate_depths(one)]
    bounds = [sum(_upper_bound(request, item_classes) for request in _choices(each, item_classes)) for each in depths]
    best, counted = BoardCount(0, 0, None), list[int]()
    for number, each in enumerate(depths):
        if bounds[number] <= best.boards:
            continue
        last = best
        for last in _count_by_species(rack, each, item_classes):
            if last.boards > best.boards:
                best = last
            yield replace(best, upper_bound=min(max([*counted, last.upper_bound, *bounds[number + 1 :]]), MAX_BOARDS))
        counted.append(last.upper_bound)


def _count_by_species(rack: Sequence[Offcut], one: BoardRequest, item_classes: ItemClasses) -> Iterator[BoardCount]:
    """The boards of each species, one species after another; with a single pool they add up.

    Of a board with several pools and stripes the best choice of species counts alone, and the bound is that for mixed
    species.
    """
    requests = _choices(one, item_classes)
    if len(one.demands()) > 1:
        yield from _best_choice(rack, one, requests)
        return
    counted: list[BoardCount] = []
    waiting = [_upper_bound(request, item_classes) for request in requests]
    for number, request in enumerate(requests):
        last = BoardCount(0, 0, None)
        for last in count_boards(rack, request):
            so_far = [*counted, last]
            boards = sum(each.boards for each in so_far)
            bound = sum(each.upper_bound for each in so_far) + sum(waiting[number + 1 :])
            yield BoardCount(min(boards, MAX_BOARDS), min(bound, MAX_BOARDS), _merged(one, so_far))
        counted.append(last)
    if not counted:
        yield BoardCount(0, 0, None)


def _choices(one: BoardRequest, item_classes: ItemClasses) -> list[BoardRequest]:
    """The request with one species for each pool and stripe, in every way that a board can be filled."""
    return [each.requests[0] for each in species_choices([one], item_classes, one.prefer[0]) if each.requests]


def _upper_bound(request: BoardRequest, item_classes: ItemClasses) -> int:
    """An upper bound of the boards, before they are counted."""
    return _BoardCounter(request, item_classes).upper_bound


def _best_choice(rack: Sequence[Offcut], one: BoardRequest, requests: Sequence[BoardRequest]) -> Iterator[BoardCount]:
    """The count of the choice of species that gives most boards."""
    best = BoardCount(0, 0, None)
    *_, mixed = count_boards(rack, replace(one, mix=Mix.FREE))
    for request in requests[:MAX_CHOICES_COUNTED]:
        for count in count_boards(rack, request):
            if count.boards > best.boards:
                plan = None if count.plan is None else _merged(one, [count])
                best = BoardCount(count.boards, mixed.upper_bound, plan)
            yield replace(best, upper_bound=mixed.upper_bound)
    if not requests:
        yield best


def _merged(one: BoardRequest, counted: Sequence[BoardCount]) -> Plan | None:
    """The plans of several species as one plan, with up to `MAX_BOARDS` boards."""
    fills = [each.plan.fills[0] for each in counted if each.plan is not None]
    boards = sum(each.boards for each in counted)
    if not fills:
        return None
    if boards > MAX_BOARDS:
        return counted[0].plan
    request = replace(one, count=boards)
    cuts, first = list[Cut](), 0
    for fill in fills:
        for cut in fill.cuts:
            shares = tuple(replace(share, glue_up=share.glue_up + first) for share in cut.assignments)
            cuts.append(cut.with_shares(shares))
        first += len(fill.glue_ups)
    answer = OrderSolution(tuple(cuts), 0, False)
    volume = sum(fill.board_volume for fill in fills)
    return Plan(request, (to_fill(glue_ups_for([request]), one.prefer[0], answer, volume),))


class _BoardCounter:
    """The count of one request: its parts, what each item class gives them, and which pieces each part gets."""

    def __init__(self, request: BoardRequest, item_classes: ItemClasses) -> None:
        self._request = request
        self._item_classes = item_classes
        self._pooled_parts = pool_parts(glue_ups_for([request]))
        self._supplies = [strip_supply(part, item_classes) for part in self._pooled_parts]
        self._widths = [_Widths(supply) for supply in self._supplies]
        self._allocation, most = allocate(
            self._gives([widths.widest for widths in self._widths]),
            item_classes.arrays.count,
            [sum(part.targets) for part in self._pooled_parts],
        )
        self._parts = self._new_coverings()
        self._cuts: list[tuple[Cut, ...]] = []
        self._allocated: list[dict[int, list[tuple[Offcut, int]]]] = []
        self.upper_bound = min(most, MAX_BOARDS)
        self._tighten()

    def improve(self) -> Iterator[BoardCount]:
        """Better and better counts for this request."""
        best = self._count()
        yield best
        for _ in range(MAX_REALLOCATIONS if self._parts_compete else 1):
            for _ in self._steps():
                best = self._better(best)
                yield replace(best, upper_bound=self.upper_bound)
            best = self._better(best)
            if best.boards >= self.upper_bound or not self._parts_compete or not self._reallocate():
                break
            best = self._better(best)
        yield from self._reoptimize(best)

    def _better(self, best: BoardCount) -> BoardCount:
        """The boards filled now where they are more than the best so far."""
        count = self._count() if self._filled > best.boards else best
        return count if count.boards > best.boards else best

    @property
    def _filled(self) -> int:
        """The number of boards of which every part is filled."""
        return min(MAX_BOARDS, *(self._of(place) for place in range(len(self._parts))))

    def _of(self, place: int) -> int:
        return self._parts[place].filled // len(self._pooled_parts[place].targets)

    @property
    def _parts_compete(self) -> bool:
        """Whether some item class could serve two parts."""
        rows = [each.row for supply in self._supplies for each in supply]
        return len(set(rows)) < len(rows)

    def _gives(self, unit_prices: Sequence[Sequence[int]]) -> IntArray:
        """By part and item class what one piece gives, its strips at the part's price for their width."""
        gives = np.zeros((len(self._supplies), len(self._item_classes.members)), dtype=np.int64)
        for place, (supply, widths) in enumerate(zip(self._supplies, self._widths, strict=True)):
            for each in supply:
                gives[place, each.row] = each.strips * unit_prices[place][widths.place[each.width]]
        return gives

    def _new_coverings(self) -> list[MaxCovering]:
        return [
            MaxCovering(
                widths.widths,
                widths.widest,
                widths.counts(supply, pieces),
                part.targets[0],
                MAX_BOARDS * len(part.targets),
            )
            for supply, widths, pieces, part in zip(
                self._supplies, self._widths, self._allocation, self._pooled_parts, strict=True
            )
        ]

    def _tighten(self) -> None:
        """Where parts don't compete, the bound of each part bounds the boards."""
        if not self._parts_compete:
            parts = zip(self._parts, self._pooled_parts, strict=True)
            self.upper_bound = min(self.upper_bound, *(each.upper_bound // len(part.targets) for each, part in parts))

    def _steps(self) -> Iterator[None]:
        """Improves the part of which least is filled, until the bound is reached or that part ends.

        Where parts compete, all are improved: each needs its prices for the next allocation.
        """
        working = {
            place: part.steps(self.upper_bound * len(single.targets))
            for place, (part, single) in enumerate(zip(self._parts, self._pooled_parts, strict=True))
        }
        while working and self._filled < self.upper_bound:
            behind = min(working if self._parts_compete else range(len(self._parts)), key=self._of)
            if behind not in working:
                return
            try:
                next(working[behind])
            except StopIteration:
                del working[behind]
            self._tighten()
            yield

    def _reallocate(self) -> bool:
        """Allocates by the parts' prices, which tightens the bound; whether any piece moves."""
        needs, unit_prices = [], []
        for part, single, supply, widths in zip(
            self._parts, self._pooled_parts, self._supplies, self._widths, strict=True
        ):
            everything = widths.counts(supply, self._item_classes.arrays.count)
            prices = extend_prices(part.prices, widths.widest, everything, single.targets[0], part.counts)
            needs.append(prices.least * len(single.targets))
            unit_prices.append(prices.each)
        gives = self._gives(unit_prices)
        _, most = allocate(gives, self._item_classes.arrays.count, needs)
        self.upper_bound = min(self.upper_bound, most)
        # A part that was filled less often than its prices promise needs that much more.
        promised = (gives * self._allocation).sum(axis=1).tolist()
        behind = [
            have / max(need * self._of(place), 1)
            for place, (have, need) in enumerate(zip(promised, needs, strict=True))
        ]
        scaled = [round(need * min(max(each, 1.0), MAX_NEED_FACTOR)) for need, each in zip(needs, behind, strict=True)]
        allocation, _ = allocate(gives, self._item_classes.arrays.count, scaled)
        if np.array_equal(allocation, self._allocation):
            return False
        self._allocation = allocation
        self._parts = self._new_coverings()
        return True

    def _count(self) -> BoardCount:
        """The boards filled now, with their plan; none where a piece that the request names gives no strip."""
        boards = self._filled
        if not boards:
            return BoardCount(0, self.upper_bound, None)
        parts = pool_parts(glue_ups_for([replace(self._request, count=boards)]))
        required = self._item_classes.required_tags
        allocated = allocated_pieces(self._item_classes, self._allocation)
        cuts = [
            cuts_for_shares(part, supply, pieces, each.widths, each.shares[: len(part.targets)], required)
            for part, supply, pieces, each in zip(parts, self._supplies, allocated, self._parts, strict=True)
        ]
        if not required.issubset(cut.offcut.tag for of_part in cuts for cut in of_part):
            return BoardCount(0, self.upper_bound, None)
        self._allocated, self._cuts = allocated, cuts
        return BoardCount(
            boards,
            self.upper_bound,
            self._plan(boards, cost_lower_bound(parts, self._item_classes, self._request.prefer[0])),
        )

    def _plan(self, boards: int, bound: int) -> Plan:
        asked = replace(self._request, count=boards)
        volume = boards * volume_mm3(asked.length, asked.width, asked.thickness)
        answer = OrderSolution(tuple(cut for cuts in self._cuts for cut in cuts), bound, False)
        return Plan(asked, (to_fill(glue_ups_for([asked]), asked.prefer[0], answer, volume),))

    def _reoptimize(self, best: BoardCount) -> Iterator[BoardCount]:
        """The same number of boards at lower cost, where found: each part again from the pieces it was allocated."""
        if best.plan is None:
            return
        [fill] = best.plan.fills
        parts = pool_parts(fill.glue_ups)
        for place, (part, allocated) in enumerate(zip(parts, self._allocated, strict=True)):
            for cuts in reoptimize_part(part, fill.prefer, self._item_classes, allocated):
                before = self._cuts[place]
                if cuts is not None:
                    self._cuts[place] = cuts
                    plan = self._plan(best.boards, fill.bound)
                    if primary_cost(plan.fills[0], self._request.on) < primary_cost(
                        best.plan.fills[0], self._request.on
                    ):
                        best = replace(best, plan=plan)
                    else:
                        self._cuts[place] = before
                yield replace(best, upper_bound=self.upper_bound)


class _Widths:
    """The widths of a part's strips, each with its upper bound (rounded up)."""

    def __init__(self, supplies: Sequence[StripSupply]) -> None:
        most: dict[int, int] = {}
        for each in supplies:
            most[each.width] = max(each.upper_bound, most.get(each.width, 0))
        self.widths = sorted(most)
        self.widest = [most[width] for width in self.widths]
        self.place = {width: place for place, width in enumerate(self.widths)}

    def counts(self, supplies: Sequence[StripSupply], pieces: IntArray) -> list[int]:
        """The number of strips of each width that so many pieces give."""
        counts = [0] * len(self.widths)
        for each in supplies:
            counts[self.place[each.width]] += each.strips * int(pieces[each.row])
        return counts
