"""A long look through the rack on a terminal: how far it is, and Ctrl-C for "this is enough".

Knows how progress is shown on standard error. Looks for nothing itself: it is
handed better and better answers.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from time import monotonic

import click

from inventory.cli.program import NegativeResult
from inventory.services.boards.several_boards import BatchSolution

REFRESH_SECONDS = 0.2
"""How often the line on the terminal is written anew."""


def best_answer(answers: Iterator[BatchSolution]) -> tuple[BatchSolution, bool]:
    """The last and best answer, and whether Ctrl-C cut the look short. Raises AnswerIsNo where it came too early.

    Progress is told on standard error where that is a terminal.
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
