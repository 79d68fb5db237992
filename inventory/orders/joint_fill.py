"""Several glue-ups filled together from one rack (cutting model, sections 6 and 8).

Method: (1) All pieces are allocated to the parts that compete for them and their strips shared by
bin covering: a first feasible solution, if one is found. (2) Few glue-ups are also filled in sequence,
each at its own optimum. (3) Surrogate relaxation (F. Glover, Operations Research 13(6), 1965; from
memory): glue-ups that the same strips serve are one wide glue-up with the sum of their targets, whose
optimum is a lower bound; its strips are then shared by bin covering. Where that fails, a little
more width is required, and so on. Proven where the first sharing succeeds; otherwise bounded.

What a request's `with` names is mandatory in (3), mandatory in the first glue-up that it can serve in (2), and cut
first in (1). A solution without all of it is never returned, though one may have been missed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, StripShare
from inventory.cutting.offcut_arrays import IntArray
from inventory.fill.certainty import primary_cost
from inventory.fill.demands import Part, counts_pieces_first, problem_for, with_required
from inventory.fill.item_classes import ItemClasses
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.orders.allocation import allocate
from inventory.orders.bin_covering import cover_bins
from inventory.orders.strip_inventory import (
    PooledPart,
    StripSupply,
    TakenStrips,
    cuts_with_shares,
    make_cut,
    pool_parts,
    strip_supply,
    strip_width,
)
from inventory.solver.branch_and_bound import JointSolution, solve_jointly
from inventory.solver.problem import Problem
from inventory.solver.search import best_solutions, lower_bound

MAX_WIDENINGS = 12
MAX_SEQUENTIAL = 60
"""Up to so many parts of glue-ups, these are also filled in sequence."""
POOLED_TRIES = 800
REOPTIMIZE_WIDENINGS = 6
REOPTIMIZE_TRIES = 500
"""The work limit is lower where a solution is known and only a cheaper one is searched for."""
MAX_BATCH_STATES = 1500
"""The most states of the dynamic program for a wide glue-up; beyond it the solution is not proven."""
WIDENING_DIVISOR = 400
"""After the first failed sharing the target grows by one part in so many, then by twice that, and so on."""

Shares = list[list[int]]
"""By glue-up of a part: how many strips of each width it takes."""


@dataclass(frozen=True)
class OrderSolution:
    """The cuts that fill all glue-ups, a lower bound of the first cost, and whether they are proven optimal.

    Without cuts only the bound is new.
    """

    cuts: tuple[Cut, ...]
    bound: int
    proven: bool


def to_fill(
    glue_ups: Sequence[PlannedGlueUp], preference: Preference, answer: OrderSolution, board_volume: int
) -> Fill:
    """The solution as a fill of these glue-ups."""
    return Fill(
        prefer=preference,
        proven=answer.proven,
        bound=answer.bound,
        cuts=answer.cuts,
        board_volume=board_volume,
        glue_ups=tuple(glue_ups),
    )


def improving_batches(
    glue_ups: Sequence[PlannedGlueUp], preference: Preference, item_classes: ItemClasses
) -> Iterator[OrderSolution | None]:
    """Better and better solutions; None after work that found nothing better."""
    parts = pool_parts(glue_ups)
    best: OrderSolution | None = None
    bound = 0
    for answer in _solutions(parts, preference, item_classes):
        if answer is None:
            yield None
            continue
        bound = max(bound, answer.bound)
        if (
            answer.cuts
            and item_classes.required_tags.issubset(cut.offcut.tag for cut in answer.cuts)
            and (
                best is None or _cost(answer, glue_ups, preference) < _cost(best, glue_ups, preference) or answer.proven
            )
        ):
            best = answer
        yield None if best is None else replace(best, bound=bound)


def reoptimize_part(
    part: PooledPart,
    preference: Preference,
    item_classes: ItemClasses,
    allocated: Mapping[int, Sequence[tuple[Offcut, int]]],
) -> Iterator[tuple[Cut, ...] | None]:
    """The cuts that fill one part at low cost from the pieces allocated to it; None for each failed sharing.

    `allocated` holds the pieces by item class.
    """
    multiplicity = np.zeros(len(item_classes.members), dtype=np.int64)
    for row, pieces in allocated.items():
        multiplicity[row] = len(pieces)
    asked, step = part.part, 1
    for _ in range(REOPTIMIZE_WIDENINGS):
        problem = replace(problem_for(asked, item_classes, preference), continuous_items=None)
        problem = with_required(problem.with_multiplicity(multiplicity), item_classes.required)
        solutions = best_solutions(
            problem, 1, fewest_items=counts_pieces_first(preference), max_states=MAX_BATCH_STATES
        ).solutions
        if not solutions:
            return
        available = {row: iter(pieces) for row, pieces in allocated.items()}
        shared = _shared_cuts(
            [(*next(available[selection.row]), selection.alternative) for selection in solutions[0].selections],
            part,
            item_classes,
            REOPTIMIZE_TRIES,
        )
        yield None if shared is None else tuple(shared)
        if shared is not None:
            return
        asked, step = _widened(asked, part.part.demand.target * step // WIDENING_DIVISOR + 1), step * 2


def _cost(answer: OrderSolution, glue_ups: Sequence[PlannedGlueUp], preference: Preference) -> tuple[int, int]:
    fill = to_fill(glue_ups, preference, answer, 0)
    return primary_cost(fill, glue_ups[0].request.on), fill.pieces if preference is not Preference.LEAST_MILLING else 0


def _solutions(
    parts: Sequence[PooledPart], preference: Preference, item_classes: ItemClasses
) -> Iterator[OrderSolution | None]:
    supplies = [strip_supply(part, item_classes) for part in parts]
    allocation, upper_bound = allocate_by_width(parts, supplies, item_classes, [sum(part.targets) for part in parts])
    if upper_bound < 1:
        return
    bound = cost_lower_bound(parts, item_classes, preference)
    cuts: list[Cut] = []
    for part, supply, allocated in zip(parts, supplies, allocated_pieces(item_classes, allocation), strict=True):
        widths, counts = strip_counts(supply, allocated)
        shares = cover_bins(widths, counts, part.targets)
        if shares is None:
            yield None
            break
        cuts += cuts_for_shares(part, supply, allocated, widths, shares, item_classes.required_tags)
    else:
        yield OrderSolution(tuple(cuts), bound, False)
    if sum(len(part.glue_ups) for part in parts) <= MAX_SEQUENTIAL:
        yield from _sequential(parts, preference, item_classes, bound)
    yield from _pooled(parts, preference, item_classes, bound)


def allocate_by_width(
    parts: Sequence[PooledPart],
    supplies: Sequence[Sequence[StripSupply]],
    item_classes: ItemClasses,
    needs: Sequence[int],
) -> tuple[IntArray, int]:
    """By part and item class the pieces that it gets, by width; and an upper bound on how often the needs are met."""
    gives = np.zeros((len(parts), len(item_classes.members)), dtype=np.int64)
    for place, supply in enumerate(supplies):
        for each in supply:
            gives[place, each.row] = each.strips * each.upper_bound
    return allocate(gives, item_classes.arrays.count, needs)


def strip_counts(
    supplies: Sequence[StripSupply], allocated: Mapping[int, Sequence[tuple[Offcut, int]]]
) -> tuple[list[int], list[int]]:
    """The widths of strips, and how many strips of each width these pieces give."""
    counts: Counter[int] = Counter()
    for each in supplies:
        counts[each.width] += each.strips * len(allocated.get(each.row, ()))
    widths = sorted(counts)
    return widths, [counts[width] for width in widths]


def allocated_pieces(item_classes: ItemClasses, allocation: IntArray) -> list[dict[int, list[tuple[Offcut, int]]]]:
    """By part and item class, the pieces that the part gets."""
    pieces = {row: item_classes.pieces(row) for row in np.flatnonzero(allocation.any(axis=0)).tolist()}
    return [
        {row: [next(pieces[row]) for _ in range(int(allocated[row]))] for row in np.flatnonzero(allocated).tolist()}
        for allocated in allocation
    ]


def cuts_for_shares(
    part: PooledPart,
    supplies: Sequence[StripSupply],
    allocated: Mapping[int, Sequence[tuple[Offcut, int]]],
    widths: Sequence[int],
    shares: Shares,
    required: Collection[str],
) -> tuple[Cut, ...]:
    """The cuts by which the pieces of a part give the shares of its glue-ups, `required` tags among them."""
    taken = [(*piece, each.take) for each in supplies for piece in allocated.get(each.row, ())]
    return tuple(cuts_with_shares(taken, part, widths, shares, required))


def cost_lower_bound(parts: Sequence[PooledPart], item_classes: ItemClasses, preference: Preference) -> int:
    """A lower bound of the first cost: every part alone, one part of a length in every glue-up."""
    return sum(lower_bound(problem_for(each.part, item_classes, preference), len(each.glue_ups)) for each in parts)


def _sequential(
    parts: Sequence[PooledPart], preference: Preference, item_classes: ItemClasses, bound: int
) -> Iterator[OrderSolution | None]:
    """Each glue-up at its own optimum from the pieces left, the widest first, with a part of a length in each."""
    left = item_classes.arrays.count.copy()
    pieces = {row: item_classes.pieces(row) for row in range(len(item_classes.members))}
    required = item_classes.required.copy()
    cuts_made: list[Cut] = []
    for part in parts:
        for target, number in sorted(zip(part.targets, part.glue_ups, strict=True), reverse=True):
            alone = _with_target(part.part, target)
            problem = problem_for(alone, item_classes, preference).with_multiplicity(left)
            for each in (with_required(problem, required), problem):
                solutions = best_solutions(
                    each, 1, fewest_items=counts_pieces_first(preference), max_states=MAX_BATCH_STATES
                ).solutions
                if solutions or not len(each.mandatory):
                    break
            if not solutions:
                return
            taken = [
                (*next(pieces[selection.row]), selection.alternative, selection.continuous_width)
                for selection in solutions[0].selections
            ]
            cuts_made += _single_glue_up_cuts(taken, PooledPart(alone, (number,), (target,)))
            for selection in solutions[0].selections:
                left[selection.row] -= 1
                required[selection.row] = 0
            yield None
    yield OrderSolution(tuple(cuts_made), bound, False)


def _pooled(
    parts: Sequence[PooledPart], preference: Preference, item_classes: ItemClasses, least: int
) -> Iterator[OrderSolution | None]:
    """The cheapest wide glue-ups whose strips could be shared."""
    asked = [each.part for each in parts]
    whole = not _drops_continuous(parts, item_classes, preference)
    bound: int | None = None
    step = 1
    for _ in range(MAX_WIDENINGS):
        problems = [_problem(part, each, item_classes, preference) for part, each in zip(asked, parts, strict=True)]
        answer = solve_jointly(
            problems,
            1,
            fewest_items=counts_pieces_first(preference),
            max_states=MAX_BATCH_STATES,
            mandatory=item_classes.required_rows,
        )
        if not answer.joint_solutions:
            return
        first = bound is None
        if bound is None:
            bound = max(answer.lower_bounds[0], least) if whole else least
        cuts, failed = _cuts(answer.joint_solutions[0], parts, item_classes)
        if not failed:
            # The parts of lengths left out may still lower the second cost.
            proven = first and whole and answer.proven[0] and bound == answer.joint_solutions[0].cost[0]
            yield OrderSolution(cuts, bound, proven)
            return
        yield OrderSolution((), bound, False)
        asked = [
            _widened(part, each.part.demand.target * step // WIDENING_DIVISOR + 1) if number in failed else part
            for number, (part, each) in enumerate(zip(asked, parts, strict=True))
        ]
        step *= 2


def _problem(part: Part, group: PooledPart, item_classes: ItemClasses, preference: Preference) -> Problem:
    """The part as a problem; pooled glue-ups have no part of a length, since it belongs to one glue-up alone."""
    problem = problem_for(part, item_classes, preference)
    return problem if len(group.glue_ups) == 1 else replace(problem, continuous_items=None)


def _drops_continuous(parts: Sequence[PooledPart], item_classes: ItemClasses, preference: Preference) -> bool:
    """Whether pooling leaves out parts of lengths, so that the pooled optimum is no bound."""
    return any(
        len(each.glue_ups) > 1 and problem_for(each.part, item_classes, preference).continuous_items is not None
        for each in parts
    )


def _widened(part: Part, by: int) -> Part:
    return _with_target(part, part.demand.target + by)


def _with_target(part: Part, target: int) -> Part:
    """The part with another target; its glue-up's target is a width, for a stripe too."""
    stripe = part.demand.stripe
    width = part.glue_up.target if stripe is not None else Length(target)
    return replace(part, demand=replace(part.demand, target=target), glue_up=replace(part.glue_up, target=width))


def _cuts(
    joint: JointSolution, parts: Sequence[PooledPart], item_classes: ItemClasses
) -> tuple[tuple[Cut, ...], set[int]]:
    """The cuts of all parts with their strips shared, and the indices of the parts where that failed."""
    pieces = {
        selection.row: item_classes.pieces(selection.row)
        for solution in joint.solutions
        for selection in solution.selections
    }
    cuts_made: list[Cut] = []
    failed: set[int] = set()
    for number, (each, solution) in enumerate(zip(parts, joint.solutions, strict=True)):
        taken = [
            (*next(pieces[selection.row]), selection.alternative, selection.continuous_width)
            for selection in solution.selections
        ]
        shared = (
            _single_glue_up_cuts(taken, each)
            if len(each.glue_ups) == 1
            else _shared_cuts([one[:3] for one in taken], each, item_classes, POOLED_TRIES)
        )
        if shared is None:
            failed.add(number)
        else:
            cuts_made += shared
    return tuple(cuts_made), failed


def _single_glue_up_cuts(taken: Sequence[tuple[Offcut, int, int, int | None]], group: PooledPart) -> list[Cut]:
    """The cuts of these pieces for the group's only glue-up; the last number is the width of a part of a length."""
    [number] = group.glue_ups
    cuts_made = []
    over = 0 if group.stripe is None else sum(take for _, _, take, _ in taken) - group.targets[0]
    for offcut, piece, take, width in taken:
        # A stripe has exactly its strips.
        spared = min(max(over, 0), take)
        take, over = take - spared, over - spared
        if not take and width is None:
            continue
        of_part = None if width is None else Length(width)
        for cut in group.part.construction.cuts(offcut, piece, take, of_part, group.part.glue_up):
            alone = (StripShare(number, cut.glued_strips, cut.adds),)
            cuts_made.append(cut.for_band(band=group.part.demand.bands[0]).with_shares(alone))
    return cuts_made


def _shared_cuts(
    taken: Sequence[TakenStrips], group: PooledPart, item_classes: ItemClasses, tries: int
) -> list[Cut] | None:
    """The cuts of these pieces, their strips shared among the group's glue-ups; None where none was found."""
    counts: Counter[int] = Counter()
    for each in taken:
        cut = make_cut(*each, group)
        counts[strip_width(cut, group)] += cut.glued_strips
    widths = sorted(counts)
    shares = cover_bins(widths, [counts[width] for width in widths], group.targets, tries)
    if shares is None:
        return None
    return list(cuts_with_shares(taken, group, widths, shares, item_classes.required_tags))
