"""Times of two ways to do a thing, measured side by side, and told as a ratio.

Seconds are those that the processor spent on this process, whatever else it had to do.
On a machine with other work even these say little, a ratio more: both ways are taken
in turn, so that both meet the same weather, and the middle time of each counts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import process_time


@dataclass(frozen=True)
class Comparison:
    """What was done, in two ways, and the seconds that each took; the other may have given up after its own."""

    what: str
    one: str
    one_seconds: float
    other: str
    other_seconds: float
    timed_out: bool = False

    @property
    def ratio(self) -> float:
        """How many times the one goes into the other."""
        return self.other_seconds / self.one_seconds

    def told(self) -> str:
        """The line of the table.

        >>> Comparison("rack page", "100 pieces", 0.02, "10,000 pieces", 0.03).told()
        '| rack page | 100 pieces: 0.020 s | 10,000 pieces: 0.030 s | 1.5 |'
        """
        one, other = f"{self.one}: {self.one_seconds:.3f} s", f"{self.other}: {self.other_seconds:.3f} s"
        ratio = f"{self.ratio:,.{1 if self.ratio < 10 else 0}f}"
        if self.timed_out:
            other, ratio = f"{self.other}: no proof in {self.other_seconds:.0f} s", f"over {ratio}"
        return f"| {self.what} | {one} | {other} | {ratio} |"


def seconds(act: Callable[[], object]) -> float:
    """How long it takes, once."""
    begun = process_time()
    act()
    return process_time() - begun


def compare_times(
    what: str, one: tuple[str, Callable[[], object]], other: tuple[str, Callable[[], object]], times: int
) -> Comparison:
    """Both ways in turn, `times` each after one of each that doesn't count; the middle times."""
    (one_name, one_act), (other_name, other_act) = one, other
    one_act(), other_act()
    pairs = [(seconds(one_act), seconds(other_act)) for _ in range(times)]
    return Comparison(
        what, one_name, median(first for first, _ in pairs), other_name, median(second for _, second in pairs)
    )
