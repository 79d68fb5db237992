"""One hatching for each species, so that species differ without color.

The name is always written beside it: with more species than hatchings, some come twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.offcuts import species_key
from inventory.core.species import display_name

UNKNOWN_SPECIES = "species not noted"

# Each is a tile: its side in units of the drawing, and a path within it.
_TILES = (
    (9.0, "M0 4.5h9"),
    (7.0, "M0 7L7 0M-1 1L1 -1M6 8L8 6"),
    (8.0, "M1.5 2h1M5.5 6h1"),
    (5.0, "M0 2.5h5"),
    (7.0, "M0 0L7 7M-1 6L1 8M6 -1L8 1"),
    (8.0, "M0 2h5M4 6h4M0 6h1"),
    (8.0, "M0 4h8M4 0v8"),
    (9.0, "M0 2h9M0 4.5h9"),
    (10.0, "M2 5q1.5 -3 3 0t3 0"),
    (8.0, "M0 8L8 0M0 0L8 8"),
)


@dataclass(frozen=True)
class HatchPatterns:
    """The species of one page, each with its hatching; species beyond the tiles begin again."""

    keys: tuple[str, ...]

    @classmethod
    def of(cls, species: Iterable[str]) -> HatchPatterns:
        """The same species in any order get the same hatchings."""
        return cls(tuple(sorted({species_key(name) for name in species} - {""})))

    def tile(self, species: str) -> int | None:
        """Which tile; None for wood whose species is not noted: it stays blank."""
        key = species_key(species)
        return self.keys.index(key) % len(_TILES) if key in self.keys else None

    def paint(self, species: str, drawing_id: str) -> str:
        """What to write in a shape's `fill`."""
        tile = self.tile(species)
        return "none" if tile is None else f"url(#{drawing_id}-wood-{tile})"

    def definitions(self, drawing_id: str, species: Iterable[str], units_per_mm: float) -> Markup:
        """The tiles for a drawing, drawn equally large whatever its scale."""
        tiles = sorted({tile for name in species if (tile := self.tile(name)) is not None})
        return Markup("<defs>{}</defs>").format(
            Markup("").join(_pattern(f"{drawing_id}-wood-{tile}", tile, 1 / units_per_mm) for tile in tiles)
        )

    def sample(self, species: str, sample_id: str) -> Markup:
        """A small patch for a legend; its name is written beside it, so that a screen reader skips it."""
        tile = self.tile(species)
        defs = "" if tile is None else _pattern(f"{sample_id}-wood-{tile}", tile, 1.0)
        return Markup(
            '<svg class="hatching" viewBox="0 0 36 20" width="36" height="20" aria-hidden="true"><defs>{}</defs>'
            '<rect class="ink-strip" x="1" y="1" width="34" height="18" fill="{}" stroke="currentColor"/></svg>'
        ).format(defs, self.paint(species, sample_id))


def species_name(species: str) -> str:
    """The species as written beside its hatching."""
    return display_name(species) or UNKNOWN_SPECIES


def _pattern(pattern_id: str, tile: int, scale: float) -> Markup:
    side, path = _TILES[tile]
    return Markup(
        '<pattern id="{}" width="{side}" height="{side}" patternUnits="userSpaceOnUse" '
        'patternTransform="scale({scale})"><path class="ink-hatch" d="{path}" fill="none" stroke="currentColor" '
        'stroke-width="0.8" opacity="0.6"/></pattern>'
    ).format(pattern_id, side=side, scale=f"{scale:.6g}", path=path)
