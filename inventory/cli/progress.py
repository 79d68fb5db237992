"""A long look through the rack on a terminal: how far it is, and Ctrl-C for "this is enough".

Knows how progress is shown on standard error. Looks for nothing itself: it is
handed better and better answers.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from time import monotonic

import click

from inventory.cli.program import AnswerIsNo
from inventory.services.boards.several_boards import Found

SECONDS_BETWEEN = 0.2
"""How often the line on the terminal is written anew."""


def best_of(answers: Iterator[Found]) -> tuple[Found, bool]:
    """The last and best answer, and whether Ctrl-C cut the look short. Raises AnswerIsNo where it came too early.

    Progress is told on standard error where that is a terminal.
    """
    shows, next_time, width = sys.stderr.isatty(), 0.0, 0
    best: Found | None = None
    stopped = False
    try:
        for best in answers:
            if shows and monotonic() >= next_time:
                line = f"{best.words}. Ctrl-C: this is enough"
                click.echo("\r" + line.ljust(width), nl=False, err=True)
                width, next_time = len(line), monotonic() + SECONDS_BETWEEN
    except KeyboardInterrupt:
        stopped = True
    if width:
        click.echo("\r" + " " * width + "\r", nl=False, err=True)
    if best is None or best.plan is None:
        raise AnswerIsNo("Stopped before anything was found. Give it longer, or ask for fewer boards.")
    return best, stopped
