"""Atomic file writes: a file is there complete or not at all."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from inventory.core.errors import UserError

PRIVATE = 0o600
"""For files that hold the shop's secrets: nobody but the owner reads them."""
SHARED = 0o666
"""For files made for others; the user's own umask takes its part off."""


class WriteFailed(UserError):
    """A file that could not be written; nothing of it was left behind."""


@contextmanager
def atomic_write(path: Path, mode: int = SHARED) -> Iterator[BinaryIO]:
    """Opens a file that appears at `path` only once it is complete and on the disk.

    A former file is replaced in one step, at the end. Raises
    WriteFailed where the disk is full, the folder is missing, or it can't be
    written to.
    """
    target = path
    try:
        target = path.resolve()
        if target.exists() and not target.is_file():
            raise WriteFailed(f'"{path}" is not a file and can\'t be written over. Name a file.')
        part = target.with_name(f".{target.name[:100]}.{secrets.token_hex(6)}.part")
        try:
            with open(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, mode), "w+b") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(part, target)
            fsync_folder(target.parent)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise WriteFailed(f'"{path}" can\'t be written: {write_error_reason(error, target.parent)}') from error


def make_folder(folder: Path) -> None:
    """Makes a folder and those above it, on the disk; raises WriteFailed."""
    if folder.is_dir():
        return
    if folder.parent != folder:
        make_folder(folder.parent)
    try:
        folder.mkdir(exist_ok=True)
        fsync_folder(folder.parent)
    except OSError as error:
        raise WriteFailed(
            f'The folder "{folder}" can\'t be made: {write_error_reason(error, folder.parent)}'
        ) from error


def fsync_folder(folder: Path) -> None:
    """Waits until the names in a folder are on the disk, where the system can say so."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_error_reason(error: OSError, folder: Path) -> str:
    """Why a file in `folder` could not be written and how to fix it, as the end of a sentence."""
    match error.errno:
        case errno.ENOSPC | errno.EDQUOT:
            return "the disk is full. Free some space and try again."
        case errno.ENOENT | errno.ENOTDIR:
            return f'there is no folder "{folder}". Make it, or name another.'
        case errno.EEXIST:
            return "a file of that name is in the way. Choose another name."
        case errno.EACCES | errno.EPERM:
            return "this user may not write there. Name another place, or change who may."
        case errno.EROFS:
            return "that disk can only be read. Name another place."
        case errno.ENAMETOOLONG:
            return "the name is too long. Choose a shorter one."
        case _:
            return f"{error.strerror or error}. Name another place, or try again."
