"""The best row depth of an end-grain board that asks for none (cutting model, section 6).

Method: each depth is a request of its own. Depths are solved in order of their lower bounds, until the next bound is
above what is asked for: the last of the fills wanted, and the best fill of a second depth. So the fills are the best
over all depths, though most depths are never solved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from inventory.core.lengths import Length
from inventory.cutting.costs import Preference
from inventory.cutting.rack_table import RackTable
from inventory.fill.certainty import costs_of, primary_cost
from inventory.fill.demands import alternatives_for
from inventory.fill.plan import Fill, PlannedGlueUp, RowDepthRunnerUp
from inventory.orders.strip_inventory import pool_parts
from inventory.solver.search import lower_bound

FillsAt = Callable[[Length], Iterator[list[Fill] | None]]
"""Better and better fills at a depth, an empty list where it is infeasible; None after work that brought nothing."""


def lower_bounds(
    usable: RackTable, glue_ups: Sequence[PlannedGlueUp], preferences: Iterable[Preference]
) -> dict[Preference, int] | None:
    """By preference a lower bound of the first cost of filling these glue-ups, each part taken alone.

    None where some part can't be filled even alone.
    """
    request = glue_ups[0].request
    arrays = usable.arrays(request.allowances, request.on)
    bounds = dict.fromkeys(preferences, 0)
    for group in pool_parts(glue_ups):
        alternatives = alternatives_for(group.part, arrays.rows(usable.rows_for(group.part.demand)))
        for preference in bounds:
            problem = alternatives.to_problem(preference)
            if not problem.reaches_target():
                return None
            bounds[preference] += lower_bound(problem, len(group.glue_ups))
    return bounds


def improving_over_depths(
    bounds: Mapping[Length, int], fills_at: FillsAt, count: int, on: date
) -> Iterator[list[Fill] | None]:
    """Better and better lists of at most `count` fills of one preference, the best over all depths; None as `FillsAt`.

    `bounds` has by depth a lower bound of the first cost, `on` is the day up to which the days on the rack count.
    """
    solved: dict[Length, list[Fill]] = {}
    for depth in sorted(bounds, key=lambda depth: (bounds[depth], -depth)):
        if not _may_matter(bounds[depth], solved, count, on):
            break
        for fills in fills_at(depth):
            if fills is not None:
                solved[depth] = fills
            unsolved = min((bounds[each] for each in bounds if each not in solved), default=None)
            yield _best(solved, unsolved, count, on) if fills else None


def _may_matter(bound: int, solved: Mapping[Length, list[Fill]], count: int, on: date) -> bool:
    """Whether a depth with this lower bound can change the `count` best fills, or which depth is second best."""
    by_depth = sorted(primary_cost(fills[0], on) for fills in solved.values() if fills)
    ranked = _ranked(solved, on)
    if len(by_depth) < 2 or len(ranked) < count:
        return True
    return bound <= max(by_depth[1], primary_cost(ranked[count - 1], on))


def _ranked(solved: Mapping[Length, list[Fill]], on: date) -> list[Fill]:
    """All fills, the best first, without those that take the same offcuts as a better one."""
    every = (fill for _, fills in sorted(solved.items(), reverse=True) for fill in fills)
    distinct: dict[frozenset[tuple[str, int]], Fill] = {}
    for fill in sorted(every, key=lambda fill: costs_of(fill, on)):
        distinct.setdefault(frozenset((cut.offcut.tag, cut.piece) for cut in fill.cuts), fill)
    return list(distinct.values())


def _best(solved: Mapping[Length, list[Fill]], unsolved: int | None, count: int, on: date) -> list[Fill]:
    """The best fills of the depths that are solved; `unsolved` is the least lower bound of the others."""
    best = _ranked(solved, on)[:count]
    least = min([fills[0].bound for fills in solved.values() if fills] + ([] if unsolved is None else [unsolved]))
    proven = all(fill.proven for fills in solved.values() for fill in fills)
    certain = [
        fill
        if proven and (unsolved is None or primary_cost(fill, on) < unsolved)
        else replace(fill, proven=False, bound=min(fill.bound, least))
        for fill in best
    ]
    others = [
        (primary_cost(fills[0], on), -depth) for depth, fills in solved.items() if fills and depth != best[0].row_depth
    ]
    if others:
        cost, depth = min(others)
        certain[0] = replace(certain[0], row_depth_runner_up=RowDepthRunnerUp(Length(-depth), cost))
    return certain
