"""`rackful restore`: a shop out of its archive."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.plurals import counted
from inventory.cli.program import Run, as_command
from inventory.services import backups
from inventory.services.backups import Restored


@as_command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--replace", is_flag=True, help="Put the folder that is there aside, under another name.")
def command(run: Run, file: Path, replace: bool) -> None:
    """Brings a shop back from the archive FILE, wholly or not at all.

    A folder that holds a shop is never written over: with --replace it is put aside beside the new one. Tags that
    were given there since the backup are never given again.

    \b
    Example:
      rackful restore shop-2030-01-31.zip --replace
    """
    done = backups.restore(file, run.folder, replace=replace)
    run.answer(
        {
            "folder": str(done.folder),
            "made_at": done.made_at.isoformat(),
            "photos": done.photos,
            "photos_missing": list(done.photos_missing),
            "put_aside": None if done.put_aside is None else str(done.put_aside),
            "codes_held": done.codes_held,
        },
        "\n".join(_told(done)),
    )
    if done.codes_held is None:
        run.warn("the shop that was put aside can't be read, so codes that it gave since the backup may come again.")


def _told(done: Restored) -> list[str]:
    lines = [f'The shop of {done.made_at:%Y-%m-%d %H:%M} with {counted(done.photos, "photo")} is in "{done.folder}".']
    if done.photos_missing:
        lines.append(f"{counted(len(done.photos_missing), 'photo')} were missing already when it was backed up.")
    if done.put_aside is not None:
        lines.append(f'What was there before is in "{done.put_aside}".')
    if done.codes_held:
        lines.append(f"{counted(done.codes_held, 'code')} given since the backup will not be given again.")
    return lines
