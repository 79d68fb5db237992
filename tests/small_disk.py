"""A real disk that is full soon: a tmpfs of a few kilobytes in a namespace of its own (Linux, util-linux)."""

import os
import subprocess
import sys
from pathlib import Path


def run_on_a_small_disk(script: str, folder: Path, kilobytes: int) -> subprocess.CompletedProcess[str]:
    """Runs a Python script whose `disk` is a Path on a disk of this size; `folder` keeps what it leaves elsewhere."""
    disk = folder / "small-disk"
    disk.mkdir()
    lead = f"from pathlib import Path\ndisk = Path({str(disk)!r})\nfolder = Path({str(folder)!r})\n"
    mount = f'mount -t tmpfs -o size={kilobytes}k tmpfs \'{disk}\' && exec "$0" -c "$1"'
    return subprocess.run(
        ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", mount, sys.executable, lead + script],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
    )
