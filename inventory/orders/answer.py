"""From a rack and a request to the plan: the fills of each preference, or what is missing.

Knows how the parts of a board are searched together and told as fills. Knows no
rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from inventory.core.lengths import Length, volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import glue_up_for
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.candidates import CandidateReduction
from inventory.fill.demands import Part, fewest_first, parts_of, problem_for
from inventory.fill.glue_ups import depths_to_try, glue_ups_of, with_depth
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.plan import Fill, Plan
from inventory.fill.rack_table import RackTable, table_of
from inventory.fill.request import BoardRequest, Grain, NotARequest
from inventory.orders.joint_fill import BatchAnswer, batch_fill, better_batches, loss_bound
from inventory.orders.largest_board import largest_sizes
from inventory.orders.shortfall import batch_lacks, batch_shortfall_of, can_fill, panels_shortfall_of, shortfall_of
from inventory.orders.strip_inventory import group_parts
from inventory.solver.joint import JointSolution, JointSolutions, combine_independent, solve_jointly
from inventory.solver.problem import Cost


def none_aside() -> int:
    """Nothing on the rack is reserved."""
    return 0


def fill_rack(
    rack: Sequence[Offcut] | RackTable, request: BoardRequest, *, set_aside: Callable[[], int] = none_aside
) -> Plan:
    """The best fills of the request from these offcuts, or a plan with a shortfall.

    `set_aside` counts the pieces that lie on the rack but are reserved; it is only
    asked for a shortfall. The first fill of each preference is optimal in its order and
    says so (`proven`); where it can't be proven, `bound` says how far off it can be.
    """
    if request.grain is Grain.END:
        return _with_largest_sizes(_first_depth_that_fills(_all_of(rack), request, set_aside), _all_of(rack), request)
    if request.count > 1:
        return fill_boards(_all_of(rack), [request], set_aside=set_aside)
    parts = parts_of(request)
    table = rack if isinstance(rack, RackTable) else table_of(rack)
    reduction = CandidateReduction(table, request, parts)
    fills: list[Fill] = []
    for preference in request.prefer:
        reduced = reduction.reduced(preference)
        if reduced.solutions:
            answer = combine_independent(reduced.solutions, request.fills)
            fills += _fills_of(answer, request, preference, parts, reduced.item_classes)
        else:
            fills += _fills(request, preference, parts, reduced.item_classes, reduced.limits)
    if fills:
        return Plan(request, tuple(fills))
    return Plan(request, (), shortfall_of(_all_of(rack), request, parts, set_aside()))


def _all_of(rack: Sequence[Offcut] | RackTable) -> Sequence[Offcut]:
    return rack.all_offcuts() if isinstance(rack, RackTable) else rack


def fill_boards(
    rack: Sequence[Offcut], requests: Sequence[BoardRequest], *, set_aside: Callable[[], int] = none_aside
) -> Plan:
    """All boards of these requests filled together; preferences, allowances and day are the first one's.

    One fill for each preference, with `glue_ups`. If they can't all be filled, the
    shortfall is what they lack together, with the largest sizes of the first of them alone.
    """
    plan = _best_plan(rack, requests)
    return plan if plan is not None else short_together(rack, requests, set_aside=set_aside())


def short_together(rack: Sequence[Offcut], requests: Sequence[BoardRequest], *, set_aside: int = 0) -> Plan:
    """What the boards of these requests lack together, as a plan without fills."""
    asked = as_the_first(rack, requests)
    return Plan(asked[0], (), batch_shortfall_of(rack, glue_ups_of(asked), set_aside), asked[1:])


def _best_plan(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> Plan | None:
    plan: Plan | None = None
    for better in filling_boards(rack, requests):
        plan = better or plan
    return plan


def filling_boards(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> Iterator[Plan | None]:
    """Better and better plans for all boards together, without cautions; None where a while was spent in vain.

    Stop whenever one is good enough. A preference that has no fill yet is left out.
    """
    asked = as_the_first(rack, requests)
    glue_ups = glue_ups_of(asked)
    volume = sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in asked)
    found: dict[Preference, list[Fill]] = {}
    for preference, item_classes in _by_preference(rack, asked[0]):
        if len(glue_ups) == 1:
            alone = _fills(glue_ups[0].request, preference, parts_of(glue_ups[0].request), item_classes)
            found[preference] = [replace(each, board_volume=volume, glue_ups=glue_ups) for each in alone]
            yield _plan_of(asked, found)
            continue
        for answer in better_batches(glue_ups, preference, item_classes):
            if answer is not None:
                found[preference] = [batch_fill(glue_ups, preference, answer, volume)]
            yield None if answer is None else _plan_of(asked, found)
    missing = [each for each in asked[0].prefer if each not in found]
    if found and missing:
        # What fills the boards in one order fills them in another, if not as well.
        cuts = next(iter(found.values()))[0].cuts
        for preference, item_classes in _by_preference(rack, replace(asked[0], prefer=tuple(missing))):
            some = BatchAnswer(cuts, loss_bound(group_parts(glue_ups), item_classes, preference), False)
            found[preference] = [batch_fill(glue_ups, preference, some, volume)]
        yield _plan_of(asked, {each: found[each] for each in asked[0].prefer})


def as_the_first(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> tuple[BoardRequest, ...]:
    """The requests with the preferences, allowances and day of the first, every row depth chosen.

    A row depth that was not asked for is the largest with which the rack fills one such board.
    """
    first = requests[0]
    alike = (replace(each, prefer=first.prefer, allowances=first.allowances, on=first.on) for each in requests)
    return tuple(_with_its_depth(rack, each) if each.grain is Grain.END else each for each in alike)


def _with_its_depth(rack: Sequence[Offcut], request: BoardRequest) -> BoardRequest:
    if request.panel.row_depth is not None:
        return request
    plan = _first_depth_that_fills(rack, replace(request, count=1, prefer=request.prefer[:1], fills=1), none_aside)
    return replace(request, panel=plan.request.panel)


def _plan_of(asked: tuple[BoardRequest, ...], found: dict[Preference, list[Fill]]) -> Plan | None:
    fills = tuple(fill for fills in found.values() for fill in fills)
    return Plan(asked[0], fills, None, asked[1:]) if fills else None


def _told(request: BoardRequest, preference: Preference, cuts: tuple[Cut, ...], bound: int, proven: bool) -> Fill:
    glue_up = glue_up_for(request.length, request.width, request.thickness, request.allowances)
    return Fill(
        prefer=preference,
        proven=proven,
        bound=bound,
        cuts=cuts,
        board_volume=volume_mm3(request.length, request.width, request.thickness),
        strip_length=glue_up.strip_length,
        rough_thickness=glue_up.rough_thickness,
        target=glue_up.target,
    )


def _first_depth_that_fills(rack: Sequence[Offcut], request: BoardRequest, set_aside: Callable[[], int]) -> Plan:
    """The plan of the largest row depth with which the rack fills an end-grain request.

    Where none does, the shortfall is that of the depth with which the least is missing.
    """
    deep = [with_depth(request, depth) for depth in depths_to_try(request)]
    if not deep:
        raise NotARequest(
            "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth.",
            "panel",
        )
    for each in deep:
        plan = _best_plan(rack, [each])
        if plan is not None:
            return plan
    nearest = min(deep, key=lambda each: sum(lack.width for lack in batch_lacks(rack, glue_ups_of([each]))))
    return Plan(nearest, (), panels_shortfall_of(rack, glue_ups_of([nearest]), set_aside()))


def _with_largest_sizes(plan: Plan, rack: Sequence[Offcut], request: BoardRequest) -> Plan:
    """A shortfall of panels tells the largest boards, not the largest panels."""
    if plan.shortfall is None:
        return plan

    wanted = [each for each in rack if request.takes(each.species)]
    item_classes = group_offcuts(wanted, request.allowances, request.on, by_age=False)

    def fills(smaller: BoardRequest) -> bool:
        glue_ups = glue_ups_of([smaller])
        if len(glue_ups) == 1:
            return can_fill(glue_ups[0].request, item_classes)
        # The first try is quick, and a smaller board is only a proposal.
        return next(better_batches(glue_ups, Preference.LEAST_WASTE, item_classes), None) is not None

    sizes = largest_sizes(rack, request, fills)
    told = replace(
        plan.shortfall,
        largest_width=sizes["width"],
        largest_length=sizes["length"],
        largest_thickness=sizes["thickness"],
    )
    return replace(plan, shortfall=told)


def _by_preference(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[tuple[Preference, ItemClasses]]:
    """Each preference asked for, with the lots as it tells them apart."""
    by_age: dict[bool, ItemClasses] = {}
    for preference in request.prefer:
        apart = preference is Preference.CLEAR_OUT
        if apart not in by_age:
            by_age[apart] = group_offcuts(rack, request.allowances, request.on, by_age=apart)
        yield preference, by_age[apart]


def _fills(
    request: BoardRequest,
    preference: Preference,
    parts: tuple[Part, ...],
    item_classes: ItemClasses,
    limits: tuple[Cost | None, ...] = (),
) -> list[Fill]:
    problems = [problem_for(part, item_classes, preference) for part in parts]
    answer = solve_jointly(problems, request.fills, fewest=fewest_first(preference), limits=limits)
    return _fills_of(answer, request, preference, parts, item_classes)


def _fills_of(
    answer: JointSolutions,
    request: BoardRequest,
    preference: Preference,
    parts: tuple[Part, ...],
    item_classes: ItemClasses,
) -> list[Fill]:
    item_classes.members.make(row for joint in answer.joint_solutions for row, _ in joint.touched)
    return [
        _told(request, preference, cuts_of(joint, parts, item_classes), bound, proven)
        for joint, bound, proven in zip(answer.joint_solutions, answer.bounds, answer.proven, strict=True)
    ]


def cuts_of(joint: JointSolution, parts: tuple[Part, ...], item_classes: ItemClasses) -> tuple[Cut, ...]:
    """The cuts of all parts, part after part, the widest contribution first; each piece is named once."""
    pieces = {pick.row: item_classes.pieces(pick.row) for solution in joint.solutions for pick in solution.picks}
    told: list[Cut] = []
    for part, solution in zip(parts, joint.solutions, strict=True):
        here: list[tuple[Cut, ...]] = []
        for pick in solution.picks:
            offcut, piece = next(pieces[pick.row])
            closing = None if pick.closing is None else Length(pick.closing)
            cuts = part.construction.cuts(offcut, piece, pick.take, closing, part.glue_up)
            here.append(tuple(cut.of(band=part.demand.bands[0]) for cut in cuts))
        here.sort(
            key=lambda cuts: (cuts[-1].closing, -sum(cut.adds for cut in cuts), cuts[0].offcut.tag, cuts[0].piece)
        )
        told += [cut for cuts in here for cut in cuts]
    return tuple(told)
