"""Glue-ups as a page shows them: drawn, with their steps, those that are alike once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display
from inventory.layout.end_grain_rows import sliced_boards
from inventory.layout.positions import GlueUpLayout, Strip
from inventory.layout.rounds import Round, group_identical
from inventory.web.drawings.end_grain import draw_sliced_board, draw_slicing
from inventory.web.drawings.glue_up import draw_glue_up
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture, draw_with_photos
from inventory.wording.steps import format_numbers, glue_up_steps, repeated_glue_up_text, second_glue_up_steps


@dataclass(frozen=True)
class GlueUpView:
    """One glue-up, drawn, with its steps: of strips, or of the rows of an end-grain board.

    `identical_to` has a line for each other glue-up that is glued up in the same way. `slicing` shows how the panels
    are sliced to rows.
    """

    heading: str
    drawing: Markup
    steps: tuple[str, ...]
    strips: tuple[Strip, ...] = ()
    identical_to: tuple[str, ...] = ()
    slicing: Markup | None = None


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
    return tuple(
        GlueUpView(
            heading=_heading(group, part),
            drawing=_draw(group[0], display, hatchings, f"{drawing_id}-{place}" if place else drawing_id, textures),
            steps=glue_up_steps(group[0], display),
            strips=group[0].strips,
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


def _heading(group: Sequence[GlueUpLayout], part: Round) -> str:
    """Glue-ups by their board where there are several, by their panel where a board has several."""
    planned = group[0].planned
    panels = sum(layout.planned.board == planned.board for layout in part.fill_layout.layouts)
    panel = "The panel" if panels == 1 else f"Panel {planned.panel + 1} of {panels}"
    if part.boards == 1:
        return panel if planned.rows else "The glue-up"
    numbers = [layout.planned.board + 1 for layout in group]
    board = f"Board{'s' if len(numbers) > 1 else ''} {format_numbers(numbers)} of {part.boards}"
    return f"{board}: {panel[0].lower()}{panel[1:]}" if planned.rows else board


def build_sliced_board_views(
    part: Round, display: Display, hatchings: HatchPatterns, drawing_id: str
) -> tuple[GlueUpView, ...]:
    """The second glue-up of each end-grain board of a round."""
    return tuple(
        GlueUpView(
            heading="The second glue-up" if part.boards == 1 else f"Board {board.board + 1}: the second glue-up",
            drawing=draw_sliced_board(board, display, hatchings, f"{drawing_id}-rows-{place}"),
            steps=second_glue_up_steps(board, display),
            slicing=draw_slicing(board, display, hatchings, f"{drawing_id}-slices-{place}"),
        )
        for place, board in enumerate(sliced_boards(part.fill_layout))
    )
