"""`rackful serve`: the web app of a shop."""

from __future__ import annotations

import errno
import logging
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from logging.handlers import RotatingFileHandler
from types import FrameType

import click
import waitress

from inventory.cli.error_log import LOG_NAME
from inventory.cli.pairing_code import inviting
from inventory.cli.program import CommandContext, rackful_command
from inventory.core.errors import UserError
from inventory.shop import Shop
from inventory.web import create_app, request_context
from inventory.web.access.access_control import MAX_PHOTO_REQUEST_BYTES
from inventory.web.access.known_hosts import lan_address
from inventory.web.access.upload_limits import limit_anonymous_uploads

HOST, PORT = "127.0.0.1", 8765
# common practice, no source
THREADS = 8
MAX_LOG_BYTES = 1_000_000


class ListenError(UserError):
    """An address or port that the server cannot listen on."""


@rackful_command("serve")
@click.option("--host", metavar="H", default=HOST, show_default=True, help="The address to serve on; 0.0.0.0 is all.")
@click.option(
    "--port", metavar="N", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes any free one."
)
@click.option("--no-name", is_flag=True, help="Announce no name in the network; phones use the number.")
def command(run: CommandContext, host: str, port: int, no_name: bool) -> None:
    """Runs the web app until Ctrl-C. A shop is begun where there is none.

    Served on this machine alone it asks nobody's name. To let phones in, set a pass phrase first; in a terminal it
    then shows a code that lets a phone in once, and announces a name that stays when the router gives out new numbers.

    \b
    Examples:
      rackful serve
      rackful passphrase && rackful serve --host 0.0.0.0
    """
    with until_stopped(), run.shop_or_new() as shop:
        serve_shop(run, shop, host, port, named=not no_name)


def serve_shop(run: CommandContext, shop: Shop, host: str, port: int, *, named: bool = False) -> None:
    """Serves an open shop until it is stopped, announcing its name if `named`. Raises UnsafeHost, ListenError."""
    with _logging_to_file(shop), _listen(host, port) as listener:
        app = create_app(shop, host=host, port=listener.getsockname()[1])
        server = waitress.create_server(
            app,
            sockets=[listener],
            threads=THREADS,
            max_request_body_size=MAX_PHOTO_REQUEST_BYTES,
            ident="rackful",
            # Access control must see them: a request through a proxy does not come from this machine.
            clear_untrusted_proxy_headers=False,
        )
        limit_anonymous_uploads(server, app)
        address = f"http://{_display_host(host)}:{listener.getsockname()[1]}/"
        run.answer(
            {"address": address, "folder": str(shop.folder)}, f"Rackful is open at {address} (Ctrl-C closes it)."
        )
        sys.stdout.flush()
        try:
            with inviting(run, app, shop, named=named):
                server.run()
        finally:
            server.close()
            # Running simulations get a few seconds to store their results.
            request_context.jobs_of(app).close()


@contextmanager
def until_stopped() -> Iterator[None]:
    """Ctrl-C and SIGTERM end the block without an error."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    in_main_thread = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGTERM, stop) if in_main_thread else None
    try:
        yield
    except KeyboardInterrupt:
        pass
    finally:
        if in_main_thread:
            signal.signal(signal.SIGTERM, before)


@contextmanager
def _listen(host: str, port: int) -> Iterator[socket.socket]:
    """A socket bound to this address; an IPv4 address if the name has one."""
    try:
        found = socket.getaddrinfo(host.strip("[]"), port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    except (socket.gaierror, UnicodeError):
        raise ListenError(
            f'"{host}" is no address of this machine. Leave --host out, or give one such as 192.168.1.20.'
        ) from None
    family, type_, protocol, _, address = min(found, key=lambda each: each[0] != socket.AF_INET)
    with socket.socket(family, type_, protocol) as listener:
        try:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listener.bind(address)
        except OSError as error:
            raise ListenError(_error_text(error, host, port)) from None
        yield listener


def _error_text(error: OSError, host: str, port: int) -> str:
    match error.errno:
        case errno.EADDRINUSE:
            return (
                f"Port {port} is in use, perhaps by this shop already. Close the other program, "
                f"or choose another port, such as --port {port + 1 if port < 65535 else PORT}."
            )
        case errno.EACCES:
            return f"This user may not serve on port {port}. Choose one above 1023, such as --port {PORT}."
        case errno.EADDRNOTAVAIL:
            return f'"{host}" is no address of this machine. Leave --host out, or give one such as 192.168.1.20.'
        case _:
            return f"Nothing can be served on {host} port {port}: {error.strerror}. Choose another host or port."


def _display_host(host: str) -> str:
    """The host as another device would type it."""
    bare = host.strip("[]")
    if bare in ("0.0.0.0", "::", ""):
        return lan_address() or socket.gethostname()
    return f"[{bare}]" if ":" in bare else bare


@contextmanager
def _logging_to_file(shop: Shop) -> Iterator[None]:
    """Sends the server's warnings and unexpected errors to the shop's log instead of the terminal."""
    log = RotatingFileHandler(
        shop.folder / LOG_NAME,
        maxBytes=MAX_LOG_BYTES,
        backupCount=1,
        encoding="utf-8",
        delay=True,
        errors="backslashreplace",
    )
    log.setLevel(logging.WARNING)
    log.setFormatter(logging.Formatter("%(asctime)s %(name)s %(levelname)s %(message)s"))
    root = logging.getLogger()
    root.addHandler(log)
    # A page that waited for a free thread needs no action.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    try:
        yield
    finally:
        root.removeHandler(log)
        log.close()
