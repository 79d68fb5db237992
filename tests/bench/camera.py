"""How often a simulated camera reads a tag, and whether a wrong code is ever accepted.

Rates are shares of seeded frames (tests/labels/camera.py), each with its 95 % Wilson score interval. "One code" is a
label printed without its second code; "two codes" is the label as it is printed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.codes import code_in_picture
from labels.reading import read_photo
from tests.labels.camera import CODE, WEATHERS, PrintedLabel, ShotConditions, printed, render_frame

DPI = (300, 203)


@dataclass(frozen=True)
class Rate:
    """The number of frames in which the right code was read, and in which any other was."""

    frames: int
    read: int
    wrong: int

    @property
    def share(self) -> float:
        return self.read / self.frames

    def at_least(self, sigmas: float = 1.96) -> float:
        """The lower end of the Wilson score interval.

        >>> round(Rate(200, 200, 0).at_least(), 3)
        0.981
        """
        return self._end(-sigmas)

    def at_most(self, sigmas: float = 1.96) -> float:
        """The upper end of the interval."""
        return self._end(sigmas)

    def _end(self, sigmas: float) -> float:
        many, square = self.frames, sigmas * sigmas
        spread = math.sqrt(self.share * (1 - self.share) / many + square / (4 * many * many))
        return (self.share + square / (2 * many) + sigmas * spread) / (1 + square / many)


def rate(label: PrintedLabel, conditions: ShotConditions, frames: int, *, first: int = 0) -> Rate:
    """How often the code of a label is read under these conditions; the frames are numbered from `first`."""
    read = wrong = 0
    for seed in range(first, first + frames):
        codes = read_photo(render_frame(label, conditions, seed), code_in_picture).codes
        read += CODE in codes
        wrong += any(code != CODE for code in codes)
    return Rate(frames, read, wrong)


def rates_table(frames: int, *, first: int = 0) -> Iterator[str]:
    """The table, line by line, and the total of all frames."""
    yield f"| {frames} frames each | 300 dpi, one code | two codes | 203 dpi, one code | two codes |"
    yield "|---|---|---|---|---|"
    total = wrong = 0
    for conditions in WEATHERS:
        cells = []
        for dpi in DPI:
            for second in (False, True):
                found = rate(printed(dpi, second=second), conditions, frames, first=first)
                total, wrong = total + found.frames, wrong + found.wrong
                cells.append(f"{found.share:.1%} ({found.at_least():.1%} to {found.at_most():.1%})")
        yield f"| {conditions.name} | {' | '.join(cells)} |"
    yield f"\nA wrong code was accepted in {wrong} of {total:,} frames."
