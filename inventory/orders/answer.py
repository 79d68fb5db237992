"""From a rack and a request to the plan: the fills of each preference, or what is missing.

Knows how the parts of a board are searched together and told as fills. Knows no
rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from inventory.core.lengths import Length, volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.candidates import CandidateReduction
from inventory.fill.demands import Part, counts_pieces_first, parts_of, problem_for
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.plan import Fill, Plan
from inventory.fill.rack_table import RackTable, build_table
from inventory.fill.request import BoardRequest, Grain, InvalidRequest
from inventory.orders.joint_fill import BatchSolution, cost_lower_bound, improving_batches, to_fill
from inventory.orders.largest_board import largest_sizes
from inventory.orders.shortfall import batch_shortages, batch_shortfall, can_fill, find_shortfall, panel_shortfall
from inventory.orders.strip_inventory import pool_parts
from inventory.solver.branch_and_bound import JointSolution, JointSolutions, combine_independent, solve_jointly
from inventory.solver.problem import Cost


def none_on_hold() -> int:
    """Nothing on the rack is reserved."""
    return 0


def fill_rack(
    rack: Sequence[Offcut] | RackTable, request: BoardRequest, *, on_hold: Callable[[], int] = none_on_hold
) -> Plan:
    """The best fills of the request from these offcuts, or a plan with a shortfall.

    `on_hold` counts the pieces that lie on the rack but are reserved; it is only
    asked for a shortfall. The first fill of each preference is optimal in its order and
    says so (`proven`); where it can't be proven, `bound` says how far off it can be.
    """
    if request.grain is Grain.END:
        return _with_largest_sizes(_deepest_feasible(_offcuts_of(rack), request, on_hold), _offcuts_of(rack), request)
    if request.count > 1:
        return fill_boards(_offcuts_of(rack), [request], on_hold=on_hold)
    parts = parts_of(request)
    table = rack if isinstance(rack, RackTable) else build_table(rack)
    reduction = CandidateReduction(table, request, parts)
    fills: list[Fill] = []
    for preference in request.prefer:
        reduced = reduction.reduced(preference)
        if reduced.solutions:
            answer = combine_independent(reduced.solutions, request.fills)
            fills += _to_fills(answer, request, preference, parts, reduced.item_classes)
        else:
            fills += _fills(request, preference, parts, reduced.item_classes, reduced.limits)
    if fills:
        return Plan(request, tuple(fills))
    return Plan(request, (), find_shortfall(_offcuts_of(rack), request, parts, on_hold()))


def _offcuts_of(rack: Sequence[Offcut] | RackTable) -> Sequence[Offcut]:
    return rack.all_offcuts() if isinstance(rack, RackTable) else rack


def fill_boards(
    rack: Sequence[Offcut], requests: Sequence[BoardRequest], *, on_hold: Callable[[], int] = none_on_hold
) -> Plan:
    """All boards of these requests filled together; preferences, allowances and day are the first one's.

    One fill for each preference, with `glue_ups`. If they can't all be filled, the
    shortfall is what they lack together, with the largest sizes of the first of them alone.
    """
    plan = _best_plan(rack, requests)
    return plan if plan is not None else joint_shortfall_plan(rack, requests, on_hold=on_hold())


def joint_shortfall_plan(rack: Sequence[Offcut], requests: Sequence[BoardRequest], *, on_hold: int = 0) -> Plan:
    """What the boards of these requests lack together, as a plan without fills."""
    asked = normalize_requests(rack, requests)
    return Plan(asked[0], (), batch_shortfall(rack, glue_ups_for(asked), on_hold), asked[1:])


def _best_plan(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> Plan | None:
    plan: Plan | None = None
    for better in improving_plans(rack, requests):
        plan = better or plan
    return plan


def improving_plans(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> Iterator[Plan | None]:
    """Better and better plans for all boards together, without cautions; None where a while was spent in vain.

    Stop whenever one is good enough. A preference that has no fill yet is left out.
    """
    asked = normalize_requests(rack, requests)
    glue_ups = glue_ups_for(asked)
    volume = sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in asked)
    found: dict[Preference, list[Fill]] = {}
    for preference, item_classes in _by_preference(rack, asked[0]):
        if len(glue_ups) == 1:
            alone = _fills(glue_ups[0].request, preference, parts_of(glue_ups[0].request), item_classes)
            found[preference] = [replace(each, board_volume=volume, glue_ups=glue_ups) for each in alone]
            yield _plan_of(asked, found)
            continue
        for answer in improving_batches(glue_ups, preference, item_classes):
            if answer is not None:
                found[preference] = [to_fill(glue_ups, preference, answer, volume)]
            yield None if answer is None else _plan_of(asked, found)
    missing = [each for each in asked[0].prefer if each not in found]
    if found and missing:
        # What fills the boards in one order fills them in another, if not as well.
        cuts = next(iter(found.values()))[0].cuts
        for preference, item_classes in _by_preference(rack, replace(asked[0], prefer=tuple(missing))):
            some = BatchSolution(cuts, cost_lower_bound(pool_parts(glue_ups), item_classes, preference), False)
            found[preference] = [to_fill(glue_ups, preference, some, volume)]
        yield _plan_of(asked, {each: found[each] for each in asked[0].prefer})


def normalize_requests(rack: Sequence[Offcut], requests: Sequence[BoardRequest]) -> tuple[BoardRequest, ...]:
    """The requests with the preferences, allowances and day of the first, every row depth chosen.

    A row depth that was not asked for is the largest with which the rack fills one such board.
    """
    first = requests[0]
    alike = (replace(each, prefer=first.prefer, allowances=first.allowances, on=first.on) for each in requests)
    return tuple(_with_row_depth(rack, each) if each.grain is Grain.END else each for each in alike)


def _with_row_depth(rack: Sequence[Offcut], request: BoardRequest) -> BoardRequest:
    if request.panel.row_depth is not None:
        return request
    plan = _deepest_feasible(rack, replace(request, count=1, prefer=request.prefer[:1], fills=1), none_on_hold)
    return replace(request, panel=plan.request.panel)


def _plan_of(asked: tuple[BoardRequest, ...], found: dict[Preference, list[Fill]]) -> Plan | None:
    fills = tuple(fill for fills in found.values() for fill in fills)
    return Plan(asked[0], fills, None, asked[1:]) if fills else None


def _make_fill(request: BoardRequest, preference: Preference, cuts: tuple[Cut, ...], bound: int, proven: bool) -> Fill:
    return Fill(
        prefer=preference,
        proven=proven,
        bound=bound,
        cuts=cuts,
        board_volume=volume_mm3(request.length, request.width, request.thickness),
        glue_ups=glue_ups_for([request]),
    )


def _deepest_feasible(rack: Sequence[Offcut], request: BoardRequest, on_hold: Callable[[], int]) -> Plan:
    """The plan of the largest row depth with which the rack fills an end-grain request.

    Where none does, the shortfall is that of the depth with which the least is missing.
    """
    with_depths = [with_depth(request, depth) for depth in candidate_depths(request)]
    if not with_depths:
        raise InvalidRequest(
            "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth.",
            "panel",
        )
    for each in with_depths:
        plan = _best_plan(rack, [each])
        if plan is not None:
            return plan
    nearest = min(
        with_depths, key=lambda each: sum(shortage.width for shortage in batch_shortages(rack, glue_ups_for([each])))
    )
    return Plan(nearest, (), panel_shortfall(rack, glue_ups_for([nearest]), on_hold()))


def _with_largest_sizes(plan: Plan, rack: Sequence[Offcut], request: BoardRequest) -> Plan:
    """A shortfall of panels tells the largest boards, not the largest panels."""
    if plan.shortfall is None:
        return plan

    eligible = [each for each in rack if request.accepts(each.species)]
    item_classes = group_offcuts(eligible, request.allowances, request.on, by_age=False)

    def fills(smaller: BoardRequest) -> bool:
        glue_ups = glue_ups_for([smaller])
        if len(glue_ups) == 1:
            return can_fill(glue_ups[0].request, item_classes)
        # The first try is quick, and a smaller board is only a proposal.
        return next(improving_batches(glue_ups, Preference.LEAST_WASTE, item_classes), None) is not None

    sizes = largest_sizes(rack, request, fills)
    cuts_made = replace(
        plan.shortfall,
        largest_width=sizes["width"],
        largest_length=sizes["length"],
        largest_thickness=sizes["thickness"],
    )
    return replace(plan, shortfall=cuts_made)


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
    answer = solve_jointly(problems, request.fills, fewest_items=counts_pieces_first(preference), limits=limits)
    return _to_fills(answer, request, preference, parts, item_classes)


def _to_fills(
    answer: JointSolutions,
    request: BoardRequest,
    preference: Preference,
    parts: tuple[Part, ...],
    item_classes: ItemClasses,
) -> list[Fill]:
    item_classes.members.load(row for joint in answer.joint_solutions for row, _ in joint.signature)
    return [
        _make_fill(request, preference, cuts_of(joint, parts, item_classes), bound, proven)
        for joint, bound, proven in zip(answer.joint_solutions, answer.lower_bounds, answer.proven, strict=True)
    ]


def cuts_of(joint: JointSolution, parts: tuple[Part, ...], item_classes: ItemClasses) -> tuple[Cut, ...]:
    """The cuts of all parts, part after part, the widest contribution first; each piece is named once."""
    pieces = {
        selection.row: item_classes.pieces(selection.row)
        for solution in joint.solutions
        for selection in solution.selections
    }
    cuts_made: list[Cut] = []
    for part, solution in zip(parts, joint.solutions, strict=True):
        here: list[tuple[Cut, ...]] = []
        for selection in solution.selections:
            offcut, piece = next(pieces[selection.row])
            closing = None if selection.continuous_width is None else Length(selection.continuous_width)
            cuts = part.construction.cuts(offcut, piece, selection.alternative, closing, part.glue_up)
            here.append(tuple(cut.for_band(band=part.demand.bands[0]) for cut in cuts))
        here.sort(
            key=lambda cuts: (cuts[-1].closing, -sum(cut.adds for cut in cuts), cuts[0].offcut.tag, cuts[0].piece)
        )
        cuts_made += [cut for cuts in here for cut in cuts]
    return tuple(cuts_made)
