"""The words of pages and steps for each construction: its name, and how its strips are placed."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.cutting.constructions import Grain


@dataclass(frozen=True)
class ConstructionText:
    """The words of one construction; `lay_steps` have the fields `{numbers}`, of strips, and `{thickness}`."""

    name: str
    summary: str
    placed: str = ""
    placed_short: str = ""
    glued: str = ""
    rings: str = ""
    lay_steps: tuple[str, ...] = ()


CONSTRUCTION_TEXTS = {
    Grain.EDGE: ConstructionText(
        name="Edge grain",
        summary="strips turned on edge, glued face to face",
        placed="turned on edge",
        placed_short="on edge",
        glued="on edge, glued face to face",
        rings="to the left and to the right",
        lay_steps=("Turn the strips on edge and lay {numbers} in order as drawn, face against face.",),
    ),
    Grain.FACE: ConstructionText(
        name="Face grain",
        summary="strips laid flat, glued edge to edge",
        placed="laid flat",
        placed_short="laid flat",
        glued="laid flat, glued edge to edge",
        rings="up and down",
        lay_steps=(
            "Plane all strips to {thickness} thick.",
            "Lay {numbers} flat in order as drawn, edge against edge.",
        ),
    ),
    Grain.END: ConstructionText(
        name="End grain",
        summary="a panel is glued, sliced across, the slices turned up and glued again",
    ),
}
