"""Unexpected errors: the details go to a log file, the user gets a sentence."""

from __future__ import annotations

import os
import tempfile
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

LOG_NAME = "rackful.log"
_MAX_LOG_BYTES = 5_000_000


def log_failure(error: Exception, folder: Path, given: Sequence[str]) -> str:
    """Writes the details of an unexpected error to the log and returns a sentence for the user."""
    details = "".join(traceback.format_exception(error))
    entry = f"{datetime.now().astimezone().isoformat()} rackful {' '.join(given)}\n{details}\n"
    for path in (folder / LOG_NAME, Path(tempfile.gettempdir()) / LOG_NAME):
        try:
            _append(path, entry)
        except OSError:
            continue
        where = f'The details are in "{path}".'
        break
    else:
        where = "The details could not be written anywhere."
    return f"Something went wrong that Rackful did not expect ({type(error).__name__}). {where} Try it again once."


def one_line(message: str) -> str:
    """The message as one line, without unprintable characters."""
    return " ".join("".join(each if each.isprintable() else " " for each in message).split())


def _append(path: Path, entry: str) -> None:
    if path.exists() and path.stat().st_size > _MAX_LOG_BYTES:
        path.replace(path.with_name(f"{LOG_NAME}.1"))
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o600)
    with open(handle, "a", encoding="utf-8", errors="backslashreplace") as log:
        log.write(entry)
