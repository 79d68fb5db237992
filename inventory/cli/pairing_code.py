"""What `rackful serve` offers to phones: a pairing code in the terminal and a name on the network.

The code is shown in a terminal only, never in a file that the output goes to: whoever has it can pair a device.
"""

from __future__ import annotations

import os
import select
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import click
from flask import Flask

from inventory.cli.program import CommandContext
from inventory.cli.terminal_qr import qr_lines, supports_blocks
from inventory.shop import Shop
from inventory.web.access import access_control, addresses, pairing
from inventory.web.access.mdns import MdnsAnnouncer, addresses_to_announce, preferred_label

STDIN_POLL_SECONDS = 0.5
"""How often the thread checks whether the server was stopped."""


@contextmanager
def inviting(run: CommandContext, app: Flask, shop: Shop, *, named: bool) -> Iterator[None]:
    """Shows the pairing code and announces the name while the block runs, if the network can reach the server."""
    hosts = access_control.allowed_hosts(app)
    if not hosts.open_to_network:
        yield
        return
    stopped = threading.Event()
    name = _mdns_announcer(run, app, shop) if named else None
    if name is not None:
        name.start()
    if not run.as_json and sys.stdout.isatty() and supports_blocks(sys.stdout.encoding):
        show_code(app)
        if os.name == "posix" and sys.stdin.isatty():
            click.echo("Press Enter for a fresh code.")
            threading.Thread(target=_show_on_enter, args=(app, stopped), name="pairing codes", daemon=True).start()
    try:
        yield
    finally:
        stopped.set()
        if name is not None:
            name.stop()


def show_code(app: Flask) -> None:
    """Prints the pairing code, if there is an address that phones can reach."""
    with app.test_request_context(base_url=f"http://127.0.0.1:{addresses.server_address_of(app).port}"):
        base = addresses.phone_url()
        if not base:
            return
        code = pairing.current_code()
    click.echo("\n".join(qr_lines(pairing.pairing_url(base, code.text))))
    click.echo(f"Scan it with a phone's camera: it lets one device in at {base}/ and holds for ten minutes.")
    sys.stdout.flush()


def _show_on_enter(app: Flask, stopped: threading.Event) -> None:
    while not stopped.is_set():
        # With a timeout, so that no thread waits in a read when the program ends.
        if select.select([sys.stdin], [], [], STDIN_POLL_SECONDS)[0]:
            if not sys.stdin.readline():
                return
            show_code(app)


def _mdns_announcer(run: CommandContext, app: Flask, shop: Shop) -> MdnsAnnouncer:
    settings, hosts, reached = shop.settings(), access_control.allowed_hosts(app), addresses.server_address_of(app)

    def on_change(name: str, sentence: str) -> None:
        changed = (name, sentence) != (reached.name, reached.no_name_reason)
        hosts.announced_names = frozenset({name}) if name else frozenset()
        reached.name, reached.no_name_reason = name, sentence
        if changed and not run.as_json and (name or sentence):
            address = f"http://{name}:{reached.port}/"
            click.echo(f"By name, the same whatever number the router gives out: {address}" if name else sentence)
            sys.stdout.flush()

    preferred = preferred_label(settings.shop_name, settings.base_url)
    return MdnsAnnouncer(preferred, reached.port, on_change, lambda: addresses_to_announce(hosts.bind_host))
