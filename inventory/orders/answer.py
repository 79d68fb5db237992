"""The answer to an order of one or more boards: the fills of each preference, or the shortfall.

An order of one glue-up gets several fills a preference, each proven or bounded
(`solver.branch_and_bound`); an order of several gets one fill a preference (`orders.joint_fill`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from itertools import islice

from inventory.core.lengths import Length, volume_mm3
from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.cutting.rack_table import RackTable, build_table
from inventory.fill.candidates import CandidateReduction, CandidateSet
from inventory.fill.certainty import costs_of, primary_cost
from inventory.fill.demands import Part, counts_pieces_first, parts_of, problem_for
from inventory.fill.eligible_pieces import EligiblePieces, eligible_pieces
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.item_classes import ItemClasses, group_table
from inventory.fill.plan import Fill, OtherSpecies, Plan, PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain, InvalidRequest, Mix
from inventory.orders.feasibility import can_fill
from inventory.orders.joint_fill import MAX_SEQUENTIAL, OrderSolution, cost_lower_bound, improving_batches, to_fill
from inventory.orders.largest_board import largest_sizes
from inventory.orders.shortfall import batch_shortages, order_shortfall
from inventory.orders.species_choices import SpeciesChoice, species_choices
from inventory.orders.strip_inventory import pool_parts
from inventory.solver.branch_and_bound import JointSolution, JointSolutions, combine_independent, solve_jointly

Rack = Sequence[Offcut] | RackTable

MAX_SPECIES_CHOICES = 200
"""So many choices of species are searched where each board is of one."""


def none_on_hold() -> int:
    """Nothing on the rack is reserved."""
    return 0


def fill_rack(rack: Rack, request: BoardRequest, *, on_hold: Callable[[], int] = none_on_hold) -> Plan:
    """The best fills of one request: `fill_order` for an order of it alone."""
    return fill_order(rack, [request], on_hold=on_hold)


def fill_order(rack: Rack, requests: Sequence[BoardRequest], *, on_hold: Callable[[], int] = none_on_hold) -> Plan:
    """The best fills of all boards of these requests together, or a plan with a shortfall.

    Preferences, allowances and day are the first request's. An order of one glue-up has up to
    `fills` fills a preference, any other order one. The first fill of each preference is optimal
    in its order and says so (`proven`); where that can't be proven, `bound` limits how far off it is.
    `on_hold` counts the reserved pieces of the rack; it is only called for a shortfall.
    """
    table = table_of(rack)
    eligible = eligible_pieces(table, requests[0])
    if len(requests) == 1 and requests[0].grain is Grain.END:
        end_grain = _deepest_feasible(eligible.table, requests[0])
        if end_grain.fills and not eligible.absent:
            return end_grain
        shortfall = order_shortfall(table, glue_ups_for([end_grain.request]), on_hold())
        return _with_largest_sizes(replace(end_grain, fills=(), shortfall=shortfall), eligible, requests[0])
    plan = None if eligible.absent else best_plan(eligible.table, requests)
    return shortfall_plan(table, requests, on_hold=on_hold()) if plan is None else plan


def table_of(rack: Rack) -> RackTable:
    """The rack as a table."""
    return rack if isinstance(rack, RackTable) else build_table(rack)


def shortfall_plan(rack: Rack, requests: Sequence[BoardRequest], *, on_hold: int = 0) -> Plan:
    """What the boards of these requests lack together, with the largest sizes of the first of them alone."""
    table = table_of(rack)
    eligible = eligible_pieces(table, requests[0])
    asked = _normalize_requests(eligible.table, requests)
    plan = Plan(asked[0], (), order_shortfall(table, glue_ups_for(asked), on_hold), asked[1:])
    if asked[0].grain is not Grain.END:
        return plan
    return _with_largest_sizes(plan, eligible, replace(requests[0], count=1))


def best_plan(usable: RackTable, requests: Sequence[BoardRequest]) -> Plan | None:
    """The best fills from the pieces that may serve, without cautions; None where the rack falls short."""
    plan: Plan | None = None
    for better in _improving_plans(usable, requests):
        plan = better or plan
    return plan


def improving_plans(rack: Rack, requests: Sequence[BoardRequest]) -> Iterator[Plan | None]:
    """Better and better plans for an order, without cautions; None after work that brought nothing better.

    The caller may stop at any plan. A preference without a fill so far is left out.
    """
    eligible = eligible_pieces(table_of(rack), requests[0])
    return iter(()) if eligible.absent else _improving_plans(eligible.table, requests)


def _improving_plans(usable: RackTable, requests: Sequence[BoardRequest]) -> Iterator[Plan | None]:
    """As `improving_plans`, from the pieces that may serve."""
    asked = _normalize_requests(usable, requests)
    if asked[0].mix is Mix.ONE:
        yield from _improving_plans_of_one_species(usable, asked)
        return
    glue_ups = glue_ups_for(asked)
    found: dict[Preference, list[Fill]] = {}
    if len(glue_ups) == 1:
        for preference, fills in _fills_of_one(usable, glue_ups, asked):
            found[preference] = fills
            yield _plan_of(asked, found)
        return
    for preference, item_classes in _by_preference(usable, asked[0]):
        for solution in improving_batches(glue_ups, preference, item_classes):
            if solution is not None:
                found[preference] = [to_fill(glue_ups, preference, solution, _volume(asked))]
            yield None if solution is None else _plan_of(asked, found)
    missing = [each for each in asked[0].prefer if each not in found]
    if found and missing:
        # What fills the boards in one order fills them in another, if not as well.
        cuts = next(iter(found.values()))[0].cuts
        for preference, item_classes in _by_preference(usable, replace(asked[0], prefer=tuple(missing))):
            some = OrderSolution(cuts, cost_lower_bound(pool_parts(glue_ups), item_classes, preference), False)
            found[preference] = [to_fill(glue_ups, preference, some, _volume(asked))]
        yield _plan_of(asked, {each: found[each] for each in asked[0].prefer})


def _improving_plans_of_one_species(usable: RackTable, asked: tuple[BoardRequest, ...]) -> Iterator[Plan | None]:
    """As `_improving_plans`, where every pool and stripe of a board is of one species.

    Each choice of species is an order of its own. Boards of several may differ in species: where no choice fills all,
    they are filled one after another.
    """
    glue_ups = glue_ups_for(asked)
    single = sum(each.count for each in asked) == 1
    wanted = asked[0].fills if len(glue_ups) == 1 else 1
    found: dict[Preference, list[Fill]] = {}
    for preference, item_classes in _by_preference(usable, asked[0]):
        # By the first preference a board of one pool names every other species that would do.
        names_others = len(glue_ups) == len(asked[0].demands()) == 1 and preference is asked[0].prefer[0]
        best = _OneSpeciesFills(asked[0].on, wanted, names_others=names_others)
        for choice in islice(species_choices(asked, item_classes, preference), MAX_SPECIES_CHOICES):
            beyond = best.is_beyond(choice.bound)
            if beyond and not names_others:
                best.open_bound = choice.bound
                break
            many = 1 if beyond else asked[0].fills
            narrowed = [replace(each, prefer=(preference,), fills=many) for each in choice.requests]
            plan: Plan | None = None
            for better in _improving_plans(usable, narrowed) if narrowed else ():
                plan = better or plan
                yield None
            best.add(choice, plan)
        if not single:
            if not best.fills and (plan := _board_by_board(usable, asked, preference)) is not None:
                best.add(None, plan)
            # Boards of different species may cost less: only the bound for mixed species holds for them too.
            best.open_bound = cost_lower_bound(pool_parts(glue_ups), item_classes, preference)
        fills = [replace(fill, glue_ups=glue_ups) for fill in best.result()]
        if fills:
            found[preference] = fills
            yield _plan_of(asked, found)


class _OneSpeciesFills:
    """The best fills of one preference over several choices of species."""

    def __init__(self, on: date, wanted: int, *, names_others: bool) -> None:
        self._on, self._wanted, self._names_others = on, wanted, names_others
        self.fills: list[Fill] = []
        self.open_bound: int | None = None
        """A lower bound of all that was not searched, None where that is nothing."""
        self._others: list[OtherSpecies] = []
        self._bounds: list[int] = []
        self._proven = True

    def is_beyond(self, bound: int) -> bool:
        """Whether nothing that costs at least so much is among the fills wanted."""
        return len(self.fills) >= self._wanted and bound > primary_cost(self.fills[self._wanted - 1], self._on)

    def add(self, choice: SpeciesChoice | None, plan: Plan | None) -> None:
        """Adds the fills of a choice; without its requests it was not searched."""
        if choice is not None and not choice.requests:
            self.open_bound = choice.bound if self.open_bound is None else min(self.open_bound, choice.bound)
        if plan is None:
            return
        self._proven &= all(fill.proven for fill in plan.fills)
        self._bounds.append(plan.fills[0].bound)
        best = plan.fills[0]
        if self._names_others and best.species_of_cuts is not None:
            name = best.cuts[0].offcut.species
            self._others.append(OtherSpecies(name, primary_cost(best, self._on), best.yield_share))
        taken = [{(cut.offcut.tag, cut.piece) for cut in fill.cuts} for fill in self.fills]
        self.fills += [fill for fill in plan.fills if {(cut.offcut.tag, cut.piece) for cut in fill.cuts} not in taken]
        self.fills.sort(key=lambda fill: costs_of(fill, self._on))

    def result(self) -> list[Fill]:
        """The best fills, each as proven as the searches of all choices allow."""
        bound = min([*self._bounds, *([] if self.open_bound is None else [self.open_bound])], default=0)
        fills: list[Fill] = []
        for fill in self.fills[: self._wanted]:
            cost = primary_cost(fill, self._on)
            closed = self.open_bound is None or cost < self.open_bound
            proven = self._proven and closed
            others = () if fills else tuple(sorted(self._others, key=lambda each: each.cost))
            fills.append(
                replace(
                    fill,
                    proven=proven,
                    bound=cost if proven else min(bound, cost),
                    other_species=tuple(each for each in others if species_key(each.species) != fill.species_of_cuts),
                )
            )
        return fills


def _board_by_board(usable: RackTable, asked: Sequence[BoardRequest], preference: Preference) -> Plan | None:
    """Each board at its own optimum from the pieces left, each of one species; None where one is not filled."""
    glue_ups = glue_ups_for(asked)
    if len(glue_ups) > MAX_SEQUENTIAL or asked[0].eligibility.required:
        return None
    left, used, cuts_made = usable, Counter[str](), list[Cut]()
    first = 0
    for request in asked:
        for _ in range(request.count):
            one = replace(request, count=1, fills=1, prefer=(preference,))
            plan = best_plan(left, [one])
            if plan is None:
                return None
            for cut in plan.fills[0].cuts:
                shares = tuple(replace(share, glue_up=share.glue_up + first) for share in cut.assignments)
                cuts_made.append(replace(cut, piece=cut.piece + used[cut.offcut.tag], shares=shares))
            taken = Counter(tag for tag, _ in {(cut.offcut.tag, cut.piece) for cut in plan.fills[0].cuts})
            used += taken
            left = left.without_pieces(taken)
            first += len(plan.fills[0].glue_ups)
    fill = Fill(preference, False, 0, tuple(cuts_made), _volume(asked), glue_ups)
    return Plan(asked[0], (fill,), None, tuple(asked[1:]))


def _fills_of_one(
    usable: RackTable, glue_ups: tuple[PlannedGlueUp, ...], asked: Sequence[BoardRequest]
) -> Iterator[tuple[Preference, list[Fill]]]:
    """The fills of an order of one glue-up, preference after preference."""
    request = glue_ups[0].request
    parts = parts_of(request)
    reduction = CandidateReduction(usable, request, parts)
    for preference in request.prefer:
        candidates = reduction.reduced(preference)
        answer = _solve(request, preference, parts, candidates)
        item_classes = candidates.item_classes
        item_classes.members.load(row for joint in answer.joint_solutions for row, _ in joint.signature)
        solutions = (
            OrderSolution(cuts_of(joint, parts, item_classes), bound, proven)
            for joint, bound, proven in zip(answer.joint_solutions, answer.lower_bounds, answer.proven, strict=True)
        )
        yield preference, [to_fill(glue_ups, preference, solution, _volume(asked)) for solution in solutions]


def _solve(
    request: BoardRequest, preference: Preference, parts: tuple[Part, ...], candidates: CandidateSet
) -> JointSolutions:
    if candidates.solutions:
        return combine_independent(candidates.solutions, request.fills)
    problems = [problem_for(part, candidates.item_classes, preference) for part in parts]
    return solve_jointly(
        problems,
        request.fills,
        fewest_items=counts_pieces_first(preference),
        limits=candidates.limits,
        mandatory=candidates.item_classes.required_rows,
    )


def _volume(asked: Sequence[BoardRequest]) -> int:
    """The volume of all boards asked for, in mm³."""
    return sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in asked)


def _normalize_requests(usable: RackTable, requests: Sequence[BoardRequest]) -> tuple[BoardRequest, ...]:
    """The requests with the preferences, allowances, eligible pieces and day of the first, every row depth chosen.

    An open row depth becomes the largest with which the rack fills one such board.
    """
    first = requests[0]
    alike = (
        replace(
            each,
            prefer=first.prefer,
            allowances=first.allowances,
            on=first.on,
            eligibility=first.eligibility,
            mix=first.mix,
        )
        for each in requests
    )
    return tuple(_with_row_depth(usable, each) if each.grain is Grain.END else each for each in alike)


def _with_row_depth(usable: RackTable, request: BoardRequest) -> BoardRequest:
    if request.panel.row_depth is not None:
        return request
    plan = _deepest_feasible(usable, replace(request, count=1, prefer=request.prefer[:1], fills=1))
    return replace(request, panel=plan.request.panel)


def _plan_of(asked: tuple[BoardRequest, ...], found: dict[Preference, list[Fill]]) -> Plan | None:
    fills = tuple(fill for fills in found.values() for fill in fills)
    return Plan(asked[0], fills, None, asked[1:]) if fills else None


def _deepest_feasible(usable: RackTable, request: BoardRequest) -> Plan:
    """The plan of the largest row depth with which the rack fills an end-grain request.

    Where none does, a plan without fills for the depth at which the least is missing.
    """
    with_depths = [with_depth(request, depth) for depth in candidate_depths(request)]
    if not with_depths:
        raise InvalidRequest(
            "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth.",
            "panel",
        )
    for each in with_depths:
        plan = best_plan(usable, [each])
        if plan is not None:
            return plan
    nearest = min(
        with_depths, key=lambda each: sum(shortage.width for shortage in batch_shortages(usable, glue_ups_for([each])))
    )
    return Plan(nearest, ())


def _with_largest_sizes(plan: Plan, eligible: EligiblePieces, request: BoardRequest) -> Plan:
    """The plan with the largest boards in its shortfall: those of the panels are not asked for."""
    if plan.shortfall is None or eligible.absent:
        return plan
    item_classes = group_table(eligible.table, request.allowances, request.on, by_age=False)
    sizes = largest_sizes(item_classes, request, lambda smaller: can_fill(glue_ups_for([smaller]), item_classes))
    shortfall = replace(
        plan.shortfall,
        largest_width=sizes["width"],
        largest_length=sizes["length"],
        largest_thickness=sizes["thickness"],
    )
    return replace(plan, shortfall=shortfall)


def _by_preference(usable: RackTable, request: BoardRequest) -> Iterator[tuple[Preference, ItemClasses]]:
    """Each preference asked for, with the item classes that it distinguishes."""
    by_age: dict[bool, ItemClasses] = {}
    for preference in request.prefer:
        apart = preference is Preference.OLDEST_FIRST
        if apart not in by_age:
            by_age[apart] = group_table(usable, request.allowances, request.on, by_age=apart)
        yield preference, by_age[apart]


def cuts_of(joint: JointSolution, parts: tuple[Part, ...], item_classes: ItemClasses) -> tuple[Cut, ...]:
    """The cuts of all parts, part after part, the widest contribution first; each piece is used once."""
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
