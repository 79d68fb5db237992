"""Several glue-ups filled together from one rack (cutting model, sections 6 and 8).

Method: (1) all the wood there is, allotted to the parts that compete for it, is shared
out: a first answer, if it is to be had at all. (2) Glue-ups that the same strips serve
are filled as one wide glue-up, as cheaply as can be; that is a true bound, since
whatever fills them all reaches the sum of their targets. Its strips are then shared
out. Where they can't be, a little more width is asked for, and so on. Proven where the
first sharing succeeds; else the bound says how far from the best it can be at most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import glue_up_for
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, Share
from inventory.cutting.offcut_arrays import Ints
from inventory.fill.certainty import first_cost
from inventory.fill.demands import Part, fewest_first, problem_for
from inventory.fill.item_classes import ItemClasses
from inventory.fill.plan import Fill, GlueUpTold
from inventory.orders.allocation import allocate
from inventory.orders.bin_covering import TRIES, cover_bins
from inventory.orders.strip_inventory import (
    Given,
    GroupPart,
    Taken,
    cut_of,
    given_by,
    group_parts,
    strip_count,
    strip_width,
    told_shares,
)
from inventory.solver.joint import JointSolution, solve_jointly, with_multiplicity
from inventory.solver.problem import Problem
from inventory.solver.search import best_solutions, lower_bound

WIDER = 12
MOST_IN_TURN = 60
"""Up to so many parts of glue-ups, each is also filled at its own best."""
TRIES_POOLED = 800
WIDER_FOR_LESS = 6
TRIES_FOR_LESS = 500
"""Where an answer is known and a cheaper one is looked for, less is spent on it."""
MOST_BATCH_STATES = 1500
"""A wide pool has more partial sums than are worth following: beyond so many the answer is not called proven."""
FIRST_STEP = 400
"""The first time sharing fails, one part in so many more width is asked for; then twice that, and so on."""

Shares = list[list[int]]
"""By glue-up of a part: how many strips of each width it takes."""


@dataclass(frozen=True)
class BatchAnswer:
    """The cuts that fill all glue-ups, a proven lower bound of the first cost, and whether they are the best.

    Without cuts it is the bound alone that is news.
    """

    cuts: tuple[Cut, ...]
    bound: int
    proven: bool


def batch_fill(glue_ups: Sequence[GlueUpTold], preference: Preference, answer: BatchAnswer, board_volume: int) -> Fill:
    """The answer as a fill; its strip length, thickness and target are the first glue-up's."""
    first = glue_ups[0].request
    glue_up = glue_up_for(first.length, first.width, first.thickness, first.allowances)
    return Fill(
        prefer=preference,
        proven=answer.proven,
        bound=answer.bound,
        cuts=answer.cuts,
        board_volume=board_volume,
        strip_length=glue_up.strip_length,
        rough_thickness=glue_up.rough_thickness,
        target=glue_up.target,
        glue_ups=tuple(glue_ups),
    )


def better_batches(
    glue_ups: Sequence[GlueUpTold], preference: Preference, item_classes: ItemClasses
) -> Iterator[BatchAnswer | None]:
    """Better and better answers, the last one the best that is found; None where a while was spent in vain."""
    parts = group_parts(glue_ups)
    best: BatchAnswer | None = None
    bound = 0
    for answer in _answers(parts, preference, item_classes):
        if answer is None:
            yield None
            continue
        bound = max(bound, answer.bound)
        if answer.cuts and (
            best is None or _cost(answer, glue_ups, preference) < _cost(best, glue_ups, preference) or answer.proven
        ):
            best = answer
        yield None if best is None else replace(best, bound=bound)


def cheaper_part(
    part: GroupPart, preference: Preference, item_classes: ItemClasses, mine: Mapping[int, Sequence[tuple[Offcut, int]]]
) -> Iterator[tuple[Cut, ...] | None]:
    """The cuts that fill one part cheaply from the pieces that it got; None for each time that sharing out failed.

    `mine` holds by lot the pieces. Like `better_batches`, but the part is alone with them.
    """
    multiplicity = np.zeros(len(item_classes.members), dtype=np.int64)
    for row, pieces in mine.items():
        multiplicity[row] = len(pieces)
    asked, step = part.part, 1
    for _ in range(WIDER_FOR_LESS):
        problem = with_multiplicity(_problem(asked, part, item_classes, preference), multiplicity)
        solutions = best_solutions(problem, 1, fewest=fewest_first(preference), most_states=MOST_BATCH_STATES).solutions
        if not solutions:
            return
        there = {row: iter(pieces) for row, pieces in mine.items()}
        shared = _shared([(*next(there[pick.row]), pick.take) for pick in solutions[0].picks], part, TRIES_FOR_LESS)
        yield None if shared is None else tuple(shared)
        if shared is not None:
            return
        asked, step = _wider(asked, part.part.demand.target * step // FIRST_STEP + 1), step * 2


def _cost(answer: BatchAnswer, glue_ups: Sequence[GlueUpTold], preference: Preference) -> tuple[int, int]:
    fill = batch_fill(glue_ups, preference, answer, 0)
    return first_cost(fill, glue_ups[0].request.on), fill.pieces if preference is not Preference.LEAST_MILLING else 0


def _answers(
    parts: Sequence[GroupPart], preference: Preference, item_classes: ItemClasses
) -> Iterator[BatchAnswer | None]:
    given = [given_by(part, item_classes) for part in parts]
    got, at_most = allot(parts, given, item_classes, [sum(part.targets) for part in parts])
    if at_most < 1:
        return
    bound = loss_bound(parts, item_classes, preference)
    cuts: list[Cut] = []
    for part, has, mine in zip(parts, given, pieces_got(item_classes, got), strict=True):
        widths, counts = widths_of(has, mine)
        shares = cover_bins(widths, counts, part.targets)
        if shares is None:
            yield None
            break
        cuts += cuts_of_shares(part, has, mine, widths, shares)
    else:
        yield BatchAnswer(tuple(cuts), bound, False)
    if sum(len(part.glue_ups) for part in parts) <= MOST_IN_TURN:
        yield from _in_turn(parts, preference, item_classes, bound)
    yield from _pooled(parts, preference, item_classes, bound)


def allot(
    parts: Sequence[GroupPart], given: Sequence[Sequence[Given]], item_classes: ItemClasses, needs: Sequence[int]
) -> tuple[Ints, int]:
    """By part and lot the pieces that it gets, by width alone; and how often the needs can be met at most."""
    gives = np.zeros((len(parts), len(item_classes.members)), dtype=np.int64)
    for place, has in enumerate(given):
        for each in has:
            gives[place, each.row] = each.strips * each.at_most
    return allocate(gives, item_classes.columns.count, needs)


def widths_of(given: Sequence[Given], mine: Mapping[int, Sequence[tuple[Offcut, int]]]) -> tuple[list[int], list[int]]:
    """The widths of strips that lots give, and how many strips of each width these pieces give."""
    counts: Counter[int] = Counter()
    for each in given:
        counts[each.width] += each.strips * len(mine.get(each.row, ()))
    widths = sorted(counts)
    return widths, [counts[width] for width in widths]


def pieces_got(item_classes: ItemClasses, got: Ints) -> list[dict[int, list[tuple[Offcut, int]]]]:
    """By part and lot the very pieces that the part got."""
    pieces = {row: item_classes.pieces(row) for row in np.flatnonzero(got.any(axis=0)).tolist()}
    return [
        {row: [next(pieces[row]) for _ in range(int(mine[row]))] for row in np.flatnonzero(mine).tolist()}
        for mine in got
    ]


def cuts_of_shares(
    part: GroupPart,
    given: Sequence[Given],
    mine: Mapping[int, Sequence[tuple[Offcut, int]]],
    widths: Sequence[int],
    shares: Shares,
) -> tuple[Cut, ...]:
    """The cuts by which the pieces that a part got give the shares of its glue-ups."""
    taken = [(*piece, each.take) for each in given for piece in mine.get(each.row, ())]
    return tuple(told_shares(taken, part, widths, shares))


def loss_bound(parts: Sequence[GroupPart], item_classes: ItemClasses, preference: Preference) -> int:
    """What no batch undercuts in the first cost: every part alone, one closing strip in every glue-up."""
    return sum(lower_bound(problem_for(each.part, item_classes, preference), len(each.glue_ups)) for each in parts)


def _in_turn(
    parts: Sequence[GroupPart], preference: Preference, item_classes: ItemClasses, bound: int
) -> Iterator[BatchAnswer | None]:
    """Each glue-up at its own best from the pieces that are left, the widest first; closing strips are allowed."""
    left = item_classes.columns.count.copy()
    pieces = {row: item_classes.pieces(row) for row in range(len(item_classes.members))}
    told: list[Cut] = []
    for part in parts:
        for target, number in sorted(zip(part.targets, part.glue_ups, strict=True), reverse=True):
            alone = _asking(part.part, target)
            problem = with_multiplicity(problem_for(alone, item_classes, preference), left)
            solutions = best_solutions(
                problem, 1, fewest=fewest_first(preference), most_states=MOST_BATCH_STATES
            ).solutions
            if not solutions:
                return
            taken = [(*next(pieces[pick.row]), pick.take, pick.closing) for pick in solutions[0].picks]
            told += _alone(taken, GroupPart(alone, (number,), (target,)))
            for pick in solutions[0].picks:
                left[pick.row] -= 1
            yield None
    yield BatchAnswer(tuple(told), bound, False)


def _pooled(
    parts: Sequence[GroupPart], preference: Preference, item_classes: ItemClasses, least: int
) -> Iterator[BatchAnswer | None]:
    """The cheapest wide glue-ups whose strips can be shared out."""
    asked = [each.part for each in parts]
    whole = not _closings_left_out(parts, item_classes, preference)
    bound: int | None = None
    step = 1
    for _ in range(WIDER):
        problems = [_problem(part, each, item_classes, preference) for part, each in zip(asked, parts, strict=True)]
        answer = solve_jointly(problems, 1, fewest=fewest_first(preference), most_states=MOST_BATCH_STATES)
        if not answer.joint_solutions:
            return
        first = bound is None
        if bound is None:
            bound = max(answer.bounds[0], least) if whole else least
        cuts, failed = _cuts(answer.joint_solutions[0], parts, item_classes)
        if not failed:
            # Closing strips left out may still save of the second cost.
            proven = first and whole and answer.proven[0] and bound == answer.joint_solutions[0].cost[0]
            yield BatchAnswer(cuts, bound, proven)
            return
        yield BatchAnswer((), bound, False)
        asked = [
            _wider(part, each.part.demand.target * step // FIRST_STEP + 1) if number in failed else part
            for number, (part, each) in enumerate(zip(asked, parts, strict=True))
        ]
        step *= 2


def _problem(part: Part, group: GroupPart, item_classes: ItemClasses, preference: Preference) -> Problem:
    """The part as a task; pooled glue-ups have no closing strip, since each belongs to one of them alone."""
    problem = problem_for(part, item_classes, preference)
    return problem if len(group.glue_ups) == 1 else replace(problem, continuous_items=None)


def _closings_left_out(parts: Sequence[GroupPart], item_classes: ItemClasses, preference: Preference) -> bool:
    """Whether pooling left out closing strips, so that the pooled answer is no bound."""
    return any(
        len(each.glue_ups) > 1 and problem_for(each.part, item_classes, preference).continuous_items is not None
        for each in parts
    )


def _wider(part: Part, by: int) -> Part:
    return _asking(part, part.demand.target + by)


def _asking(part: Part, target: int) -> Part:
    """The part with another target; that of its glue-up counts widths, also of an accent."""
    accent = part.demand.accent
    width = part.glue_up.target if accent is not None else Length(target)
    return replace(part, demand=replace(part.demand, target=target), glue_up=replace(part.glue_up, target=width))


def _cuts(
    joint: JointSolution, parts: Sequence[GroupPart], item_classes: ItemClasses
) -> tuple[tuple[Cut, ...], set[int]]:
    """The cuts of all parts with their strips shared out, and the numbers of the parts where that failed."""
    pieces = {pick.row: item_classes.pieces(pick.row) for solution in joint.solutions for pick in solution.picks}
    told: list[Cut] = []
    failed: set[int] = set()
    for number, (each, solution) in enumerate(zip(parts, joint.solutions, strict=True)):
        taken = [(*next(pieces[pick.row]), pick.take, pick.closing) for pick in solution.picks]
        shared = (
            _alone(taken, each) if len(each.glue_ups) == 1 else _shared([one[:3] for one in taken], each, TRIES_POOLED)
        )
        if shared is None:
            failed.add(number)
        else:
            told += shared
    return tuple(told), failed


def _alone(taken: Sequence[tuple[Offcut, int, int, int | None]], group: GroupPart) -> list[Cut]:
    """The cuts of these pieces, all for the group's only glue-up; the last number is a closing strip's width."""
    [number] = group.glue_ups
    told = []
    over = 0 if group.accent is None else sum(take for _, _, take, _ in taken) - group.targets[0]
    for offcut, piece, take, width in taken:
        # An accent has exactly its strips.
        spared = min(max(over, 0), take)
        take, over = take - spared, over - spared
        if not take and width is None:
            continue
        closing = None if width is None else Length(width)
        for cut in group.part.construction.cuts(offcut, piece, take, closing, group.part.glue_up):
            alone = (Share(number, strip_count(cut), cut.adds),)
            told.append(cut.of(band=group.part.demand.bands[0]).shared(alone))
    return told


def _shared(taken: Sequence[Taken], group: GroupPart, tries: int = TRIES) -> list[Cut] | None:
    """The cuts of these pieces, their strips shared out among the group's glue-ups; None where no way was found."""
    counts: Counter[int] = Counter()
    for each in taken:
        cut = cut_of(*each, group)
        counts[strip_width(cut, group)] += strip_count(cut)
    widths = sorted(counts)
    shares = cover_bins(widths, [counts[width] for width in widths], group.targets, tries)
    return None if shares is None else list(told_shares(taken, group, widths, shares))
