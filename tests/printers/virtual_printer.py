"""A whole printing system for a test: CUPS on a socket of its own, and virtual printers that keep what they get.

Everything lies in one folder, needs no rights of root and ends with the test. The printers announce themselves
nowhere; the tool that plays them looks for a message bus all the same, so it is given one of its own on which
nobody else is.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from inventory.printers.cups import Cups

START_TIMEOUT = 90.0
"""Seconds until a part that doesn't start is given up."""

BUS = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <listen>{address}</listen>
  <policy context="default"><allow send_destination="*"/><allow receive_sender="*"/></policy>
</busconfig>
"""
CUPSD = """Listen {socket}
Browsing Off
DefaultAuthType None
WebInterface No
JobRetryInterval 1
JobRetryLimit 2
ErrorPolicy {on_error}
<Location />
Order allow,deny
Allow all
</Location>
<Location /admin>
Order allow,deny
Allow all
</Location>
<Policy default>
<Limit All>
Order allow,deny
</Limit>
</Policy>
"""
CUPS_FILES = """ServerRoot {cups}/etc
StateDir {cups}/run
CacheDir {cups}/cache
RequestRoot {cups}/spool
TempDir {cups}/spool/tmp
AccessLog {cups}/log/access_log
ErrorLog {cups}/log/error_log
PageLog {cups}/log/page_log
SystemGroup root lpadmin
"""
SAVE_SCRIPT = """#!/bin/sh
# What a job brings: the document, and what the job asks for.
env | grep -E '^IPP_' | sort > "$RECEIVED/$IPP_JOB_ID.asked"
for document in "$@"; do cp "$document" "$RECEIVED/$IPP_JOB_ID.doc"; done
"""
# A label printer's papers and resolution, our own description of a printer that does not exist.
SIZES = {"62x29mm": "175.748 82.205", "A4": "595.276 841.89"}


def label_printer_description() -> str:
    """What a printer for single labels says of itself (PPD 4.3)."""
    lines = [
        '*PPD-Adobe: "4.3"', '*FormatVersion: "4.3"', '*FileVersion: "1.0"', "*LanguageVersion: English",
        "*LanguageEncoding: ISOLatin1", '*PCFileName: "LABEL.PPD"', '*Manufacturer: "Virtual"',
        '*Product: "(Virtual Label)"', '*ModelName: "Virtual Label"', '*ShortNickName: "Virtual Label"',
        '*NickName: "Virtual Label"', '*PSVersion: "(3010.000) 0"', '*LanguageLevel: "3"', "*ColorDevice: False",
        "*DefaultColorSpace: Gray", "*FileSystem: False", '*Throughput: "60"',
    ]  # fmt: skip
    for number, name in enumerate(("PageSize", "PageRegion"), 10):
        lines += [f"*OpenUI *{name}/Media Size: PickOne", f"*OrderDependency: {number} AnySetup *{name}"]
        lines += [f"*Default{name}: 62x29mm", *(f'*{name} {size}/{size}: ""' for size in SIZES), f"*CloseUI: *{name}"]
    lines += ["*DefaultImageableArea: 62x29mm"]
    lines += [f'*ImageableArea {size}/{size}: "0 0 {points}"' for size, points in SIZES.items()]
    lines += ["*DefaultPaperDimension: 62x29mm"]
    lines += [f'*PaperDimension {size}/{size}: "{points}"' for size, points in SIZES.items()]
    lines += ["*OpenUI *Resolution/Resolution: PickOne", "*DefaultResolution: 300dpi"]
    lines += ['*Resolution 300dpi/300dpi: ""', "*CloseUI: *Resolution"]
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class CupsSystem:
    """A CUPS that runs, and where its printers put what they got."""

    folder: Path
    socket: str

    @property
    def received(self) -> list[bytes]:
        """The documents in the order in which they came out."""
        documents = sorted((self.folder / "received").rglob("*.doc"), key=lambda path: path.stat().st_mtime_ns)
        return [path.read_bytes() for path in documents]

    def forget(self) -> None:
        """Throws away what came out so far."""
        for path in (self.folder / "received").rglob("*.*"):
            path.unlink()

    def admin(self, *command: str) -> None:
        """Runs one of CUPS's own commands for those who look after it."""
        done = subprocess.run(
            command, env=os.environ | {"CUPS_SERVER": self.socket}, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{command}: {done.stderr}"


@contextmanager
def printing() -> Iterator[CupsSystem]:
    """CUPS with an office printer (`office`), a label printer (`label`), one that takes no jobs (`off`), and one that
    says it has small labels and refuses them when they come (`broken`)."""
    # Not pytest's own folder: the path of a socket may have 107 letters, and CUPS's programs run as another user.
    folder = Path(tempfile.mkdtemp(prefix="rackful-cups-"))
    folder.chmod(0o755)
    with ExitStack() as stack:
        stack.callback(shutil.rmtree, folder, ignore_errors=True)
        bus = _start_bus(stack, folder)
        ports = {name: _start_printer(stack, folder, bus, name) for name in ("office", "label")}
        ours = CupsSystem(folder, _start_cups(stack, folder))
        for name, port in ports.items():
            _wait(lambda port=port: _port_open(port), f"the virtual printer {name}")
            ours.admin("lpadmin", "-p", name, "-E", "-v", f"ipp://localhost:{port}/ipp/print", "-m", "everywhere",
                       "-D", f"The {name} printer", "-o", "printer-error-policy=abort-job")  # fmt: skip
        # CUPS asks a printer what it is in its own time.
        described = folder / "cups" / "etc" / "ppd" / "label.ppd"
        _wait(described.exists, "the description of the label printer")
        ours.admin("lpadmin", "-p", "broken", "-E", "-v", f"ipp://localhost:{ports['office']}/ipp/print",
                   "-P", str(described), "-o", "printer-error-policy=abort-job")  # fmt: skip
        ours.admin("lpadmin", "-p", "off", "-v", "file:///dev/null")
        _wait(lambda: len([each for each in Cups(ours.socket).printers() if each.papers]) == 3, "all printers")
        yield ours


def _start_bus(stack: ExitStack, folder: Path) -> dict[str, str]:
    """A message bus, and the environment in which a program finds it."""
    address = f"unix:path={folder}/bus"
    settings = folder / "bus.conf"
    settings.write_text(BUS.format(address=address))
    _start(stack, folder, "bus", "dbus-daemon", f"--config-file={settings}", "--nofork", "--nopidfile", "--nosyslog")
    _wait((folder / "bus").exists, "the message bus")
    return {"DBUS_SYSTEM_BUS_ADDRESS": address}


def _start_printer(stack: ExitStack, folder: Path, bus: dict[str, str], name: str) -> int:
    keeps, spool, received = folder / "keeps", folder / f"spool-{name}", folder / "received" / name
    keeps.write_text(SAVE_SCRIPT)
    keeps.chmod(0o755)
    spool.mkdir()
    received.mkdir(parents=True)
    options = ["-f", "application/pdf,image/pwg-raster,image/urf"]
    if name == "label":
        (folder / "label.ppd").write_text(label_printer_description())
        options = ["-P", str(folder / "label.ppd")]
    port = _free_port()
    command = (
        "ippeveprinter",
        *options,
        "-r",
        "off",
        "-k",
        "-c",
        str(keeps),
        "-d",
        str(spool),
        "-p",
        str(port),
        "-n",
        "localhost",
    )
    _start(stack, folder, name, *command, f"Virtual {name}", RECEIVED=str(received), **bus)
    return port


def _start_cups(stack: ExitStack, folder: Path) -> str:
    cups = folder / "cups"
    for part in ("spool/tmp", "cache", "run", "log", "etc/ppd", "etc/ssl"):
        (cups / part).mkdir(parents=True)
    if os.getuid() == 0:
        for path in (cups, *cups.rglob("*")):
            shutil.chown(path, "root", "lp")
    for part, mode in ((".", 0o755), ("run", 0o770), ("spool", 0o710), ("spool/tmp", 0o1770)):
        (cups / part).chmod(mode)
    path = f"{folder}/cups.sock"
    (cups / "etc" / "cupsd.conf").write_text(CUPSD.format(socket=path, on_error="abort-job"))
    (cups / "etc" / "cups-files.conf").write_text(CUPS_FILES.format(cups=cups))
    etc = cups / "etc"
    _start(stack, folder, "cupsd", "cupsd", "-f", "-c", f"{etc}/cupsd.conf", "-s", f"{etc}/cups-files.conf")
    _wait(lambda: _socket_open(path), "CUPS")
    return path


def _start(stack: ExitStack, folder: Path, name: str, *command: str, **more: str) -> Path:
    """Starts a program that ends with the test; answers where it writes what it says."""
    said = folder / f"{name}.log"
    paths = {"PATH": f"{os.environ['PATH']}:/usr/sbin:/sbin"}
    with said.open("wb") as log:
        program = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, env=os.environ | paths | more, cwd=folder
        )
    stack.callback(_terminate, program)
    return said


def _terminate(program: subprocess.Popen[bytes]) -> None:
    program.send_signal(signal.SIGTERM)
    try:
        program.wait(5)
    except subprocess.TimeoutExpired:
        program.kill()
        program.wait()


def _wait(ready: Callable[[], bool], what: str) -> None:
    until = time.monotonic() + START_TIMEOUT
    while not ready():
        assert time.monotonic() < until, f"{what} did not start"
        time.sleep(0.02)


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def _port_open(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def _socket_open(path: str) -> bool:
    with socket.socket(socket.AF_UNIX) as probe:
        return probe.connect_ex(path) == 0
