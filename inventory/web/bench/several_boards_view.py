"""The options for several boards as their page shows them: drawn, or as tables where there are many boards."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from inventory.core.lengths import Display, format_volume
from inventory.core.workshop import Workshop
from inventory.cutting.cuts import Cut
from inventory.fill.certainty import certainty_of
from inventory.fill.plan import Fill, Plan
from inventory.web.bench.answer_view import RANK_NAMES, CutRow, OptionView, build_answer_view
from inventory.wording.certainty_text import certainty_sentence

MAX_DRAWN = 12
"""Of more glue-ups than this the options are shown in tables; all are drawn once they are set aside."""


def build_order_options(plan: Plan, workshop: Workshop, display: Display) -> tuple[OptionView, ...]:
    """The options of a plan for several boards; none where it has a shortfall."""
    if plan.fills and len(plan.fills[0].glue_ups) <= MAX_DRAWN:
        return build_answer_view(plan, workshop, display).sets
    return tuple(_tabulated(number, fill, plan, display) for number, fill in enumerate(plan.fills, 1))


def _tabulated(number: int, fill: Fill, plan: Plan, display: Display) -> OptionView:
    certainty = certainty_sentence(certainty_of(fill, plan.request.on), best=True)
    return OptionView(
        number=number,
        fill=fill,
        ranks=((RANK_NAMES[0], certainty, (fill.prefer,)),),
        figures=(
            ("Yield", f"{fill.yield_share * 100:.0f} %"),
            ("Wood off the rack", format_volume(fill.loss, display.unit)),
            ("Waste", format_volume(fill.waste, display.unit)),
            ("Offcuts", f"{fill.pieces:,}"),
            ("Strips", f"{fill.strips:,}"),
        ),
        cuts=tuple(_cut_rows(fill)),
    )


def _cut_rows(fill: Fill) -> Iterator[CutRow]:
    by_tag: dict[str, list[Cut]] = {}
    for cut in fill.cuts:
        by_tag.setdefault(cut.offcut.tag, []).append(cut)
    for cuts in by_tag.values():
        boards = Counter(fill.glue_ups[share.glue_up].board + 1 for cut in cuts for share in cut.shares)
        yield (
            cuts[0].offcut,
            len({cut.piece for cut in cuts}),
            sum(cut.lengths_cut for cut in cuts),
            sum(cut.strips for cut in cuts),
            ", ".join(map(str, sorted(boards))),
        )
