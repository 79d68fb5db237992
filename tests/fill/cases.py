"""Seeded boards and racks of every type, and whether two general-purpose solvers agree with the search on them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from random import Random
from time import process_time

from inventory.core.lengths import NM_PER_MM, Length
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import Band, FieldBand, StripeBand
from inventory.cutting.costs import Preference
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest, Grain, InvalidRequest, PanelSpec
from inventory.orders.answer import fill_order
from tests.fill.brute_force import CostKey, cost_key
from tests.fill.integer_programs import FillProgram, best_cost_keys
from tests.fill.racks import SPECIES, ShopUnits, grid_step, make_rack, make_request, round_to_step, with_rules
from tests.solver.general_solvers import SOLVERS, NotProven, Solver
from tests.verify import faults
from tests.verify.glue_ups import glue_ups


class CaseKind(Enum):
    """What is asked of the rack."""

    EDGE = "edge grain"
    FACE = "face grain"
    EDGE_BANDS = "bands and stripes on edge, each of its own wood"
    FACE_BANDS = "bands and stripes laid flat, each of its own wood"
    EDGE_SHARED = "bands on edge, some of the same wood"
    FACE_SHARED = "bands laid flat, some of the same wood"
    LIKE_BOARDS = "like boards on edge"
    FLAT_BOARDS = "like boards laid flat"
    TWO_SIZES = "boards of two lengths on edge"
    TWO_GRAINS = "a board on edge and one laid flat"
    END_GRAIN = "end grain of one panel"
    END_GRAIN_PANELS = "end grain of several panels"


SINGLE = (CaseKind.EDGE, CaseKind.FACE)
"""One glue-up without bands: the second and third best are proven too."""

ALWAYS_PROVEN = tuple(
    kind for kind in CaseKind if kind not in (CaseKind.LIKE_BOARDS, CaseKind.FLAT_BOARDS, CaseKind.END_GRAIN_PANELS)
)
"""Where the first fill must say that it is proven, on racks of up to 60 offcuts: no strips are shared."""

FILLS = 3


@dataclass(frozen=True)
class Case:
    """A rack, and boards to be filled together under one preference."""

    kind: CaseKind
    rack: tuple[Offcut, ...]
    requests: tuple[BoardRequest, ...]

    @property
    def prefer(self) -> Preference:
        return self.requests[0].prefer[0]


@dataclass(frozen=True)
class Verdict:
    """What became of one case: `wrong` are sentences, `proven` counts the fills that say that they are proven.

    `inconclusive` counts the solvers that lost themselves in rounding. Seconds are the processor's.
    """

    wrong: tuple[str, ...]
    proven: int
    filled: bool
    inconclusive: int
    search_seconds: float
    solver_seconds: float


def make_case(kind: CaseKind, shop: ShopUnits, prefer: Preference, seed: int, pieces: int) -> Case:
    """The same case for the same numbers; the rack holds about as many pieces, and enough for some fill."""
    random = Random(f"case {kind.name} {shop.name} {prefer.value} {seed} {pieces}")
    grain = (
        Grain.FACE
        if kind in (CaseKind.FACE, CaseKind.FACE_BANDS, CaseKind.FACE_SHARED, CaseKind.FLAT_BOARDS)
        else Grain.EDGE
    )
    while True:
        rack = make_rack(random.randrange(10**6), pieces, shop)
        try:
            alone = make_request(random.randrange(10**6), rack, shop, grain)
            requests = _asked(kind, shop, replace(alone, prefer=(prefer,), fills=1), random)
        except InvalidRequest:
            continue
        wide = all(each.width >= 10 * NM_PER_MM for each in requests)
        if wide and FillProgram(rack, _made(requests), prefer).is_feasible():
            return Case(kind, tuple(rack), tuple(requests))


def make_demanding_case(kind: CaseKind, shop: ShopUnits, prefer: Preference, seed: int, pieces: int) -> Case:
    """As `make_case`, with marks on some pieces and a request that rules out some and demands others.

    Three in four can be filled.
    """
    random = Random(f"demanding {kind.name} {shop.name} {prefer.value} {seed} {pieces}")
    while True:
        case = make_case(kind, shop, prefer, random.randrange(10**6), pieces)
        rack, request = with_rules(random, case.rack, case.requests[0])
        requests = [replace(each, eligibility=request.eligibility) for each in case.requests]
        if seed % 4 == 3 or FillProgram(rack, _made(requests), prefer).is_feasible():
            return Case(kind, tuple(rack), tuple(requests))


def _made(requests: Sequence[BoardRequest]) -> list[BoardRequest]:
    """Every glue-up of these boards, as a board of its own."""
    return [glue_up.made for request in requests for glue_up in glue_ups(request, request.panel.row_depth)]


def _share(length: int, parts: int, step: int) -> Length:
    """One of so many parts, on the grid of the shop."""
    return Length(max(length // parts // step, 1) * step)


def _asked(kind: CaseKind, shop: ShopUnits, alone: BoardRequest, random: Random) -> list[BoardRequest]:
    step = grid_step(random, shop)
    match kind:
        case CaseKind.EDGE | CaseKind.FACE:
            return [replace(alone, fills=FILLS)]
        case CaseKind.EDGE_BANDS | CaseKind.FACE_BANDS | CaseKind.EDGE_SHARED | CaseKind.FACE_SHARED:
            shared = kind in (CaseKind.EDGE_SHARED, CaseKind.FACE_SHARED)
            return [replace(alone, width=_share(alone.width, 2, step), bands=_bands(random, step, shared))]
        case CaseKind.LIKE_BOARDS | CaseKind.FLAT_BOARDS:
            count = random.choice((2, 2, 3))
            return [replace(alone, count=count, width=_share(alone.width, count, step))]
        case CaseKind.TWO_SIZES | CaseKind.TWO_GRAINS:
            other = replace(alone, width=_share(alone.width, 3, step), length=_share(alone.length * 3, 4, step))
            if kind is CaseKind.TWO_GRAINS:
                other = replace(other, grain=Grain.FACE, thickness=round_to_step(12, step))
            return [replace(alone, width=_share(alone.width, 2, step)), other]
        case CaseKind.END_GRAIN | CaseKind.END_GRAIN_PANELS:
            return [
                replace(
                    alone,
                    grain=Grain.END,
                    length=round_to_step(random.choice((60, 100, 150)), step),
                    width=_share(min(alone.width, 150 * NM_PER_MM), random.choice((1, 2)), step),
                    thickness=round_to_step(random.choice((15, 25)), step),
                    panel=PanelSpec(
                        random.choice((Grain.EDGE, Grain.EDGE, Grain.FACE))
                        if kind is CaseKind.END_GRAIN
                        else Grain.EDGE,
                        1 if kind is CaseKind.END_GRAIN else random.choice((2, 2, 3)),
                        round_to_step(random.choice((13, 19, 38)), step),
                    ),
                )
            ]


def _bands(random: Random, step: int, shared: bool) -> tuple[Band, ...]:
    """Two fields and a stripe or two; where species are shared, some species may serve more than one of them."""
    first, second, third, *_ = random.sample(SPECIES, 5)
    each = round_to_step(random.choice((5, 8, 12)), step)
    bands: tuple[Band, ...] = (
        FieldBand((first, second) if shared else (first,), random.randint(1, 3)),
        StripeBand((third,), random.randint(1, 3), each),
        FieldBand((second, third) if shared else (second,)),
    )
    return (StripeBand((third,), 1, each), *bands) if random.random() < 0.3 else bands


def verdict(case: Case, further: Collection[str] = SOLVERS, *, solvers: Collection[str] = SOLVERS) -> Verdict:
    """Asks the search and then both solvers, and compares them; those named `further` also for the next best fills.

    With `solvers` only those named are asked.
    """
    requests, rack = case.requests, case.rack
    begun = process_time()
    plan = fill_order(rack, requests)
    found = process_time()
    made = _made(plan.requests)
    wrong: list[str] = []
    inconclusive = 0
    for name, solver in SOLVERS.items():
        if name not in solvers:
            continue
        try:
            if case.kind in SINGLE:
                wrong += _check_k_best(case, plan, solver, FILLS if name in further else 1)
            else:
                wrong += _check_best(case, plan, made, solver)
        except NotProven:
            inconclusive += 1
    solved = process_time()
    must_be_proven = plan.fills if case.kind in SINGLE else plan.fills[:1] if case.kind in ALWAYS_PROVEN else ()
    wrong += [f"fill {place} is not called proven." for place, fill in enumerate(must_be_proven, 1) if not fill.proven]
    proven = sum(fill.proven for fill in plan.fills)
    return Verdict((*faults(plan, rack), *wrong), proven, bool(plan.fills), inconclusive, found - begun, solved - found)


def _check_k_best(case: Case, plan: Plan, solver: Solver, many: int) -> list[str]:
    claimed = [cost_key(fill, case.requests[0]) for fill in plan.fills[:many]]
    best = best_cost_keys(case.rack, case.requests, case.prefer, many, solver)
    return [] if claimed == best else [f"the search's fills cost {claimed}, those of {solver.__name__} {best}."]


def _check_best(case: Case, plan: Plan, made: Sequence[BoardRequest], solver: Solver) -> list[str]:
    program = FillProgram(case.rack, made, case.prefer)
    found = program.best(solver)
    best = None if found is None else found[0]
    if plan.fills:
        wrong = _check_claims(plan.fills[0], case.requests[0], best, program.exact)
    else:
        wrong = [] if best is None else [f"the search finds no fill, but one costs {best}."]
    return [f"{sentence} ({solver.__name__})" for sentence in wrong]


def _check_claims(fill: Fill, request: BoardRequest, best: CostKey | None, exact: bool) -> list[str]:
    """Where a fill says something that the best one disproves; an answer that is not `exact` may be undercut."""
    claimed = cost_key(fill, request)
    if best is None:
        return [f"the search finds a fill that costs {claimed}, the solver none."] if exact else []
    if fill.proven and (claimed > best or (exact and claimed != best)):
        return [f"the fill called proven costs {claimed}, the best one {best}."]
    if fill.bound > best[0] or (exact and claimed < best):
        return [f"the fill costs {claimed}, its bound is {fill.bound}, the best one costs {best}."]
    return []
