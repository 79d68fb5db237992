"""Times of two ways to do the same thing, and their ratio.

Seconds are CPU time of this process. Other work on the machine disturbs even these, but hardly their ratio: both ways
run in turn, and the median of each counts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import process_time


@dataclass(frozen=True)
class Comparison:
    """One thing done in two ways, with the seconds of each; `timed_out` if the other gave up after its seconds."""

    what: str
    one: str
    one_seconds: float
    other: str
    other_seconds: float
    timed_out: bool = False

    @property
    def ratio(self) -> float:
        """The other time divided by the one."""
        return self.other_seconds / self.one_seconds

    def table_row(self) -> str:
        """The row of the table.

        >>> Comparison("rack page", "100 pieces", 0.02, "10,000 pieces", 0.03).table_row()
        '| rack page | 100 pieces: 0.020 s | 10,000 pieces: 0.030 s | 1.5 |'
        """
        one, other = f"{self.one}: {self.one_seconds:.3f} s", f"{self.other}: {self.other_seconds:.3f} s"
        ratio = f"{self.ratio:,.{1 if self.ratio < 10 else 0}f}"
        if self.timed_out:
            other, ratio = f"{self.other}: no proof in {self.other_seconds:.0f} s", f"over {ratio}"
        return f"| {self.what} | {one} | {other} | {ratio} |"


def seconds(act: Callable[[], object]) -> float:
    """CPU seconds of one call."""
    begun = process_time()
    act()
    return process_time() - begun


def compare_times(
    what: str, one: tuple[str, Callable[[], object]], other: tuple[str, Callable[[], object]], times: int
) -> Comparison:
    """The medians of `times` calls of each way, in turn, after one call of each that doesn't count."""
    (one_name, one_act), (other_name, other_act) = one, other
    one_act(), other_act()
    pairs = [(seconds(one_act), seconds(other_act)) for _ in range(times)]
    return Comparison(
        what, one_name, median(first for first, _ in pairs), other_name, median(second for _, second in pairs)
    )
