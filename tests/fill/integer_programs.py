"""The cost of the best fill by general-purpose solvers (HiGHS, CP-SAT), as an integer program.

The program is built from `tests.fill.calculation`, which follows the cutting model's text, and from
the demands of `tests.verify`; it uses neither `inventory.cutting` nor the search.

Widths are multiples of their common divisor, so that they are small whole numbers. A solver's solution is
recomputed in whole numbers and must meet the solver's own proven bound: exactly where the
solver computes in whole numbers, within 1 mm³ where in floats. The first cost is fixed before the second is
minimized. The next best is found with the pieces of all earlier fills forbidden.

The loss of a piece that gives a part of a length is rounded up to a whole number, so it has its own column. Its worth
is no linear function of the part's width: such a program is not solved, and brute force judges these cases on small
racks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import gcd, lcm
from time import monotonic

from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain
from tests.fill.brute_force import CostKey, cost_order
from tests.fill.calculation import CutChoice, PartialCut, PieceOptions, piece_options
from tests.solver.general_solvers import ROUNDING, SECONDS, Answer, IntegerProgram, NotProven, Solver, highs
from tests.verify.asked import BandRequirement, requirements_of
from tests.verify.eligible import barred, is_named

__all__ = ["FillProgram", "NotProven", "best_cost_key", "best_cost_keys"]


@dataclass(frozen=True)
class _PieceClass:
    """Identical pieces: what each gives to each part, and how many there are."""

    piece_options: tuple[PieceOptions, ...]
    count: int
    named: bool


@dataclass(frozen=True)
class _ChoiceColumn:
    """`column` counts the pieces that serve a part with this choice."""

    column: int
    given: PieceOptions
    choice: CutChoice


@dataclass(frozen=True)
class _PartialColumn:
    """`column` is 1 where a piece gives a part of a length to the glue-up `to`, `width` steps wide.

    `kept` says what becomes of what is beside it. Without `width` the part has its least width, and the glue-up may be
    wider than it needs to be.
    """

    column: int
    width: int | None
    given: PieceOptions
    cut: PartialCut
    to: int
    kept: bool


@dataclass
class _Part:
    """A pool or stripe, or those of several glue-ups that the same strips serve; `needs` are theirs.

    `grid` divides every width of the part.
    """

    request: BoardRequest
    requirement: BandRequirement
    needs: list[int]
    grid: int = 1
    chosen: list[_ChoiceColumn] = field(default_factory=list)
    partial: list[_PartialColumn] = field(default_factory=list)

    @property
    def shares_strips(self) -> bool:
        """Whether it matters which strips go to which of several glue-ups; a stripe's are all alike."""
        return len(self.needs) > 1 and not self.requirement.is_stripe


class FillProgram:
    """Which fill is best under a preference, as an integer program over all glue-ups together.

    `apart` distinguishes all pieces that are not near-copies, so that a fill that takes
    other pieces can be asked for; else pieces that give the same are counted together.

    `exact` says that the program allows all that the cutting model allows. Where several
    glue-ups laid flat share strips, a piece gives a part to one of them at most here: what is
    found is a fill then, though a better one may exist.
    """

    def __init__(
        self, rack: Sequence[Offcut], glue_ups: Sequence[BoardRequest], prefer: Preference, *, apart: bool = False
    ) -> None:
        self.prefer = prefer
        self.parts = _parts(glue_ups)
        self.exact = not any(part.shares_strips and part.request.grain is Grain.FACE for part in self.parts)
        self.named = [offcut.tag for offcut in rack if is_named(glue_ups[0], offcut)]
        self.missing = len(glue_ups[0].eligibility.required) - len(self.named)
        """How many pieces that must be used are not there."""
        self.piece_classes = self._piece_classes(rack, apart)
        self.model = IntegerProgram()
        self.taken: list[list[int]] = [[] for _ in self.piece_classes]
        """By item class: the columns that take a piece of it."""
        self.lost: list[int] = []
        """Columns of what is lost of the pieces that give a part of a length."""
        for number, part in enumerate(self.parts):
            self._columns(number, part)
            self._sums(part)
            self._losses(part)
        for piece_class, columns in zip(self.piece_classes, self.taken, strict=True):
            # A piece that the request names must be used, whichever glue-up it goes to.
            self.model.row(1 if piece_class.named else 0, piece_class.count, dict.fromkeys(columns, 1))
        if self.missing or len(self.named) > sum(piece_class.named for piece_class in self.piece_classes):
            self.model.row(1, None, {self.model.column(0): 1})

    def _piece_classes(self, rack: Sequence[Offcut], apart: bool) -> list[_PieceClass]:
        by_age = self.prefer is Preference.OLDEST_FIRST
        known: dict[Hashable, tuple[PieceOptions, ...]] = {}
        counts: Counter[Hashable] = Counter()
        named: set[Hashable] = set()
        for offcut in rack:
            faces = tuple(sorted((offcut.face_a.value, offcut.face_b.value)))
            sizes = (offcut.length, offcut.width, offcut.thickness)
            if barred(self.parts[0].request, offcut) is not None:
                continue
            own = offcut.tag if offcut.tag in self.named else ""
            like: Hashable = (species_key(offcut.species), sizes, faces, offcut.tagged_on if by_age else None, own)
            if like not in known:
                whole = tuple(piece_options(offcut, part.request, part.requirement) for part in self.parts)
                known[like] = whole if by_age else tuple(replace(given, weight=1000) for given in whole)
            if any(given.choices for given in known[like]):
                key = like if apart or own else known[like]
                known[key] = known[like]
                counts[key] += offcut.count
                named |= {key} if own else set()
        return [_PieceClass(known[key], count, key in named) for key, count in counts.items()]

    # --- columns and rows of one part --------------------------------------------------------------

    def _columns(self, number: int, part: _Part) -> None:
        for piece_class, taken in zip(self.piece_classes, self.taken, strict=True):
            for choice in piece_class.piece_options[number].choices:
                part.chosen.append(
                    _ChoiceColumn(self.model.column(piece_class.count), piece_class.piece_options[number], choice)
                )
                taken.append(part.chosen[-1].column)
        part.grid = gcd(*part.needs, *(each.choice.adds for each in part.chosen))
        given = [each.piece_options[number] for each in self.piece_classes]
        part.grid = gcd(part.grid, *(cut.least for each in given for cut in each.partial_cuts if cut.covers_less))
        if part.shares_strips:
            strips = [Fraction(each.choice.adds, each.choice.strips) for each in part.chosen]
            if any(strip.denominator > 1 for strip in strips):
                # Strips of no whole width: parts of lengths would have none either, and are left out.
                return
            part.grid = gcd(part.grid, *(strip.numerator for strip in strips))
        for piece_class, taken in zip(self.piece_classes, self.taken, strict=True):
            for cut in piece_class.piece_options[number].partial_cuts:
                for to in range(len(part.needs)):
                    for column in self._partial_columns(piece_class.piece_options[number], cut, to, part.grid):
                        part.partial.append(column)
                        taken.append(column.column)

    def _partial_columns(self, given: PieceOptions, cut: PartialCut, to: int, grid: int) -> Iterator[_PartialColumn]:
        if cut.covers_less:
            yield _PartialColumn(self.model.column(1), None, given, cut, to, cut.least <= cut.kept_up_to)
        for kept in (False, True):
            least = cut.least if kept else max(cut.least, cut.kept_up_to + 1)
            most = min(cut.most, cut.kept_up_to) if kept else cut.most
            # The width of a part is a whole number of grid steps: rounding its limits inwards loses nothing.
            least, most = -(-least // grid), most // grid
            if least <= most:
                chosen, width = self.model.column(1), self.model.column(most, integer=False)
                self.model.row(0, None, {width: 1, chosen: -least})
                self.model.row(None, 0, {width: 1, chosen: -most})
                yield _PartialColumn(chosen, width, given, cut, to, kept)

    def _sums(self, part: _Part) -> None:
        """Every glue-up as wide as it needs to be."""
        adds: list[dict[int, int]]
        if part.shares_strips:
            whole, adds = self._distribution_columns(part)
        else:
            # One glue-up, or a stripe: the sum alone decides.
            whole = 1
            adds = [{each.column: each.choice.adds for each in part.chosen}]
            adds[0] |= {each.column: each.cut.adds for each in part.partial}
            part.needs = [sum(part.needs)]
        for to, (need, entries) in enumerate(zip(part.needs, adds, strict=True)):
            partial = [each for each in part.partial if each.to == to]
            entries |= {each.width: part.grid * whole for each in partial if each.width is not None}
            for each in partial:
                if each.width is None:
                    entries[each.column] = entries.get(each.column, 0) + each.cut.least * whole
            need *= whole
            by = gcd(need, *entries.values())
            steps = {column: value // by for column, value in entries.items()}
            self.model.row(need // by, need // by if part.requirement.is_stripe else None, steps)
            if partial:
                # With a part wider than the least it is exactly as wide; there is one part at most.
                room = max(sum(value * self.model.upper[column] for column, value in steps.items()) - need // by, 0)
                self.model.row(0, 1, {each.column: 1 for each in partial})
                self.model.row(
                    None,
                    need // by + room,
                    steps
                    | {each.column: steps.get(each.column, 0) + room for each in partial if each.width is not None},
                )

    def _distribution_columns(self, part: _Part) -> tuple[int, list[dict[int, int]]]:
        """How many strips of each width go to each of several glue-ups, as columns; widths times the first number."""
        supply: dict[Fraction, dict[int, int]] = {}
        for each in part.chosen:
            supply.setdefault(Fraction(each.choice.adds, each.choice.strips), {})[each.column] = each.choice.strips
        for partial in part.partial:
            if partial.cut.strips:
                width = Fraction(partial.cut.adds, partial.cut.strips)
                supply.setdefault(width, {})[partial.column] = partial.cut.strips
        whole = lcm(*(width.denominator for width in supply))
        adds: list[dict[int, int]] = [{} for _ in part.needs]
        for width, columns in supply.items():
            most = sum(strips * self.model.upper[column] for column, strips in columns.items())
            handed = [self.model.column(most) for _ in part.needs]
            self.model.row(0, None, columns | dict.fromkeys(handed, -1))
            for entries, column in zip(adds, handed, strict=True):
                entries[column] = int(width * whole)
        return whole, adds

    def _losses(self, part: _Part) -> None:
        """What is lost of the pieces that give a part of a length: a whole number, rounded up."""
        for to in range(len(part.needs)):
            partial = [each for each in part.partial if each.to == to]
            if partial:
                lost = self.model.column(max(each.cut.loss_unkept for each in partial))
                self.lost.append(lost)
                kept = [each for each in partial if each.kept]
                areas = [(each.cut.area * each.cut.beside, each.cut.area * part.grid) for each in kept]
                by = 10**18 // gcd(10**18, *(number for pair in areas for number in pair))
                row = {lost: by} | {each.column: -by * each.cut.loss_unkept for each in partial}
                for each, (beside, step) in zip(kept, areas, strict=True):
                    if each.width is None:
                        row[each.column] += by * (each.cut.loss_unkept - each.cut.loss(each.cut.least))
                        continue
                    row[each.column] += beside * by // 10**18
                    row[each.width] = -(step * by // 10**18)
                self.model.row(0, None, row, by=by, tolerance=ROUNDING)

    # --- costs, and what a solver answers ----------------------------------------------------------

    def costs(self) -> tuple[dict[int, int], dict[int, int]]:
        """What the preference minimizes first and second, as costs of columns.

        Raises NotProven where the cost of a part of a length is a worth: that is no linear function of its width.
        """
        if any(part.partial for part in self.parts) and self.prefer is not Preference.LEAST_WASTE:
            raise NotProven("the worth of what is left beside a part of a length is not linear in its width")
        chosen = [each for part in self.parts for each in part.chosen]
        partial = [each for part in self.parts for each in part.partial]
        pieces = {each.column: 1 for each in chosen} | {each.column: 1 for each in partial}
        loss = {each.column: each.choice.loss for each in chosen} | dict.fromkeys(self.lost, 1)
        worth_lost = {each.column: each.choice.worth_lost for each in chosen}
        match self.prefer:
            case Preference.BEST_USE:
                return worth_lost, pieces
            case Preference.LEAST_WASTE:
                return loss, pieces
            case Preference.FEWEST_PIECES:
                return pieces, worth_lost
            case Preference.LEAST_MILLING:
                return {each.column: each.choice.milling for each in chosen}, worth_lost
            case Preference.OLDEST_FIRST:
                weighted = {each.column: each.choice.worth_lost * each.given.weight // 1000 for each in chosen}
                return weighted, pieces

    def exact_cost(self, values: Sequence[int]) -> CostKey:
        """The costs of a solution, computed in whole numbers alone; raises NotProven where it is none."""
        for row in self.model.rows:
            total = sum(value * values[column] for column, value in row.entries.items())
            low, high = row.lower is not None and total < row.lower, row.upper is not None and total > row.upper
            # Columns of rounded losses are recomputed below.
            if row.by == 1 and (low or high):
                raise NotProven(f"the solver's answer is no fill: {row.lower} ≤ {total} ≤ {row.upper}")
        loss = worth_lost = milling = weighted = pieces = 0
        for part in self.parts:
            for each in part.chosen:
                many = values[each.column]
                pieces += many
                loss += many * each.choice.loss
                worth_lost += many * each.choice.worth_lost
                milling += many * each.choice.milling
                weighted += many * (each.choice.worth_lost * each.given.weight // 1000)
            for partial in part.partial:
                if values[partial.column]:
                    steps = None if partial.width is None else values[partial.width]
                    width = partial.cut.least if steps is None else steps * part.grid
                    pieces += 1
                    loss += partial.cut.loss(width)
                    worth_lost += partial.cut.worth_lost(width)
                    milling += partial.cut.milling
        return cost_order(self.prefer, loss, worth_lost, pieces, milling, weighted)

    def is_feasible(self) -> bool:
        """Whether there is any fill at all, by HiGHS."""
        return bool(self.piece_classes) and highs(self.model, {}, SECONDS) is not None

    def best(self, solver: Solver = highs, seconds: float = SECONDS) -> tuple[CostKey, tuple[int, ...]] | None:
        """The least first cost, its least second cost and the pieces of each item class; None without a fill.

        Raises OutOfTime where the solver needs more than so many seconds for both.
        """
        if not self.piece_classes:
            return None
        begun = monotonic()
        first_costs, second_costs = self.costs()
        answer = solver(self.model, first_costs, seconds)
        if answer is None:
            return None
        first, _ = self.exact_cost(answer.values)
        _check_bound(first, answer)
        self.model.row(None, first, first_costs, tolerance=0.5)
        try:
            answer = solver(self.model, second_costs, max(seconds - (monotonic() - begun), 0.01))
        finally:
            self.model.rows.pop()
        if answer is None:
            raise NotProven("the solver lost its own answer")
        again, second = self.exact_cost(answer.values)
        if again != first:
            raise NotProven(f"the solver's second answer costs {again} instead of {first}")
        _check_bound(second, answer)
        return (first, second), tuple(sum(answer.values[each] for each in columns) for columns in self.taken)

    def forbid(self, pieces: Sequence[int]) -> None:
        """From now on a fill must take more or fewer pieces of some item class."""
        differs: list[int] = []
        for piece_class, columns, many in zip(self.piece_classes, self.taken, pieces, strict=True):
            if many < piece_class.count:
                differs.append(self.model.column(1))
                self.model.row(0, None, {differs[-1]: -(many + 1)} | dict.fromkeys(columns, 1))
            if many:
                differs.append(self.model.column(1))
                self.model.row(
                    None, piece_class.count, {differs[-1]: piece_class.count - many + 1} | dict.fromkeys(columns, 1)
                )
        self.model.row(1, None, dict.fromkeys(differs, 1))


def _parts(glue_ups: Sequence[BoardRequest]) -> list[_Part]:
    """The pools and stripes of all glue-ups, those that the same strips serve as one."""
    alike: dict[Hashable, _Part] = {}
    for made in glue_ups:
        for requirement in requirements_of(made):
            key = (
                made.length,
                made.thickness,
                made.grain,
                made.allowances,
                requirement.band,
                requirement.species,
                requirement.each,
            )
            alike.setdefault(key, _Part(made, requirement, [])).needs.append(requirement.width)
    return list(alike.values())


def _check_bound(cost: int, answer: Answer) -> None:
    if abs(cost - answer.bound) > answer.off:
        raise NotProven(f"the solver's answer costs {cost}, its bound is {answer.bound}")


def best_cost_key(
    rack: Sequence[Offcut], glue_ups: Sequence[BoardRequest], prefer: Preference, solver: Solver = highs
) -> CostKey | None:
    """What the best fill costs under this preference, proven by the solver; None where there is none."""
    found = FillProgram(rack, glue_ups, prefer).best(solver)
    return None if found is None else found[0]


def best_cost_keys(
    rack: Sequence[Offcut], glue_ups: Sequence[BoardRequest], prefer: Preference, count: int, solver: Solver = highs
) -> list[CostKey]:
    """What the best fill costs, the best that takes other pieces, and so on; fewer where there are no more."""
    program = FillProgram(rack, glue_ups, prefer, apart=True)
    keys: list[CostKey] = []
    while len(keys) < count and (found := program.best(solver)) is not None:
        keys.append(found[0])
        program.forbid(found[1])
    return keys
