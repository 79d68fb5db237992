"""The answer to a question about several boards as its page shows it: in full, or as tables where there are many.

Knows what is drawn and what is told. Finds nothing, and no address.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.lengths import Display, show, show_volume
from inventory.core.species import written
from inventory.core.workshop import Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill, Plan
from inventory.services.boards.filling import fill_key
from inventory.services.boards.several_boards import Found
from inventory.web.bench.answer_view import Answer, how_sure, show_answer, tags_of

MOST_DRAWN = 12
"""Of more glue-ups than this the answer is told in tables; all are drawn once they are set aside."""


@dataclass(frozen=True)
class ToldCut:
    """What is cut off the like pieces of one tag: the lengths and strips of all of them, and the boards they go to."""

    cut: Cut
    pieces: int
    lengths: int
    strips: int
    boards: str


@dataclass(frozen=True)
class ToldSet:
    """A set of offcuts for many boards, in figures and a list of what is cut."""

    name: str
    anchor: str
    key: str
    sure: str
    fill: Fill
    figures: tuple[tuple[str, str], ...]
    cuts: tuple[ToldCut, ...]


@dataclass(frozen=True)
class ShownBatch:
    """The answer so far: `answer` is drawn, `told` stands in tables, `lacking` says what is missing."""

    answer: Answer | None
    told: tuple[ToldSet, ...]
    lacking: tuple[str, ...]
    tags: tuple[str, ...]


def show_batch(found: Found, workshop: Workshop, display: Display) -> ShownBatch:
    """What was found, shown. Nothing where no plan was found yet."""
    plan = found.plan
    if plan is None:
        return ShownBatch(None, (), (), ())
    if plan.shortfall is not None:
        return ShownBatch(None, (), tuple(_lacking(plan, display)), ())
    if len(plan.fills[0].glue_ups) <= MOST_DRAWN:
        answer = show_answer(plan, workshop, display)
        return ShownBatch(answer, (), (), tags_of(answer.sets))
    told = tuple(_told(number, fill, plan, display) for number, fill in enumerate(plan.fills, 1))
    return ShownBatch(None, told, (), tuple(dict.fromkeys(cut.offcut.tag for fill in plan.fills for cut in fill.cuts)))


def _lacking(plan: Plan, display: Display) -> Iterator[str]:
    shortfall = plan.shortfall
    if shortfall is None:
        return
    for lack in shortfall.lacks:
        wood = f" of {' or '.join(map(written, lack.species))}" if lack.species else ""
        yield f"{show(lack.width, display)} of width{wood} {'is' if lack.strips is None else 'in strips is'} missing."
    if not shortfall.lacks:
        yield "There is width enough, but no way was found to share it out among them."
    fell_out = [f"{count:,} {reason}" for reason, count in shortfall.reasons.items() if count]
    if fell_out:
        yield f"Pieces that fell out: {', '.join(fell_out)}."


def _told(number: int, fill: Fill, plan: Plan, display: Display) -> ToldSet:
    return ToldSet(
        name=f"Set {number}",
        anchor=f"set-{number}",
        key=fill_key(fill),
        sure=how_sure(fill, 0, plan.request.on),
        fill=fill,
        figures=(
            ("Yield", f"{fill.yield_share * 100:.0f} %"),
            ("Wood off the rack", show_volume(fill.loss, display.unit)),
            ("Waste", show_volume(fill.waste, display.unit)),
            ("Offcuts", f"{fill.pieces:,}"),
            ("Strips", f"{fill.strips:,}"),
        ),
        cuts=tuple(_told_cuts(fill)),
    )


def _told_cuts(fill: Fill) -> Iterator[ToldCut]:
    by_tag: dict[str, list[Cut]] = {}
    for cut in fill.cuts:
        by_tag.setdefault(cut.offcut.tag, []).append(cut)
    for cuts in by_tag.values():
        boards = Counter(fill.glue_ups[share.glue_up].board + 1 for cut in cuts for share in cut.shares)
        yield ToldCut(
            cut=cuts[0],
            pieces=len({cut.piece for cut in cuts}),
            lengths=sum(cut.lengths_cut for cut in cuts),
            strips=sum(cut.strips for cut in cuts),
            boards=", ".join(map(str, sorted(boards))),
        )
