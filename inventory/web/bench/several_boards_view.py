"""The answer to a question about several boards as its page shows it: in full, or as tables where there are many.

Finds nothing, and no address.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.lengths import Display, format_volume
from inventory.core.workshop import Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.certainty import certainty_of
from inventory.fill.plan import Fill, Plan, Shortfall
from inventory.services.boards.filling import fill_key
from inventory.services.boards.several_boards import BatchSolution
from inventory.web.bench.answer_view import AnswerView, build_answer_view, option_tags
from inventory.wording.certainty_text import certainty_sentence
from inventory.wording.shortfall_text import SHARING_FAILED, format_reasons, format_shortage

MAX_DRAWN = 12
"""Of more glue-ups than this the answer is told in tables; all are drawn once they are set aside."""


@dataclass(frozen=True)
class CutSummary:
    """What is cut off the like pieces of one tag: the lengths and strips of all of them, and the boards they go to."""

    cut: Cut
    pieces: int
    lengths: int
    strips: int
    boards: str


@dataclass(frozen=True)
class OptionSummary:
    """A set of offcuts for many boards, in figures and a list of what is cut."""

    name: str
    anchor: str
    key: str
    certainty: str
    fill: Fill
    figures: tuple[tuple[str, str], ...]
    cuts: tuple[CutSummary, ...]


@dataclass(frozen=True)
class BatchView:
    """The answer so far: `answer` is drawn, `summaries` stands in tables, `lacking` says what is missing."""

    answer: AnswerView | None
    summaries: tuple[OptionSummary, ...]
    lacking: tuple[str, ...]
    tags: tuple[str, ...]


def build_batch_view(found: BatchSolution, workshop: Workshop, display: Display) -> BatchView:
    """What was found, shown. Nothing where no plan was found yet."""
    plan = found.plan
    if plan is None:
        return BatchView(None, (), (), ())
    if plan.shortfall is not None:
        return BatchView(None, (), tuple(_shortfall_sentences(plan.shortfall, display)), ())
    if len(plan.fills[0].glue_ups) <= MAX_DRAWN:
        answer = build_answer_view(plan, workshop, display)
        return BatchView(answer, (), (), option_tags(answer.sets))
    summaries = tuple(_option_summary(number, fill, plan, display) for number, fill in enumerate(plan.fills, 1))
    return BatchView(
        None, summaries, (), tuple(dict.fromkeys(cut.offcut.tag for fill in plan.fills for cut in fill.cuts))
    )


def _shortfall_sentences(shortfall: Shortfall, display: Display) -> Iterator[str]:
    for shortage in shortfall.shortages:
        yield f"{format_shortage(shortage, display)} is missing."
    if not shortfall.shortages:
        yield SHARING_FAILED
    if reasons := format_reasons(shortfall):
        yield f"Pieces that fell out: {reasons}."


def _option_summary(number: int, fill: Fill, plan: Plan, display: Display) -> OptionSummary:
    return OptionSummary(
        name=f"Set {number}",
        anchor=f"set-{number}",
        key=fill_key(fill),
        certainty=certainty_sentence(certainty_of(fill, plan.request.on), best=True),
        fill=fill,
        figures=(
            ("Yield", f"{fill.yield_share * 100:.0f} %"),
            ("Wood off the rack", format_volume(fill.loss, display.unit)),
            ("Waste", format_volume(fill.waste, display.unit)),
            ("Offcuts", f"{fill.pieces:,}"),
            ("Strips", f"{fill.strips:,}"),
        ),
        cuts=tuple(_cut_summaries(fill)),
    )


def _cut_summaries(fill: Fill) -> Iterator[CutSummary]:
    by_tag: dict[str, list[Cut]] = {}
    for cut in fill.cuts:
        by_tag.setdefault(cut.offcut.tag, []).append(cut)
    for cuts in by_tag.values():
        boards = Counter(fill.glue_ups[share.glue_up].board + 1 for cut in cuts for share in cut.shares)
        yield CutSummary(
            cut=cuts[0],
            pieces=len({cut.piece for cut in cuts}),
            lengths=sum(cut.lengths_cut for cut in cuts),
            strips=sum(cut.strips for cut in cuts),
            boards=", ".join(map(str, sorted(boards))),
        )
