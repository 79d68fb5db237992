"""The host names under which this app answers, against DNS rebinding by a page of another site."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Callable
from ipaddress import ip_address
from urllib.parse import urlsplit

ADDRESS_CACHE_SECONDS = 30.0
"""Seconds. A laptop's address changes with the network; a refused request looks it up again at most this often."""


def parse_host(given: str) -> str:
    """The name or address in a `Host` header, lower case, without port; empty where there is none.

    >>> parse_host("Rack.Local:8765"), parse_host("[::1]:80"), parse_host("a b")
    ('rack.local', '::1', '')
    """
    try:
        name = urlsplit(f"//{given}").hostname or ""
    except ValueError:
        return ""
    return "" if any(character.isspace() for character in name) else name.rstrip(".")


def is_loopback(host: str) -> bool:
    """Whether `host` is reached from this machine alone.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("0.0.0.0"), is_loopback("")
    (True, True, False, False)
    """
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def lan_address() -> str:
    """This machine's address in the network as far as it knows; empty for none."""
    # Connecting a datagram socket sends nothing; it only shows which address would be used.
    # 192.0.2.0/24 and 2001:db8::/32 are for documentation (RFC 5737, RFC 3849).
    for family, far_away in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((far_away, 9))
                address = str(probe.getsockname()[0])
        except OSError:
            continue
        if not is_loopback(address):
            return address
    return ""


def local_addresses() -> frozenset[str]:
    """This machine's names and addresses in the network, as far as it knows them without a request to another."""
    name = socket.gethostname().lower()
    found = {name, f"{name.partition('.')[0]}.local", lan_address()}
    # A machine that can't resolve its own name still has an address.
    with contextlib.suppress(OSError):
        found |= {str(entry[4][0]) for entry in socket.getaddrinfo(name, None)}
    return frozenset(each.partition("%")[0].lower() for each in found if each)


class AllowedHosts:
    """The names under which the app that is bound to `bind_host` answers."""

    def __init__(
        self,
        bind_host: str,
        *,
        addresses: Callable[[], frozenset[str]] = local_addresses,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.bind_host = bind_host.strip("[]").lower()
        self._resolve = addresses
        self._clock = clock
        self._addresses: frozenset[str] = frozenset()
        self._resolved_at: float | None = None
        self.announced_names: frozenset[str] = frozenset()
        """Names that this app itself announces in the network, such as `rackful.local`."""

    @property
    def open_to_network(self) -> bool:
        return not is_loopback(self.bind_host)

    def allows(self, host: str, base_url: str) -> bool:
        """Whether a request for `host` is meant for this app; `base_url` is the shop's setting."""
        if not host:
            return False
        if is_loopback(host) or host in (self.bind_host, parse_host(urlsplit(base_url).netloc)):
            return True
        if not self.open_to_network:
            return False
        return host in self.announced_names or host in self._addresses or host in self._current_addresses()

    def _current_addresses(self) -> frozenset[str]:
        now = self._clock()
        if self._resolved_at is None or now - self._resolved_at > ADDRESS_CACHE_SECONDS:
            self._addresses = self._resolve()
            self._resolved_at = now
        return self._addresses
