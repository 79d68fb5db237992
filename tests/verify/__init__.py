"""Whether a plan is right: every fill recomputed from the cutting model alone (sections 3 to 10).

An independent checker: it shares no code with `inventory.cutting` or the search, so that
each checks the other. Lengths are whole nanometers, volumes whole mm³, areas whole mm².

Where the model leaves room, this is the reading: an offcut without a day, or
tagged after the day of the request, has been 0 days on the rack. `asked`, `glue_ups`,
`piece` and `shortfall` have theirs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from inventory.core.lengths import Length, mm_text
from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, StripShare
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest, Mix
from tests.verify.asked import BandRequirement, requirements_of
from tests.verify.eligible import barred, plain
from tests.verify.glue_ups import ExpectedGlueUp, all_glue_ups, wrong_glue_ups, wrong_row_depths
from tests.verify.piece import Box, ExpectedCut, PieceCost, expected_result, parts_of_a_length
from tests.verify.shortfall import shortfall_faults

__all__ = ["faults"]

Piece = tuple[Offcut, int]
"""An offcut and which of its identical pieces."""

Place = tuple[int, int]
"""A glue-up's number and a band of it."""


class Totals(NamedTuple):
    """What a fill costs by section 9; `weighted` is the worth lost, weighted by age."""

    loss: int
    pieces: int
    worth_lost: int
    milling: int
    milling_area: int
    weighted: int


def faults(plan: Plan, rack: Sequence[Offcut]) -> list[str]:
    """Every way in which the plan is wrong, one sentence each; an empty list if it is right.

    `rack` is what the search was given, each offcut with its free count. That no better fill
    exists can't be checked from the plan alone; that no fill of the plan beats a proven one is checked.
    """
    found = list(_asked_for(plan))
    if plan.shortfall is not None:
        found += shortfall_faults(plan.request, plan.shortfall, rack, plan.other_requests)
    totals: list[Totals | None] = []
    for place, fill in enumerate(plan.fills, 1):
        piece_costs, wrong = _recomputed(plan, fill, rack)
        if piece_costs is not None:
            wrong += _wrong_totals(plan, fill, piece_costs)
        totals.append(None if piece_costs is None or wrong else _totals(piece_costs, plan.request))
        found += [f"Fill {place} ({fill.prefer.value}): {sentence}" for sentence in wrong]
    return found + list(_ranking(plan, totals))


def _asked_for(plan: Plan) -> Iterator[str]:
    if plan.fills and plan.shortfall is not None:
        yield "The plan has fills and says that the rack falls short."
    if not plan.fills and plan.shortfall is None:
        yield "The plan has no fill and does not say what is missing."
    groups = [fill.prefer for fill in plan.fills]
    order = list(dict.fromkeys(groups))
    if plan.fills and order != list(dict.fromkeys(plan.request.prefer)):
        stated, asked = (", ".join(each.value for each in these) for these in (order, plan.request.prefer))
        yield f"The fills are for {stated}; asked for were {asked}."
    elif sorted(groups, key=order.index) != groups:
        yield "The fills of one preference do not stand together."
    for prefer, many in Counter(groups).items():
        if many > plan.request.fills:
            yield f"There are {many} fills for {prefer.value}; {plan.request.fills} were asked for."


# --- one fill ------------------------------------------------------------------------------------


def _recomputed(plan: Plan, fill: Fill, rack: Sequence[Offcut]) -> tuple[dict[Piece, PieceCost] | None, list[str]]:
    """What each piece costs by the model, None where one can't be computed, with all that is wrong."""
    made = all_glue_ups(plan.requests, fill)
    wrong = [*_off_the_rack(fill, rack), *wrong_glue_ups(made, fill.glue_ups), *wrong_row_depths(plan.requests, fill)]
    by_piece: dict[Piece, list[Cut]] = {}
    for cut in fill.cuts:
        by_piece.setdefault((cut.offcut, cut.piece), []).append(cut)
    filled: Counter[Place] = Counter()
    piece_costs: dict[Piece, PieceCost] = {}
    for (offcut, piece), cuts in by_piece.items():
        who = f"{_name(offcut)} piece {piece}" if offcut.count > 1 else _name(offcut)
        answer = _of_a_piece(fill, made, offcut, cuts)
        if isinstance(answer, str):
            wrong.append(f"{who} {answer}.")
            continue
        piece_costs[offcut, piece], expected_cuts, requirement = answer
        reason = barred(plan.request, offcut)
        if reason is not None:
            wrong.append(f"{who} is {reason}, so it can't serve.")
        if not requirement.accepts(plan.request, offcut):
            wrong.append(f'{who} is of "{offcut.species}", which was not asked for in band {requirement.band}.')
        for cut, model in zip(cuts, expected_cuts, strict=True):
            wrong += [f"{who} {sentence}" for sentence in _unlike(cut, model, piece_costs[offcut, piece], len(cuts))]
            wrong += [f"{who} {sentence}" for sentence in _misshared(cut, model)]
            whole = (StripShare(0, model.strips, Length(model.adds)),)
            for share in cut.shares or whole:
                filled[share.glue_up, requirement.band] += min(share.adds, model.adds_of(share.strips)[1])
    taken = {plain(offcut.tag) for offcut, _ in by_piece}
    wrong += [
        f"{tag} is named under with and gives no strip."
        for tag in plan.request.eligibility.required
        if plain(tag) not in taken
    ]
    if len(piece_costs) < len(by_piece):
        return None, wrong
    wrong += _mixed(fill, plan.request)
    return piece_costs, wrong + list(_unfilled(fill, made, filled))


def _of_a_piece(
    fill: Fill, made: Sequence[ExpectedGlueUp], offcut: Offcut, cuts: Sequence[Cut]
) -> tuple[PieceCost, list[ExpectedCut], BandRequirement] | str:
    """What one piece costs and what each of its cuts must say, or why they can't be."""
    served = {share.glue_up for cut in cuts for share in shares_of(cut)}
    if any(not 0 <= number < len(made) for number in served) or any(cut.board for cut in cuts):
        return "is cut for a board that was not asked for"
    if len({cut.band for cut in cuts}) > 1:
        return "serves two bands"
    asked = {
        number: {requirement.band: requirement for requirement in requirements_of(made[number].made)}.get(cuts[0].band)
        for number in served
    }
    if None in asked.values():
        return "is cut for a band that was not asked for"
    if len({_of_strips(made[number].made, requirement) for number, requirement in asked.items() if requirement}) != 1:
        return "is cut for glue-ups of different sizes"
    partly = [share.glue_up for cut in cuts if cut.part for share in shares_of(cut)]
    number = partly[0] if partly else min(served)
    request, requirement = made[number].made, asked[number]
    if requirement is None:
        return "is cut for a band that was not asked for"
    answer = expected_result(
        request, requirement, offcut, cuts, _missing(request, fill, requirement, partly[0]) if partly else 0
    )
    return answer if isinstance(answer, str) else (*answer, requirement)


def _of_strips(request: BoardRequest, requirement: BandRequirement) -> tuple[object, ...]:
    """Alike for glue-ups that the same strips serve: of any width, the same band of the same species."""
    return (request.length, request.thickness, request.grain, request.allowances, requirement.species, requirement.each)


def _off_the_rack(fill: Fill, rack: Sequence[Offcut]) -> Iterator[str]:
    there = Counter[Offcut]()
    for offcut in rack:
        there[offcut] += offcut.count
    taken = {(cut.offcut, cut.piece) for cut in fill.cuts}
    for offcut, many in Counter(offcut for offcut, _ in taken).items():
        if offcut not in there:
            yield f"{_name(offcut)} is not on the rack."
        elif many > there[offcut]:
            yield f"{_name(offcut)} is used {many} times; its tag stands for {there[offcut]}."
    for offcut, piece in sorted(taken, key=lambda one: one[1]):
        if offcut in there and not 1 <= piece <= there[offcut]:
            yield f"{_name(offcut)} has no piece {piece}; its tag stands for {there[offcut]}."


def _missing(request: BoardRequest, fill: Fill, requirement: BandRequirement, glue_up: int) -> int:
    """d of section 5: what the whole lengths of a face-grain pool leave open in one glue-up."""
    there = 0
    for cut in fill.cuts:
        parts = parts_of_a_length(request, cut.offcut.width)
        if cut.band == requirement.band and not cut.part and parts is not None:
            k, g = parts
            for share in shares_of(cut):
                here = share.glue_up == glue_up
                there += here * (min(share.adds, share.strips * g // k) if cut.shares else cut.lengths_cut * g)
    return requirement.width - there


def shares_of(cut: Cut) -> tuple[StripShare, ...]:
    """Which strips go to which glue-up: all to the only one, where nothing else is stated."""
    return cut.shares or (StripShare(0, cut.strips if cut.leaves is None else cut.leaves, cut.adds),)


def _misshared(cut: Cut, model: ExpectedCut) -> Iterator[str]:
    """Where strips are shared that are not there; one that no glue-up needs may be left over."""
    shared = sum(share.strips for share in cut.shares)
    if shared > model.strips or any(share.strips < 1 for share in cut.shares):
        yield f"shares out {shared} strips of {model.strips}."
        return
    for share in cut.shares:
        least, most = model.adds_of(share.strips)
        if not least <= share.adds <= most:
            yield (
                f"says that {share.strips} strips add {_mm(share.adds)} to glue-up {share.glue_up}; "
                f"by the model it is {_mm(most)}."
            )


def _unlike(cut: Cut, model: ExpectedCut, cost: PieceCost, cuts_of_piece: int) -> Iterator[str]:
    """Where a cut says something else than the model. Of two cuts that of the part carries the costs."""
    carries = cuts_of_piece == 1 or cut.part
    stated: list[tuple[str, object, object]] = [
        ("lengths cut", cut.lengths_cut, model.lengths_cut),
        ("rips", cut.rips, model.rips),
        ("leaves", cut.leaves, model.leaves),
        ("strip width", _mm(cut.strip_width), _mm(model.strip_width)),
        ("width added", _mm(cut.adds), _mm(model.adds)),
        ("loss", cut.loss, cost.loss if carries else 0),
        ("worth lost", cut.worth_lost, cost.worth_lost if carries else 0),
        ("milling", cut.milling, cost.milling if carries else 0),
        ("dirty area", cut.milling_area, cost.milling_area if carries else 0),
    ]
    for what, said, right in stated:
        if said != right:
            yield f"says {what} {said}; by the model it is {right}."
    left = Counter[Box]((each.length, each.width, each.thickness, each.kept) for each in cut.leftovers)
    should = Counter[Box](cost.leftovers if carries else ())
    for box in left - should:
        yield f"states a leftover {_box(box)}, which the model does not have."
    for box in should - left:
        yield f"does not state the leftover {_box(box)}."


def _mixed(fill: Fill, request: BoardRequest) -> Iterator[str]:
    """Pools and stripes of a board of more than one species, where each is to be of one (section 7)."""
    if request.mix is Mix.FREE:
        return
    woods: dict[tuple[int, int], set[str]] = {}
    for cut in fill.cuts:
        for share in shares_of(cut):
            board = fill.glue_ups[share.glue_up].board
            woods.setdefault((board, cut.band), set()).add(species_key(cut.offcut.species))
    for (board, band), names in sorted(woods.items()):
        if len(names) > 1:
            yield f"band {band} of board {board} is of {' and '.join(sorted(names))}; one species was asked for."


def _unfilled(fill: Fill, made: Sequence[ExpectedGlueUp], filled: Counter[Place]) -> Iterator[str]:
    for number, glue_up in enumerate(made):
        asked = requirements_of(glue_up.made)
        for requirement in asked:
            which = "the glue-up" if len(made) == 1 else f"glue-up {number}"
            which += f"'s band {requirement.band}" if len(asked) > 1 else ""
            there = filled[number, requirement.band]
            if there < requirement.width:
                yield f"{which} is {_mm(requirement.width - there)} too narrow."
            if requirement.is_stripe and there > requirement.width:
                yield f"{which} has {there // requirement.each} strips; {requirement.strips} were asked for."
            partly = [cut for cut in fill.cuts if cut.part and cut.band == requirement.band]
            here = sum(share.glue_up == number for cut in partly for share in shares_of(cut))
            if here > 1:
                yield f"{which} has {here} parts of lengths; at most one is possible."


# --- what a fill costs (section 9) ---------------------------------------------------------------


def _weight(request: BoardRequest, offcut: Offcut) -> int:
    days = 0 if offcut.tagged_on is None else max(0, (request.on - offcut.tagged_on).days)
    return 1000 - 750 * min(days, 730) // 730


def _totals(piece_costs: dict[Piece, PieceCost], request: BoardRequest) -> Totals:
    costs = piece_costs.values()
    return Totals(
        loss=sum(cost.loss for cost in costs),
        pieces=len(piece_costs),
        worth_lost=sum(cost.worth_lost for cost in costs),
        milling=sum(cost.milling for cost in costs),
        milling_area=sum(cost.milling_area for cost in costs),
        weighted=sum(cost.worth_lost * _weight(request, offcut) // 1000 for (offcut, _), cost in piece_costs.items()),
    )


def _order(prefer: Preference, totals: Totals) -> tuple[int, int]:
    match prefer:
        case Preference.BEST_USE:
            return totals.worth_lost, totals.pieces
        case Preference.LEAST_WASTE:
            return totals.loss, totals.pieces
        case Preference.FEWEST_PIECES:
            return totals.pieces, totals.worth_lost
        case Preference.LEAST_MILLING:
            return totals.milling, totals.worth_lost
        case Preference.OLDEST_FIRST:
            return totals.weighted, totals.pieces


def _wrong_totals(plan: Plan, fill: Fill, piece_costs: dict[Piece, PieceCost]) -> Iterator[str]:
    request = plan.request
    totals = _totals(piece_costs, request)
    volume = sum(each.count * (each.length * each.width * each.thickness // 10**18) for each in plan.requests)
    stated: list[tuple[str, object, object]] = [
        ("loss", fill.loss, totals.loss),
        ("pieces", fill.pieces, totals.pieces),
        ("worth lost", fill.worth_lost, totals.worth_lost),
        ("milling", fill.milling, totals.milling),
        ("dirty area", fill.milling_area, totals.milling_area),
        ("board volume", fill.board_volume, volume),
        ("waste", fill.waste, totals.loss - volume),
        ("yield", fill.yield_share, volume / totals.loss if totals.loss else 0.0),
    ]
    for what, said, right in stated:
        if said != right:
            yield f"it says {what} {said}; by the model it is {right}."
    first, _ = _order(fill.prefer, totals)
    if fill.bound > first:
        yield f"its bound {fill.bound} lies above its own cost {first}."
    elif fill.proven and fill.bound < first:
        yield f"it says that it is proven, but its bound {fill.bound} lies below its cost {first}."


# --- the fills beside one another ----------------------------------------------------------------


def _ranking(plan: Plan, costs: Sequence[Totals | None]) -> Iterator[str]:
    """Order, repetitions, and claims that another fill of the same plan disproves."""
    taken = [Counter(offcut for offcut, _ in {(cut.offcut, cut.piece) for cut in fill.cuts}) for fill in plan.fills]
    for place, fill in enumerate(plan.fills):
        name = f"Fill {place + 1} ({fill.prefer.value})"
        earlier = [each for each in range(place) if plan.fills[each].prefer is fill.prefer]
        for before in earlier:
            if taken[before] == taken[place]:
                yield f"{name} takes the same offcuts as fill {before + 1}."
        own = costs[place]
        if own is None:
            continue
        for other, totals in enumerate(costs):
            if totals is None or other == place or _order(fill.prefer, totals) >= _order(fill.prefer, own):
                continue
            if other > place and plan.fills[other].prefer is fill.prefer:
                yield f"{name} stands before fill {other + 1}, which is better."
            elif fill.proven and all(taken[other] != taken[before] for before in earlier):
                yield f"{name} says that it is proven, but fill {other + 1} is better in its own order."
            elif not earlier and _order(fill.prefer, totals)[0] < fill.bound:
                yield f"{name} has the bound {fill.bound}, but fill {other + 1} costs less."


def _name(offcut: Offcut) -> str:
    return f"offcut {offcut.tag}" if offcut.tag else "an offcut without a tag"


def _mm(length: int) -> str:
    return f"{mm_text(length)} mm"


def _box(box: Box) -> str:
    length, width, thickness, keep = box
    return f"{mm_text(length)} × {mm_text(width)} × {_mm(thickness)}, {'kept' if keep else 'not kept'}"
