"""A plan as the pages show it: options, drawn with their steps, each once however often it is best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display, typed_text
from inventory.core.offcuts import Face, Offcut
from inventory.core.workshop import Workshop
from inventory.cutting.costs import Preference
from inventory.fill.certainty import certainty_of
from inventory.fill.plan import Fill, OtherSpecies, Plan
from inventory.fill.request import BoardRequest
from inventory.layout.finished_board import finished_boards
from inventory.layout.operations import operations_for
from inventory.layout.positions import FillLayout, LetteredPiece
from inventory.layout.rounds import Round, whole
from inventory.layout.strip_layout import lay_out_fill
from inventory.services.boards.filling import fill_key
from inventory.web.bench.figures import Figures, option_figures, strip_count_text
from inventory.web.bench.glue_up_views import GlueUpView, build_glue_up_views, build_sliced_board_views
from inventory.web.bench.pools_view import PoolRow, build_pool_rows
from inventory.web.drawings.cut_diagram import draw_cutting
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.photo_texture import Texture
from inventory.web.drawings.resawing import draw_resawing
from inventory.wording.certainty_text import certainty_sentence
from inventory.wording.effort_text import format_basis, format_boards, format_cutting, format_gluing
from inventory.wording.nearly_text import nearly_sentence, row_depth_sentence
from inventory.wording.steps import PieceSteps, piece_steps

RANK_NAMES = (
    "Best",
    *("Second best", "Third best", "Fourth best", "Fifth best", "Sixth best"),
    *("Seventh best", "Eighth best", "Ninth best", "Tenth best"),
)

Rank = tuple[str, str, tuple[Preference, ...]]
"""How good an option is, how sure that is, and by which preferences: `Best`, `Proven …`."""

HalvedAllowance = tuple[str, str, str]
"""What a smaller allowance would bring, in a sentence; its name, and what to type for it."""

CutRow = tuple[Offcut, int, int, int, str]
"""What is cut off the like pieces of one tag: how many pieces, lengths and strips, and the boards these go to."""


@dataclass(frozen=True)
class CutPiecesView:
    """One piece, or like pieces that are cut alike, with drawing and steps; `resawing` where strips are resawn."""

    pieces: tuple[LetteredPiece, ...]
    drawing: Markup
    resawing: Markup | None
    steps: PieceSteps

    @property
    def offcut(self) -> Offcut:
        return self.pieces[0].offcut

    @property
    def letters(self) -> str:
        return ", ".join(piece.letter for piece in self.pieces)

    @property
    def finished(self) -> bool:
        """Whether an old finish has to come off."""
        return Face.FINISHED in self.offcut.faces


@dataclass(frozen=True)
class FillView:
    """A fill, drawn: its pieces, its glue-ups, what it costs, and what it asks of the person.

    `sliced` are the end-grain boards that are made of the glue-ups. `cutting` and `gluing` are sentences on the work,
    `board` on the finished board, `basis` on what weights and movements rest on.
    """

    fill_layout: FillLayout
    pieces: tuple[CutPiecesView, ...]
    glue_ups: tuple[GlueUpView, ...]
    sliced: tuple[GlueUpView, ...]
    species: tuple[tuple[str, Markup], ...]
    figures: Figures
    cutting: tuple[str, ...]
    gluing: tuple[str, ...]
    board: tuple[str, ...]
    basis: tuple[str, ...]

    @property
    def fill(self) -> Fill:
        return self.fill_layout.fill

    @property
    def main(self) -> GlueUpView:
        """The glue-up whose drawing is shown for the whole fill: the first one, of end grain that of the rows."""
        return (self.sliced or self.glue_ups)[0]

    @property
    def strips(self) -> str:
        """How many strips: `5 strips`, or `8 strips ripped, 9 glued up`."""
        number, _, more = strip_count_text(self.fill_layout).partition(" ")
        return f"{number} strip{'s' if number != '1' else ''}{f' {more}' if more else ''}"


@dataclass(frozen=True)
class OptionView:
    """An option with its number on the page and its ranks: drawn in `shown`, or its `cuts` in a table.

    `nearly` says which smaller allowances would bring a better one, `row_depth` which depth of rows was best.
    """

    number: int
    fill: Fill
    ranks: tuple[Rank, ...]
    figures: Figures
    shown: FillView | None = None
    nearly: tuple[HalvedAllowance, ...] = ()
    row_depth: str = ""
    pools: tuple[PoolRow, ...] = ()
    cuts: tuple[CutRow, ...] = ()

    @property
    def name(self) -> str:
        return f"Set {self.number}"

    @property
    def anchor(self) -> str:
        return f"set-{self.number}"

    @property
    def key(self) -> str:
        """What the form that sets it aside sends."""
        return fill_key(self.fill)

    @property
    def best_for(self) -> tuple[Preference, ...]:
        return tuple(each for name, _, preferences in self.ranks if name == RANK_NAMES[0] for each in preferences)


@dataclass(frozen=True)
class AnswerView:
    """All options of a plan, the best ones first, and by preference in their order.

    `other_species` are those that would do as well, by the first preference.
    """

    sets: tuple[OptionView, ...]
    ranking: tuple[tuple[Preference, tuple[OptionView, ...]], ...]
    other_species: tuple[OtherSpecies, ...] = ()

    @property
    def best(self) -> tuple[OptionView, ...]:
        return tuple(each for each in self.sets if each.best_for)

    @property
    def further(self) -> tuple[OptionView, ...]:
        return tuple(each for each in self.sets if not each.best_for)


def build_fill_view(
    fill: Fill, request: BoardRequest, workshop: Workshop, display: Display, hatchings: HatchPatterns, drawing_id: str
) -> FillView:
    """One fill in its proposed order, drawn. `drawing_id` must be unique on the page."""
    return build_layout_view(lay_out_fill(fill, request), workshop, display, hatchings, drawing_id, None)


def build_layout_view(
    fill_layout: FillLayout,
    workshop: Workshop,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
    textures: Mapping[str, Texture] | None,
    part: Round | None = None,
) -> FillView:
    """One fill as it is laid out, drawn; with `textures` its glue-ups show the photos of its offcuts.

    With a `part` only that round of it is drawn; the figures are those of the whole.
    """
    strip_widths = [[strip.width for strip in layout.strips] for layout in fill_layout.layouts]
    operations = operations_for(fill_layout.fill, workshop, strip_widths)
    boards = finished_boards(fill_layout.fill, fill_layout.request)
    part = part or whole(fill_layout)
    pieces = tuple(
        CutPiecesView(
            group,
            draw_cutting(group, display, hatchings, f"{drawing_id}-{group[0].letter.lower()}"),
            draw_resawing(group, display, hatchings, f"{drawing_id}-{group[0].letter.lower()}-end"),
            piece_steps(group, part.fill_layout.layout_of(group[0]), display),
        )
        for group in part.fill_layout.identical_pieces
    )
    species = sorted({strip.offcut.species for strip in part.fill_layout.strips})
    return FillView(
        fill_layout=fill_layout,
        pieces=pieces,
        glue_ups=build_glue_up_views(part, display, hatchings, drawing_id, textures),
        sliced=build_sliced_board_views(part, display, hatchings, drawing_id),
        species=tuple(
            (species_name(name), hatchings.sample(name, f"{drawing_id}-sample-{place}"))
            for place, name in enumerate(species)
        ),
        figures=option_figures(fill_layout, operations, boards, workshop, display),
        cutting=format_cutting(operations, display),
        gluing=format_gluing(operations, workshop, display),
        board=format_boards(boards, workshop, display),
        basis=format_basis(boards, workshop, display),
    )


def build_answer_view(plan: Plan, workshop: Workshop, display: Display) -> AnswerView:
    """The plan's options, each drawn once; the best of each preference come first."""
    hatchings = HatchPatterns.of(cut.offcut.species for fill in plan.fills for cut in fill.cuts)
    by_preference: dict[Preference, list[Fill]] = {}
    for fill in plan.fills:
        by_preference.setdefault(fill.prefer, []).append(fill)
    ranks: dict[object, dict[tuple[int, str], list[Preference]]] = {}
    nearly: dict[object, dict[str, HalvedAllowance]] = {}
    row_depths: dict[object, str] = {}
    first: dict[object, Fill] = {}
    ranked = sorted(
        ((rank, order, fill) for order, fills in enumerate(by_preference.values()) for rank, fill in enumerate(fills)),
        key=lambda each: each[:2],
    )
    for rank, _, fill in ranked:
        same = fill.cuts_key
        first.setdefault(same, fill)
        certainty = certainty_sentence(certainty_of(fill, plan.request.on), best=rank == 0)
        row_depths[same] = row_depths.get(same) or row_depth_sentence(fill, plan.request.on, display)
        for each in fill.nearly:
            halved = (
                nearly_sentence(each, fill, plan.request.on, display),
                each.allowance,
                typed_text(each.to, display.unit),
            )
            nearly.setdefault(same, {}).setdefault(each.allowance, halved)
        # An option that is best for three preferences says so once.
        ranks.setdefault(same, {}).setdefault((rank, certainty), []).append(fill.prefer)
    options: dict[object, OptionView] = {}
    for number, (same, fill) in enumerate(first.items(), 1):
        shown = build_fill_view(fill, plan.request, workshop, display, hatchings, f"set-{number}")
        options[same] = OptionView(
            number=number,
            fill=fill,
            ranks=tuple(
                (RANK_NAMES[rank], certainty, tuple(preferences))
                for (rank, certainty), preferences in ranks[same].items()
            ),
            figures=shown.figures,
            shown=shown,
            nearly=tuple(nearly.get(same, {}).values()),
            row_depth=row_depths[same],
            pools=build_pool_rows(shown.fill_layout, display),
        )
    ranking = tuple(
        (preference, tuple(options[fill.cuts_key] for fill in fills)) for preference, fills in by_preference.items()
    )
    return AnswerView(tuple(options.values()), ranking, plan.fills[0].other_species)


def option_tags(options: Sequence[OptionView]) -> tuple[str, ...]:
    """The tags of all offcuts in these options, each once."""
    return tuple(dict.fromkeys(cut.offcut.tag for each in options for cut in each.fill.cuts))
