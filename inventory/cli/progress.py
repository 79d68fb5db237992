"""Shows the progress of a long search on standard error; Ctrl-C takes the best answer so far."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from time import monotonic

import click

from inventory.cli.program import NegativeResult
from inventory.services.boards.several_boards import BatchSolution

REFRESH_SECONDS = 0.2
"""How often the line on the terminal is rewritten."""


def best_answer(answers: Iterator[BatchSolution]) -> tuple[BatchSolution, bool]:
    """The last and best answer, and whether Ctrl-C stopped the search.

    Shows progress if standard error is a terminal. Raises NegativeResult if it was stopped before the first plan.
    """
    is_terminal, next_time, width = sys.stderr.isatty(), 0.0, 0
    best: BatchSolution | None = None
    stopped = False
    try:
        for best in answers:
            if is_terminal and monotonic() >= next_time:
                line = f"{best.message}. Ctrl-C: this is enough"
                click.echo("\r" + line.ljust(width), nl=False, err=True)
                width, next_time = len(line), monotonic() + REFRESH_SECONDS
    except KeyboardInterrupt:
        stopped = True
    if width:
        click.echo("\r" + " " * width + "\r", nl=False, err=True)
    if best is None or best.plan is None:
        raise NegativeResult("Stopped before anything was found. Give it longer, or ask for fewer boards.")
    return best, stopped
