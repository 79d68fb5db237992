"""Several glue-ups filled together from one rack (cutting model, sections 6 and 8).

Method: like glue-ups are first filled as one wide glue-up; that is a true bound, since
whatever fills them all reaches the sum of their targets. Its strips are then shared
out. Where they can't be, a little more width is asked for, and so on. Proven where the
first sharing succeeds; else the bound says how far from the best it can be at most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.cutting.cost import Preference
from inventory.cutting.cuts import Cut, Share
from inventory.fill.bins import shared_out
from inventory.fill.lots import Lots
from inventory.fill.parts import Part, fewest_first, parts_of, task_for
from inventory.fill.plan import GlueUpTold
from inventory.fill.search import lower_bound
from inventory.fill.task import Cover, Pick, Task
from inventory.fill.together import Joint, best_together
from inventory.measures import Length
from inventory.pieces import Offcut

TRIES = 24
MOST_BATCH_STATES = 1500
"""A wide pool has more partial sums than are worth following: beyond so many the answer is not called proven."""
FIRST_STEP = 400
"""The first time sharing fails, one part in so many more width is asked for; then twice that, and so on."""


Taken = tuple[Offcut, int, int, int | None]
"""A piece, which of its bundle, what is taken of it, and the width of its closing strip if it gives one."""


@dataclass(frozen=True)
class GroupPart:
    """A pool or accent that like glue-ups ask for together: `target` is of each alone."""

    part: Part
    glue_ups: tuple[int, ...]
    target: int

    @property
    def accent(self) -> Length | None:
        return self.part.demand.accent


@dataclass(frozen=True)
class BatchAnswer:
    """The cuts that fill all glue-ups, a proven lower bound of the first cost, and whether they are the best."""

    cuts: tuple[Cut, ...]
    bound: int
    proven: bool


def group_parts(glue_ups: Sequence[GlueUpTold]) -> tuple[GroupPart, ...]:
    """The parts of all glue-ups; those of like glue-ups as one part with the sum of their targets."""
    alike: dict[object, list[int]] = {}
    for number, each in enumerate(glue_ups):
        alike.setdefault(each.request, []).append(number)
    parts = []
    for numbers in alike.values():
        for part in parts_of(glue_ups[numbers[0]].request):
            total = part.demand.target * len(numbers)
            wide = replace(part.glue_up, target=Length(part.glue_up.target * len(numbers)))
            demand = replace(part.demand, target=total)
            parts.append(GroupPart(Part(demand, part.construction, wide), tuple(numbers), part.demand.target))
    return tuple(parts)


def fill_batch(glue_ups: Sequence[GlueUpTold], preference: Preference, lots: Lots) -> BatchAnswer | None:
    """The cuts that fill all glue-ups, as near to the best as is found; None where none are found."""
    parts = group_parts(glue_ups)
    asked = [each.part for each in parts]
    fewest = fewest_first(preference)
    bound: int | None = None
    step = 1
    for _ in range(TRIES):
        tasks = [_task(part, each, lots, preference) for part, each in zip(asked, parts, strict=True)]
        answer = best_together(tasks, 1, fewest=fewest, most_states=MOST_BATCH_STATES)
        if not answer.joints:
            return None if bound is None else _all_of_it(parts, lots, preference, bound)
        first = bound is None
        if bound is None:
            left_out = _bound_without_pooling_closings(parts, lots, preference)
            bound = answer.bounds[0] if left_out is None else min(answer.bounds[0], left_out)
        cuts, failed = _cuts(answer.joints[0], parts, lots)
        if not failed:
            proven = first and answer.proven[0] and bound == answer.joints[0].cost[0]
            return BatchAnswer(cuts, bound, proven)
        asked = [
            _wider(part, each.part.demand.target * step // FIRST_STEP + 1) if number in failed else part
            for number, (part, each) in enumerate(zip(asked, parts, strict=True))
        ]
        step *= 2
    return None


def _task(part: Part, group: GroupPart, lots: Lots, preference: Preference) -> Task:
    """The part as a task; pooled glue-ups have no closing strip, since each belongs to one of them alone."""
    task = task_for(part, lots, preference)
    return task if len(group.glue_ups) == 1 else replace(task, free_strips=None)


def _bound_without_pooling_closings(parts: Sequence[GroupPart], lots: Lots, preference: Preference) -> int | None:
    """What no batch undercuts in the first cost, one closing strip allowed in every glue-up.

    None where pooling left out no closing strip, so that the pooled answer is itself the bound.
    """
    tasks = [(task_for(each.part, lots, preference), len(each.glue_ups)) for each in parts]
    if not any(task.free_strips is not None and many > 1 for task, many in tasks):
        return None
    return sum(lower_bound(task, many) for task, many in tasks)


def _wider(part: Part, by: int) -> Part:
    return replace(
        part,
        demand=replace(part.demand, target=part.demand.target + by),
        glue_up=replace(part.glue_up, target=Length(part.glue_up.target + by)),
    )


def _all_of_it(parts: Sequence[GroupPart], lots: Lots, preference: Preference, bound: int) -> BatchAnswer | None:
    """The last try: all the wood that the parts can have, one part after another, then shared out."""
    joint = _everything(parts, lots, preference)
    cuts, failed = _cuts(joint, parts, lots)
    return None if failed else BatchAnswer(cuts, bound, False)


def _everything(parts: Sequence[GroupPart], lots: Lots, preference: Preference) -> Joint:
    left = lots.columns.count.copy()
    covers = []
    for each in parts:
        choices = task_for(each.part, lots, preference).choices
        most: dict[int, int] = dict(zip(choices.row.tolist(), choices.take.tolist(), strict=True))
        covers.append(Cover(tuple(Pick(row, take) for row, take in most.items() for _ in range(int(left[row]))), 0, 0))
        for row in most:
            left[row] = 0
    return Joint(tuple(covers))


def _cuts(joint: Joint, parts: Sequence[GroupPart], lots: Lots) -> tuple[tuple[Cut, ...], set[int]]:
    """The cuts of all parts with their strips shared out, and the numbers of the parts where that failed."""
    pieces = {pick.row: lots.pieces(pick.row) for cover in joint.covers for pick in cover.picks}
    told: list[Cut] = []
    failed: set[int] = set()
    for number, (each, cover) in enumerate(zip(parts, joint.covers, strict=True)):
        taken = [(*next(pieces[pick.row]), pick.take, pick.closing) for pick in cover.picks]
        shared = _alone(taken, each) if len(each.glue_ups) == 1 else _shared(taken, each)
        if shared is None:
            failed.add(number)
        else:
            told += [cut.of(band=each.part.demand.bands[0]) for cut in shared]
    return tuple(told), failed


def _alone(taken: Sequence[Taken], group: GroupPart) -> list[Cut]:
    """The cuts of these pieces, all for the group's only glue-up."""
    [number] = group.glue_ups
    told = []
    for offcut, piece, take, width in taken:
        closing = None if width is None else Length(width)
        for cut in group.part.construction.cuts(offcut, piece, take, closing, group.part.glue_up):
            told.append(cut.shared((Share(number, _strip_count(cut), cut.adds),)))
    return told


def _shared(taken: Sequence[Taken], group: GroupPart) -> list[Cut] | None:
    """The cuts of these pieces, their strips shared out among the group's glue-ups; None where no way was found.

    Strips that no glue-up needs are not cut.
    """
    supply = [(_cut(offcut, piece, take, group), offcut, piece, take) for offcut, piece, take, _ in taken]
    counts: Counter[int] = Counter()
    for cut, *_ in supply:
        counts[_strip_adds(cut)] += _strip_count(cut)
    widths = sorted(counts)
    target = group.target * (group.accent or 1)
    shares = shared_out(widths, [counts[width] for width in widths], [target] * len(group.glue_ups))
    if shares is None:
        return None
    wanted = {width: [share[place] for share in shares] for place, width in enumerate(widths)}
    told = []
    for cut, offcut, piece, take in supply:
        width, here = _strip_adds(cut), _strip_count(cut)
        given = _given(wanted[width], here, width, group.glue_ups)
        used = sum(share.strips for share in given)
        if used:
            # A length laid flat gives its strips together; elsewhere every strip can be left uncut.
            needed = -(-used * take // here)
            told.append(_cut(offcut, piece, needed, group).shared(given))
    return told


def _given(wanted: list[int], here: int, width: int, glue_ups: tuple[int, ...]) -> tuple[Share, ...]:
    """Up to `here` strips of this width handed to the glue-ups that still want one; `wanted` is worked off."""
    given: list[Share] = []
    for place, number in enumerate(glue_ups):
        many = min(here, wanted[place])
        if many:
            wanted[place] -= many
            here -= many
            given.append(Share(number, many, Length(many * width)))
    return tuple(given)


def _cut(offcut: Offcut, piece: int, take: int, group: GroupPart) -> Cut:
    [cut] = group.part.construction.cuts(offcut, piece, take, None, group.part.glue_up)
    return cut


def _strip_count(cut: Cut) -> int:
    return cut.leaves or cut.strips


def _strip_adds(cut: Cut) -> int:
    """What one strip adds, rounded down to a nanometre where a length does not divide evenly."""
    return cut.adds // _strip_count(cut)
