"""The command line `rackful`: one module per command (contract, "Command line").

Exit codes: 0 done, 1 the answer is no, 2 wrong usage or bad input. 1 and 2 come with one line on standard error,
never with a traceback.
"""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Sequence

import click

from inventory.cli.error_log import log_failure, one_line
from inventory.cli.program import PROGRAM, CommandContext, NegativeResult
from inventory.core.errors import UserError
from inventory.services.rack.rack_csv import BadRows

EXIT_OK, EXIT_NO, EXIT_ERROR, EXIT_INTERRUPTED = 0, 1, 2, 130
"""130 is the shell convention for a program that Ctrl-C stopped: 128 + signal 2."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command line and returns its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        # A terminal without ≈ or × shows an escape instead of failing.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    run = CommandContext()
    try:
        code = _run_command(run, given)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader closed the pipe early, as `head` does. What is still to be flushed goes to the null device.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_OK
    return code


def _run_command(run: CommandContext, given: list[str]) -> int:
    as_json = "--json" in given
    try:
        PROGRAM.main(args=given or ["--help"], prog_name="rackful", standalone_mode=False, obj=run)
    except NegativeResult as answer:
        click.echo(one_line(str(answer)), err=True)
        return EXIT_NO
    except click.UsageError as error:
        return _report_error(_usage(error), as_json)
    except click.ClickException as error:
        return _report_error(error.format_message(), as_json)
    except BadRows as error:
        _report_bad_rows(error, as_json)
        click.echo(one_line(str(error)), err=True)
        return EXIT_ERROR
    except UserError as error:
        return _report_error(str(error), as_json)
    except (KeyboardInterrupt, click.Abort):
        click.echo("Stopped.", err=True)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        raise
    except Exception as error:
        return _report_error(log_failure(error, run.folder, given), as_json)
    return EXIT_OK


def _report_error(message: str, as_json: bool) -> int:
    if as_json:
        click.echo(json.dumps({"error": one_line(message)}, ensure_ascii=False))
    click.echo(one_line(message), err=True)
    return EXIT_ERROR


def _usage(error: click.UsageError) -> str:
    message = one_line(error.format_message())
    command = error.ctx.command_path if error.ctx else "rackful"
    return f'{message}{"" if message.endswith((".", "?")) else "."} Type "{command} --help" for what it takes.'


def _report_bad_rows(error: BadRows, as_json: bool) -> None:
    if as_json:
        faults = [{"line": fault.line, "reason": fault.reason} for fault in error.faults]
        click.echo(json.dumps({"error": str(error), "faults": faults}, ensure_ascii=False))
        return
    for fault in error.faults:
        click.echo(f"line {fault.line}: {one_line(fault.reason)}")
