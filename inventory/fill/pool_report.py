"""What each pool and stripe of a fill gets (cutting model, section 7)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from inventory.cutting.bands import Demand
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest


@dataclass(frozen=True)
class PoolReport:
    """What the bands of one demand require and receive, all identical glue-ups together.

    `request` is the board or panel, `glue_ups` how many are identical to it. `required` and `received`
    are widths in nanometers; of a stripe they count its strips. `strips` counts the strips or
    leaves that go into the glue-ups.
    """

    request: BoardRequest
    glue_ups: int
    demand: Demand
    required: int
    received: int
    strips: int
    cuts: tuple[Cut, ...]

    @property
    def is_stripe(self) -> bool:
        return self.demand.stripe is not None

    @property
    def bands(self) -> tuple[int, ...]:
        """The bands that it fills, counted from 1 across the board."""
        return tuple(band + 1 for band in self.demand.bands)


def pool_reports(fill: Fill) -> tuple[PoolReport, ...]:
    """What each pool and stripe of this fill gets, glue-up by glue-up, in the order of their first bands."""
    alike: dict[BoardRequest, set[int]] = {}
    for number, glue_up in enumerate(fill.glue_ups):
        alike.setdefault(glue_up.request, set()).add(number)
    return tuple(report for request, numbers in alike.items() for report in _reports(fill, request, numbers))


def _reports(fill: Fill, request: BoardRequest, numbers: set[int]) -> Iterator[PoolReport]:
    """The demands of identical glue-ups; of each cut, the strips that go to one of these."""
    for demand in request.demands():
        width = strips = 0
        cuts = []
        for cut in fill.cuts:
            if cut.band != demand.bands[0]:
                continue
            here = [share for share in cut.assignments if share.glue_up in numbers]
            if here:
                cuts.append(cut)
                width += sum(share.adds for share in here)
                strips += sum(share.strips for share in here)
        required, received = demand.target * len(numbers), width if demand.stripe is None else strips
        yield PoolReport(request, len(numbers), demand, required, received, strips, tuple(cuts))
