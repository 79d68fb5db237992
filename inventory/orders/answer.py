"""The answer to an order of one or more boards: the fills of each preference, or the shortfall.

An order of one glue-up gets several fills a preference, each proven or bounded
(`solver.branch_and_bound`); an order of several gets one fill a preference (`orders.joint_fill`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from inventory.core.lengths import Length, volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.cutting.rack_table import RackTable, build_table
from inventory.fill.candidates import CandidateReduction, CandidateSet
from inventory.fill.demands import Part, counts_pieces_first, parts_of, problem_for
from inventory.fill.eligible_pieces import eligible_pieces
from inventory.fill.glue_ups import glue_ups_for, has_open_depth, with_depth, with_each_depth
from inventory.fill.item_classes import ItemClasses, group_table
from inventory.fill.plan import Fill, Plan, PlannedGlueUp, Shortfall
from inventory.fill.request import BoardRequest, Grain, Mix
from inventory.orders.feasibility import can_fill
from inventory.orders.joint_fill import MAX_SEQUENTIAL, OrderSolution, improving_batches, to_fill
from inventory.orders.largest_board import enough_panels, largest_sizes
from inventory.orders.one_species import OneSpeciesFills
from inventory.orders.row_depths import improving_over_depths, lower_bounds
from inventory.orders.shortfall import at_nearest_depth, order_shortfall
from inventory.orders.species_choices import species_choices
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
    eligible = eligible_pieces(table, *requests)
    plan = None if eligible.absent else best_plan(eligible.table, requests)
    return shortfall_plan(table, requests, on_hold=on_hold()) if plan is None else plan


def table_of(rack: Rack) -> RackTable:
    """The rack as a table."""
    return rack if isinstance(rack, RackTable) else build_table(rack)


def shortfall_plan(rack: Rack, requests: Sequence[BoardRequest], *, on_hold: int = 0) -> Plan:
    """What the boards of these requests lack together, with the largest sizes of the first of them alone.

    An end-grain board without a row depth is spoken of at the depth at which it alone lacks least.
    """
    table = table_of(rack)
    eligible = eligible_pieces(table, *requests)
    asked = tuple(at_nearest_depth(eligible.table, each) for each in _alike(requests))
    shortfall = order_shortfall(table, glue_ups_for(asked), on_hold)
    if asked[0].grain is Grain.END and not eligible.absent:
        shortfall = _with_what_could_be(shortfall, eligible.table, requests)
    return Plan(asked[0], (), shortfall, asked[1:])


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
    eligible = eligible_pieces(table_of(rack), *requests)
    return iter(()) if eligible.absent else _improving_plans(eligible.table, requests)


def _improving_plans(usable: RackTable, requests: Sequence[BoardRequest]) -> Iterator[Plan | None]:
    """As `improving_plans`, from the pieces that may serve."""
    asked = _alike(requests)
    if asked[0].mix is Mix.ONE:
        yield from _improving_plans_of_one_species(usable, asked)
        return
    search = _Search(usable, asked)
    found: dict[Preference, list[Fill]] = {}
    for preference in asked[0].prefer:
        for fills in search.improving_fills(preference):
            if fills:
                found[preference] = fills
            yield _plan_of(asked, found) if fills else None
    missing = [each for each in asked[0].prefer if each not in found]
    if found and missing:
        # What fills the boards in one order fills them in another, if not as well.
        [fill, *_] = next(iter(found.values()))
        for preference in missing:
            bound = search.lower_bound(preference)
            found[preference] = [replace(fill, prefer=preference, proven=False, bound=bound, row_depth_runner_up=None)]
        yield _plan_of(asked, {each: found[each] for each in asked[0].prefer})


def _alike(requests: Sequence[BoardRequest]) -> tuple[BoardRequest, ...]:
    """The requests with the preferences, allowances, eligible pieces, day and mix of the first."""
    first = requests[0]
    return tuple(
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


def _improving_plans_of_one_species(usable: RackTable, asked: tuple[BoardRequest, ...]) -> Iterator[Plan | None]:
    """As `_improving_plans`, where every pool and stripe of a board is of one species.

    Each choice of species is an order of its own. Boards of several may differ in species: where no choice fills all,
    they are filled one after another.
    """
    search = _Search(usable, asked)
    single = sum(each.count for each in asked) == 1
    found: dict[Preference, list[Fill]] = {}
    for preference in asked[0].prefer:
        # By the first preference a board of one pool names every other species that would do.
        names_others = search.one_glue_up and len(asked[0].demands()) == 1 and preference is asked[0].prefer[0]
        best = OneSpeciesFills(asked[0].on, search.wanted, names_others=names_others)
        choices = species_choices(asked, search.item_classes(preference), preference)
        for choice in islice(choices, MAX_SPECIES_CHOICES):
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
            best.open_bound = search.lower_bound(preference)
        fills = [_as_asked(fill, asked) for fill in best.result()]
        if fills:
            found[preference] = fills
            yield _plan_of(asked, found)


def _as_asked(fill: Fill, asked: Sequence[BoardRequest]) -> Fill:
    """The fill of a choice of species as one of the order itself, each glue-up with the bands that were asked for."""
    boards = [each for each in asked for _ in range(each.count)]
    glue_ups = (
        replace(each, request=replace(each.request, bands=boards[each.board].bands, mix=boards[each.board].mix))
        for each in fill.glue_ups
    )
    return replace(fill, glue_ups=tuple(glue_ups))


def _board_by_board(usable: RackTable, asked: Sequence[BoardRequest], preference: Preference) -> Plan | None:
    """Each board at its own optimum from the pieces left, each of one species; None where one is not filled."""
    if sum(each.count * each.panel.panels for each in asked) > MAX_SEQUENTIAL or asked[0].eligibility.required:
        return None
    left, used, cuts_made, glue_ups = usable, Counter[str](), list[Cut](), list[PlannedGlueUp]()
    for board, request in enumerate(each for each in asked for _ in range(each.count)):
        plan = best_plan(left, [replace(request, count=1, fills=1, prefer=(preference,))])
        if plan is None:
            return None
        [fill] = plan.fills
        for cut in fill.cuts:
            shares = tuple(replace(share, glue_up=share.glue_up + len(glue_ups)) for share in cut.assignments)
            cuts_made.append(replace(cut, piece=cut.piece + used[cut.offcut.tag], shares=shares))
        taken = Counter(tag for tag, _ in {(cut.offcut.tag, cut.piece) for cut in fill.cuts})
        used += taken
        left = left.without_pieces(taken)
        glue_ups += [replace(each, board=board) for each in fill.glue_ups]
    together = Fill(preference, False, 0, tuple(cuts_made), _volume(asked), tuple(glue_ups))
    return Plan(asked[0], (together,), None, tuple(asked[1:]))


class _Search:
    """The fills of one order, preference after preference; what is computed for one is used for the next."""

    def __init__(self, usable: RackTable, asked: tuple[BoardRequest, ...]) -> None:
        self._usable = usable
        self._asked = asked
        self._reductions: dict[BoardRequest, CandidateReduction] = {}
        self._item_classes: dict[bool, ItemClasses] = {}
        self._bounds: dict[int, dict[Length | None, dict[Preference, int]]] = {}
        first = asked[0]
        self.one_glue_up = len(asked) == first.count == 1 and (first.grain is not Grain.END or first.panel.panels == 1)
        # Several glue-ups have one fill at each depth, and no proof of which is second best.
        self.wanted = first.fills if self.one_glue_up else 1

    def item_classes(self, preference: Preference) -> ItemClasses:
        """The item classes that this preference distinguishes."""
        by_age = preference is Preference.OLDEST_FIRST
        if by_age not in self._item_classes:
            first = self._asked[0]
            self._item_classes[by_age] = group_table(self._usable, first.allowances, first.on, by_age=by_age)
        return self._item_classes[by_age]

    def lower_bound(self, preference: Preference) -> int:
        """A lower bound of the first cost of the order, each request alone and of mixed species, at any row depth."""
        return sum(
            min((bounds[preference] for bounds in self._bounds_of(number).values()), default=0)
            for number in range(len(self._asked))
        )

    def _bounds_of(self, number: int) -> dict[Length | None, dict[Preference, int]]:
        """By row depth that may be feasible, the lower bounds of the first costs of this request."""
        if number not in self._bounds:
            each_depth = {
                each.panel.row_depth: lower_bounds(self._usable, glue_ups_for([each]), each.prefer)
                for each in with_each_depth(self._asked[number])
            }
            self._bounds[number] = {depth: bounds for depth, bounds in each_depth.items() if bounds is not None}
        return self._bounds[number]

    def improving_fills(self, preference: Preference) -> Iterator[list[Fill] | None]:
        """Better and better fills of all boards; none where that is infeasible, None after work that brought nothing.

        A row depth that was not asked for is the best one; of boards of several requests, the best of that board alone.
        """
        first = self._asked[0]
        if len(self._asked) > 1 or not has_open_depth(first):
            at_best = tuple(_at_best_depth(self._usable, each, preference) for each in self._asked)
            return self._fills_at_depths(at_best, preference)
        bounds = {depth: each[preference] for depth, each in self._bounds_of(0).items() if depth is not None}
        return improving_over_depths(
            bounds,
            lambda depth: self._fills_at_depths((with_depth(first, depth),), preference),
            self.wanted,
            first.on,
        )

    def _fills_at_depths(self, asked: tuple[BoardRequest, ...], preference: Preference) -> Iterator[list[Fill] | None]:
        """As `improving_fills`, every row depth being chosen."""
        glue_ups = glue_ups_for(asked)
        if len(glue_ups) == 1:
            yield self._fills_of_one(glue_ups, preference)
            return
        for solution in improving_batches(glue_ups, preference, self.item_classes(preference)):
            yield None if solution is None else [to_fill(glue_ups, preference, solution, _volume(asked))]

    def _fills_of_one(self, glue_ups: tuple[PlannedGlueUp, ...], preference: Preference) -> list[Fill]:
        request = glue_ups[0].request
        parts = parts_of(request)
        if request not in self._reductions:
            self._reductions[request] = CandidateReduction(self._usable, request, parts)
        candidates = self._reductions[request].reduced(preference)
        answer = _solve(request, preference, parts, candidates)
        item_classes = candidates.item_classes
        item_classes.members.load(row for joint in answer.joint_solutions for row, _ in joint.signature)
        solutions = (
            OrderSolution(cuts_of(joint, parts, item_classes), bound, proven)
            for joint, bound, proven in zip(answer.joint_solutions, answer.lower_bounds, answer.proven, strict=True)
        )
        return [to_fill(glue_ups, preference, solution, _volume(self._asked)) for solution in solutions]


def _at_best_depth(usable: RackTable, request: BoardRequest, preference: Preference) -> BoardRequest:
    """The request with the row depth that is best for one such board alone, if it asks for none."""
    if not has_open_depth(request):
        return request
    alone = best_plan(usable, [replace(request, count=1, prefer=(preference,), fills=1)])
    depth = None if alone is None else alone.fills[0].row_depth
    return at_nearest_depth(usable, request) if depth is None else with_depth(request, depth)


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


def _plan_of(asked: tuple[BoardRequest, ...], found: dict[Preference, list[Fill]]) -> Plan | None:
    fills = tuple(fill for fills in found.values() for fill in fills)
    return Plan(asked[0], fills, None, asked[1:]) if fills else None


def _with_what_could_be(shortfall: Shortfall, usable: RackTable, requests: Sequence[BoardRequest]) -> Shortfall:
    """The shortfall of an end-grain board with the largest boards, and from how many panels it could be made."""
    first = requests[0]
    item_classes = group_table(usable, first.allowances, first.on, by_age=False)

    def fills(smaller: BoardRequest) -> bool:
        return can_fill(glue_ups_for([smaller]), item_classes)

    sizes = largest_sizes(item_classes, replace(first, count=1), fills)
    return replace(
        shortfall,
        largest_width=sizes["width"],
        largest_length=sizes["length"],
        largest_thickness=sizes["thickness"],
        panels=enough_panels(item_classes, first, fills) if len(requests) == 1 else None,
    )


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
            width = None if selection.continuous_width is None else Length(selection.continuous_width)
            cuts = part.construction.cuts(offcut, piece, selection.alternative, width, part.glue_up)
            here.append(tuple(cut.for_band(band=part.demand.bands[0]) for cut in cuts))
        here.sort(key=lambda cuts: (cuts[-1].part, -sum(cut.adds for cut in cuts), cuts[0].offcut.tag, cuts[0].piece))
        cuts_made += [cut for cuts in here for cut in cuts]
    return tuple(cuts_made)
