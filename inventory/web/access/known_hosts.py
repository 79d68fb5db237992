"""Under which names this app is served, so that a page of another site can't speak to it by a name of its own.

Knows loopback, the machine's own names and addresses. Knows nothing of requests.
"""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Callable
from ipaddress import ip_address
from urllib.parse import urlsplit

ADDRESSES_KEPT_FOR = 30.0
"""Seconds. A laptop's address changes with the network; a refused request looks for new ones this often at most."""


def host_name(given: str) -> str:
    """The name or address in a `Host` header, lower case, without port; empty where there is none.

    >>> host_name("Rack.Local:8765"), host_name("[::1]:80"), host_name("a b")
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


def network_address() -> str:
    """The address by which others in the network reach this machine, as far as it knows; empty for none."""
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


def machine_addresses() -> frozenset[str]:
    """This machine's names and addresses in the network, as far as it knows them without asking anybody."""
    name = socket.gethostname().lower()
    found = {name, f"{name.partition('.')[0]}.local", network_address()}
    # A machine that can't resolve its own name still has an address.
    with contextlib.suppress(OSError):
        found |= {str(entry[4][0]) for entry in socket.getaddrinfo(name, None)}
    return frozenset(each.partition("%")[0].lower() for each in found if each)


class KnownHosts:
    """The names under which the app that is bound to `bound` answers."""

    def __init__(
        self,
        bound: str,
        *,
        addresses: Callable[[], frozenset[str]] = machine_addresses,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.bound = bound.strip("[]").lower()
        self._look_up = addresses
        self._clock = clock
        self._addresses: frozenset[str] = frozenset()
        self._looked_up_at: float | None = None
        self.own_names: frozenset[str] = frozenset()
        """Names that this app itself announces in the network, such as `rackful.local`."""

    @property
    def open_to_network(self) -> bool:
        return not is_loopback(self.bound)

    def knows(self, host: str, base_url: str) -> bool:
        """Whether a request for `host` is meant for this app; `base_url` is the shop's setting."""
        if not host:
            return False
        if is_loopback(host) or host in (self.bound, host_name(urlsplit(base_url).netloc)):
            return True
        if not self.open_to_network:
            return False
        return host in self.own_names or host in self._addresses or host in self._fresh_addresses()

    def _fresh_addresses(self) -> frozenset[str]:
        now = self._clock()
        if self._looked_up_at is None or now - self._looked_up_at > ADDRESSES_KEPT_FOR:
            self._addresses = self._look_up()
            self._looked_up_at = now
        return self._addresses
