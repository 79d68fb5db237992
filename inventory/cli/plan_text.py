"""A plan in plain words for a terminal: each fill as a table, or what is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby

from inventory.cli.plurals import counted
from inventory.core.codes import format_tag
from inventory.core.lengths import Display, Length, format_length, format_volume
from inventory.core.offcuts import carried_texts
from inventory.core.workshop import Workshop
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, StripShare
from inventory.fill.certainty import certainty_of
from inventory.fill.plan import Fill, Plan, Shortfall
from inventory.fill.request import BoardRequest
from inventory.layout.finished_board import FinishedBoard, finished_boards
from inventory.layout.operations import operations_for
from inventory.services.boards.several_boards import BatchSolution
from inventory.wording.certainty_text import certainty_phrase
from inventory.wording.effort_text import format_basis, format_boards, format_operations
from inventory.wording.nearly_text import nearly_sentence, row_depth_sentence
from inventory.wording.shortfall_text import (
    SHARING_FAILED,
    demand_sentences,
    format_enough_panels,
    format_fix,
    format_miss,
    format_purchase,
    format_reasons,
    format_shortage,
    format_smaller_sizes,
    format_unhelpful_sizes,
    shortfall_title,
)
from inventory.wording.steps import find_metal, format_numbers

_COLUMNS = ("Tag", "Offcut", "Cut", "Adds", "Left over")


def format_plan(plan: Plan, workshop: Workshop, display: Display) -> str:
    """The whole answer, with the effort in this workshop, lengths as the shop reads them."""
    request = plan.request
    lines = [_request_text(each, display) for each in plan.requests]
    if plan.shortfall is not None:
        return "\n".join([*lines, "", *_shortfall(plan, plan.shortfall, display)])
    all_boards: list[FinishedBoard] = []
    for number, fills in enumerate(_group_identical(plan.fills), 1):
        fill = fills[0][0]
        boards = finished_boards(fill, request)
        all_boards += boards
        effort = (
            *format_operations(operations_for(fill, workshop), workshop, display),
            *format_boards(boards, workshop, display),
        )
        lines += ["", f"Fill {number}: {_ranks_text(fills, request.on)}", *_fill(fill, display)]
        hints = {
            each.allowance: nearly_sentence(each, fill, request.on, display)
            for fill, _ in fills
            for each in fill.nearly
        }
        depths = (row_depth_sentence(each, request.on, display) for each, _ in fills)
        lines += [f"  {sentence}" for sentence in (*effort, *list(filter(None, depths))[:1], *hints.values())]
    if others := plan.fills[0].other_species:
        named = (f"{each.species} ({each.yield_share * 100:.0f} % yield)" for each in others)
        lines += ["", f"Other species that would do: {', '.join(named)}."]
    basis = format_basis(all_boards, workshop, display)
    lines += ["", *basis] if basis else []
    cautions = dict.fromkeys(caution for fill in plan.fills for caution in fill.cautions)
    return "\n".join([*lines, "", "Cautions", *(f"  - {caution}" for caution in cautions)])


def format_count(found: BatchSolution) -> str:
    """How many boards are in the rack, and whether there could be more."""
    if not found.boards:
        return "No such board is in the rack."
    boards = counted(found.boards, "such board")
    if found.is_optimal:
        return f"{boards} {'is' if found.boards == 1 else 'are'} in the rack, and never more."
    return f"{boards} found; there are at most {found.upper_bound:,}."


def _request_text(request: BoardRequest, display: Display) -> str:
    boards = "Board" if request.count == 1 else f"{request.count} boards"
    size = _sizes((request.length, request.width, request.thickness), display)
    return f"{boards} {size}, {request.grain.value} grain"


def _boards_phrase(plan: Plan) -> str:
    return "this board" if sum(each.count for each in plan.requests) == 1 else "these boards together"


def format_shortfall_line(plan: Plan, display: Display) -> str:
    """Why the rack can't fill the board, in one line that says what would; empty where it can."""
    shortfall = plan.shortfall
    if shortfall is None:
        return ""
    title = shortfall_title(shortfall, plan.request, display)
    largest = format_smaller_sizes(shortfall, plan.request, display)
    one = "It" if _boards_phrase(plan) == "this board" else "One of the first kind"
    helps = (
        f"{one} could be at most {' or '.join(largest)}."
        if largest
        else format_unhelpful_sizes(shortfall, plan.request, display)
    )
    if not any(each.tag for each in shortfall.demands):
        title = title[0].lower() + title[1:]
    return f"The rack can't fill {_boards_phrase(plan)}: {title}. {helps}"


def _group_identical(fills: Sequence[Fill]) -> list[list[tuple[Fill, int]]]:
    """Fills that take the same pieces and cut them alike, together, each with its rank from 1 in its preference."""
    ranks: Counter[Preference] = Counter()
    alike: dict[object, list[tuple[Fill, int]]] = {}
    for fill in fills:
        ranks[fill.prefer] += 1
        alike.setdefault(fill.cuts_key, []).append((fill, ranks[fill.prefer]))
    return list(alike.values())


def _ranks_text(fills: Sequence[tuple[Fill, int]], on: date) -> str:
    """The ranks of a fill, and by which preferences: `best by best-use and oldest-first (proven)`."""
    together: dict[tuple[int, str], list[str]] = {}
    for fill, rank in fills:
        together.setdefault((rank, certainty_phrase(certainty_of(fill, on))), []).append(fill.prefer.value)
    return "; ".join(
        f"{'best' if rank == 1 else f'no. {rank}'} by {_join_names(names)} ({certainty})"
        for (rank, certainty), names in sorted(together.items(), key=lambda each: each[0][0])
    )


def _join_names(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _fill(fill: Fill, display: Display) -> list[str]:
    banded = len({cut.band for cut in fill.cuts}) > 1
    rows = [_row(cut, banded, display) for cut in fill.cuts]
    glue_up = "the glue-up is" if len(fill.glue_ups) < 2 else "all glue-ups together are"
    return [
        *(f"  {line}" for line in _glue_ups(fill, display)),
        *(f"  {line}" for line in _table([_COLUMNS, *rows])),
        *(f"  {line}" for line in _carried(fill)),
        f"  {counted(fill.pieces, 'offcut')}, {counted(fill.strips, 'strip')}, "
        f"{counted(fill.glue_lines, 'glue line')}; "
        f"{glue_up} {format_length(fill.filled_width, display)} wide.",
        f"  Yield {fill.yield_share * 100:.0f} %: {format_volume(fill.loss, display.unit)} leave the rack, "
        f"{format_volume(fill.waste, display.unit)} of it waste.",
    ]


def _carried(fill: Fill) -> Iterator[str]:
    """Of each piece that has any: marks, moisture, batch and notes; where metal was found, what to do first."""
    for offcut in {cut.offcut.tag: cut.offcut for cut in fill.cuts}.values():
        texts = [*carried_texts(offcut), *([f"note: {' '.join(offcut.notes.split())}"] if offcut.notes else [])]
        if texts:
            yield f"{format_tag(offcut.tag)}: {'; '.join(texts)}"
        if metal := find_metal(offcut):
            yield f"{format_tag(offcut.tag)}: {metal}"


def _glue_ups(fill: Fill, display: Display) -> list[str]:
    """Each glue-up of several, or of an end-grain board: what it is for and its sizes, equal ones together."""
    if len(fill.glue_ups) == 1 and not fill.glue_ups[0].rows and not any(cut.shares for cut in fill.cuts):
        return []
    lines = []
    asked = [
        (each.panel, each.rows, each.request.length, each.jointed_width, each.request.thickness)
        for each in fill.glue_ups
    ]
    for key, group in groupby(range(len(asked)), key=asked.__getitem__):
        places = list(group)
        panel, rows, *sizes = key
        boards = [fill.glue_ups[place].board + 1 for place in (places[0], places[-1])]
        sliced = f", panel {panel + 1}, to be sliced into {counted(rows, 'row')}" if rows else ""
        size = _sizes((sizes[0], sizes[1], sizes[2]), display)
        glue_ups = _range_text("Glue-up", places[0] + 1, places[-1] + 1)
        lines.append(
            f"{glue_ups}, for {_range_text('board', *boards)}{sliced}: {size}{' each' if len(places) > 1 else ''}"
        )
    return lines


def _range_text(noun: str, first: int, last: int) -> str:
    """`board 3`, `boards 3 and 4`, or `boards 3 to 68`."""
    if first == last:
        return f"{noun} {first}"
    return f"{noun}s {first} {'and' if last == first + 1 else 'to'} {last}"


def _shares_text(shares: Sequence[StripShare]) -> Iterator[str]:
    """How many strips go to which glue-ups, those of as many strips together.

    >>> list(_shares_text([StripShare(0, 1, Length(9)), StripShare(3, 2, Length(18)), StripShare(4, 1, Length(9))]))
    ['1 each to glue-ups 1 and 5', '2 to glue-up 4']
    """
    glue_ups: dict[int, list[int]] = {}
    for share in shares:
        glue_ups.setdefault(share.strips, []).append(share.glue_up + 1)
    for strips, numbers in glue_ups.items():
        yield f"{strips} {'each to glue-ups' if len(numbers) > 1 else 'to glue-up'} {format_numbers(numbers)}"


def _row(cut: Cut, banded: bool, display: Display) -> tuple[str, ...]:
    offcut = cut.offcut
    tag = f"{format_tag(offcut.tag)} no. {cut.piece}" if offcut.count > 1 else format_tag(offcut.tag)
    wood = (
        f"{offcut.species or 'species not noted'}, {_sizes((offcut.length, offcut.width, offcut.thickness), display)}"
    )
    operations = (
        f"{counted(cut.lengths_cut, 'length')}, {counted(cut.strips, 'strip')} of "
        f"{format_length(cut.strip_width, display)}"
    )
    if cut.leaves is not None:
        operations += f", {counted(cut.leaves, 'leaf', 'leaves')}"
    if cut.part:
        operations += ", a part of the width"
    if banded:
        operations += f", band {cut.band + 1}"
    if cut.shares:
        operations += f" ({'; '.join(_shares_text(cut.shares))})"
    kept = [_sizes((left.length, left.width, left.thickness), display) for left in cut.leftovers if left.kept]
    return (tag, wood, operations, format_length(cut.adds, display), "; ".join(kept) or "nothing to keep")


def _shortfall(plan: Plan, shortfall: Shortfall, display: Display) -> list[str]:
    lines = [f"The rack can't fill {_boards_phrase(plan)}."]
    lines += [f"  Missing: {format_shortage(shortage, display)}" for shortage in shortfall.shortages]
    lines += [f"  {sentence}" for sentence in demand_sentences(shortfall, plan.request, display)]
    if not shortfall.shortages and not shortfall.demands:
        lines.append(f"  {SHARING_FAILED}")
    lines += [f"  To buy: {format_purchase(purchase, display)}" for purchase in shortfall.to_buy]
    if shortfall.panels is not None:
        lines.append(f"  {format_enough_panels(shortfall.panels)}")
    if reasons := format_reasons(shortfall):
        lines.append(f"  Fell out: {reasons}")
    for miss in shortfall.nearest:
        fix = f"; {format_fix(miss.fix, display)}" if miss.fix is not None else ""
        lines.append(f"  Near miss: {format_tag(miss.tag)} is {format_miss(miss, display)}{fix}")
    one = "it" if _boards_phrase(plan) == "this board" else "one of the first kind"
    lines += [
        f"  With the other two sizes as asked, {one} could be at most {each}"
        for each in format_smaller_sizes(shortfall, plan.request, display)
    ]
    if no_help := format_unhelpful_sizes(shortfall, plan.request, display):
        lines.append(f"  {no_help}")
    return lines


def _sizes(sizes: tuple[Length, Length, Length], display: Display) -> str:
    return " × ".join(format_length(size, display, with_unit=False) for size in sizes) + f" {display.unit.value}"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
