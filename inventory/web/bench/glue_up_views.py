"""Glue-ups as a page shows them: drawn and told step by step, those that are alike once.

How it is drawn, `web.drawings` knows; which are alike, `inventory.layout.rounds`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display
from inventory.layout.end_grain_rows import SlicedBoard, sliced_boards
from inventory.layout.positions import GlueUpLayout
from inventory.layout.rounds import Round, group_identical
from inventory.web.bench.effort_view import nonbreaking
from inventory.web.drawings.end_grain import draw_sliced_board, draw_slicing
from inventory.web.drawings.glue_up import draw_glue_up
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture, draw_with_photos
from inventory.wording.steps import format_numbers, glue_up_steps, repeated_glue_up_text, second_glue_up_steps


@dataclass(frozen=True)
class GlueUpView:
    """One glue-up of strips, drawn, with its steps; `identical_to` tells those that are glued up in the same way."""

    heading: str
    layout: GlueUpLayout
    drawing: Markup
    steps: tuple[str, ...]
    identical_to: tuple[str, ...] = ()


@dataclass(frozen=True)
class SlicedBoardView:
    """An end-grain board: its panels sliced, the rows glued up, the steps from the one to the other."""

    heading: str
    slicing: Markup
    drawing: Markup
    steps: tuple[str, ...]
    identical_to: tuple[str, ...] = ()


def build_glue_up_views(
    part: Round,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
    textures: Mapping[str, Texture] | None = None,
    *,
    each_alone: bool = False,
) -> tuple[GlueUpView, ...]:
    """The glue-ups of a round; alike ones share a drawing, but for `each_alone` or where photos tell them apart."""
    layouts = part.fill_layout.layouts
    grouped = [(layout,) for layout in layouts] if each_alone or textures is not None else group_identical(layouts)
    headings = _HeadingBuilder(part)
    return tuple(
        GlueUpView(
            heading=headings.of(group),
            layout=group[0],
            drawing=_draw(group[0], display, hatchings, f"{drawing_id}-{place}" if place else drawing_id, textures),
            steps=tuple(nonbreaking(step) for step in glue_up_steps(group[0], display)),
            identical_to=tuple(repeated_glue_up_text(layout) for layout in group[1:]),
        )
        for place, group in enumerate(grouped)
    )


def _draw(
    layout: GlueUpLayout,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
    textures: Mapping[str, Texture] | None,
) -> Markup:
    if textures is None:
        return draw_glue_up(layout, display, hatchings, drawing_id)
    return draw_with_photos(layout, textures, display, hatchings, drawing_id)


class _HeadingBuilder:
    """What glue-ups are called: by their board where there are several, by their panel where a board has several."""

    def __init__(self, part: Round) -> None:
        self.boards = part.boards
        self.panels = Counter(layout.planned.board for layout in part.fill_layout.layouts)

    def of(self, layouts: Sequence[GlueUpLayout]) -> str:
        planned = layouts[0].planned
        panels = self.panels[planned.board]
        panel = "The panel" if panels == 1 else f"Panel {planned.panel + 1} of {panels}"
        if self.boards == 1:
            return panel if planned.rows else "The glue-up"
        numbers = [layout.planned.board + 1 for layout in layouts]
        board = f"Board{'s' if len(numbers) > 1 else ''} {format_numbers(numbers)} of {self.boards}"
        return f"{board}: {panel[0].lower()}{panel[1:]}" if planned.rows else board


def build_sliced_board_views(
    part: Round, display: Display, hatchings: HatchPatterns, drawing_id: str
) -> tuple[SlicedBoardView, ...]:
    """The end-grain boards of a round, each with its second glue-up."""
    return tuple(_sliced(part, display, hatchings, drawing_id))


def _sliced(part: Round, display: Display, hatchings: HatchPatterns, drawing_id: str) -> Iterator[SlicedBoardView]:
    for place, board in enumerate(sliced_boards(part.fill_layout)):
        yield SlicedBoardView(
            _sliced_heading(board, part.boards),
            draw_slicing(board, display, hatchings, f"{drawing_id}-slices-{place}"),
            draw_sliced_board(board, display, hatchings, f"{drawing_id}-rows-{place}"),
            tuple(nonbreaking(step) for step in second_glue_up_steps(board, display)),
        )


def _sliced_heading(board: SlicedBoard, boards: int) -> str:
    return "The second glue-up" if boards == 1 else f"Board {board.board + 1}: the second glue-up"
