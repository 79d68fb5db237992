"""Announces a name for the shop in the network, independent of its IP address (mDNS, RFC 6762).

It runs in a thread of its own, so that a network without multicast does not delay the start.
"""

from __future__ import annotations

import ipaddress
import re
import socket
import threading
import unicodedata
from collections.abc import Callable, Sequence

# AddressResolverIPv4 is there for all, though not in the library's __all__.
from zeroconf import (  # type: ignore[attr-defined]
    AddressResolverIPv4,
    DNSQuestionType,
    Error,
    IPVersion,
    NonUniqueNameException,
    ServiceInfo,
    Zeroconf,
)

from inventory.web.access.known_hosts import is_loopback, local_addresses

SERVICE_TYPE = "_http._tcp.local."
LABEL_PREFIX = "rackful"
MAX_LABEL_LENGTH = 30
"""Of a shop's name; longer ones make the QR on a tag finer. A label may have 63 letters (RFC 1035)."""
MAX_ATTEMPTS = 9
PROBE_TIMEOUT_MS = 1500
"""Milliseconds to wait for an answer to a name; a responder may pause for a second (RFC 6762, section 6)."""
POLL_INTERVAL = 20.0
"""Seconds between two looks at this machine's addresses. common practice, no source"""


def hostname_label(shop_name: str) -> str:
    """The label of a shop in names of the network.

    >>> hostname_label("Three Ash Yard"), hostname_label("Übermorgen & Söhne"), hostname_label("")
    ('rackful-three-ash-yard', 'rackful-ubermorgen-sohne', 'rackful')
    """
    plain = unicodedata.normalize("NFKD", shop_name).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", f"{LABEL_PREFIX}-{plain}").strip("-")
    return words[:MAX_LABEL_LENGTH].rstrip("-")


def preferred_label(shop_name: str, base_url: str) -> str:
    """The label to announce: the one in the address on the tags, where there is one, else one from the shop's name.

    >>> preferred_label("New Yard", "http://rackful-old-yard.local:8765")
    'rackful-old-yard'
    """
    stood = re.fullmatch(rf"https?://({LABEL_PREFIX}[a-z0-9-]*)\.local(?::\d+)?", base_url.lower())
    return stood[1] if stood else hostname_label(shop_name)


def addresses_to_announce(bind_host: str) -> tuple[str, ...]:
    """The IPv4 addresses by which others reach a server bound to `bind_host`, in order."""
    candidates = local_addresses() if bind_host in ("", "0.0.0.0", "::") else {bind_host}
    numbers = set()
    for each in candidates:
        try:
            number = ipaddress.IPv4Address(each)
        except ValueError:
            continue
        if not is_loopback(each) and not number.is_unspecified:
            numbers.add(number)
    return tuple(str(number) for number in sorted(numbers))


class MdnsAnnouncer:
    """Announces a name from `start` to `stop`.

    `on_change` is called with the name and an empty sentence once it holds, and with an empty name and a sentence
    where none can be announced; from the thread that announces.
    """

    def __init__(
        self,
        preferred: str,
        port: int,
        on_change: Callable[[str, str], None],
        addresses: Callable[[], Sequence[str]],
    ) -> None:
        self._preferred, self._port, self._on_change, self._addresses = preferred, port, on_change, addresses
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, name="own name", daemon=True)
        self._zeroconf: Zeroconf | None = None

    def start(self) -> None:
        """Starts to announce; returns at once."""
        self._thread.start()

    def stop(self) -> None:
        """Withdraws the name, within a few seconds at most."""
        self._stopped.set()
        self._thread.join(5)

    def _run(self) -> None:
        here: tuple[str, ...] | None = None
        while not self._stopped.is_set():
            now = tuple(self._addresses())
            if now != here:
                here = now
                self._unregister()
                self._on_change(*self._announce(now))
            self._stopped.wait(POLL_INTERVAL)
        self._unregister()

    def _announce(self, numbers: Sequence[str]) -> tuple[str, str]:
        if not numbers:
            return "", "This computer has no number in a network, so it announces no name there."
        try:
            self._zeroconf = Zeroconf(interfaces=list(numbers), ip_version=IPVersion.V4Only)
            for count in range(1, MAX_ATTEMPTS + 1):
                label = self._preferred if count == 1 else f"{self._preferred}-{count}"
                if self._stopped.is_set():
                    return "", ""
                if self._is_taken(self._zeroconf, label, numbers):
                    continue
                try:
                    self._zeroconf.register_service(self._service(label, numbers))
                except NonUniqueNameException:
                    continue
                return f"{label}.local", ""
        except (OSError, Error) as error:
            self._unregister()
            why = getattr(error, "strerror", None) or str(error) or type(error).__name__
            return "", f"No name can be announced in this network ({why}). Use the number."
        self._unregister()
        return "", f"Every name from {self._preferred}.local on is taken by others in this network. Use the number."

    def _is_taken(self, network: Zeroconf, label: str, numbers: Sequence[str]) -> bool:
        """Whether another machine answers to this name, or another shop on this machine.

        Answers are asked for by multicast: a unicast answer reaches only one of the programs that share the port on
        a machine.
        """
        shop = ServiceInfo(SERVICE_TYPE, f"{label}.{SERVICE_TYPE}")
        if shop.request(network, PROBE_TIMEOUT_MS, DNSQuestionType.QM):
            return True
        resolver = AddressResolverIPv4(f"{label}.local.")
        found = resolver.request(network, PROBE_TIMEOUT_MS, DNSQuestionType.QM)
        return found and not set(resolver.parsed_addresses()) <= set(numbers)

    def _service(self, label: str, numbers: Sequence[str]) -> ServiceInfo:
        return ServiceInfo(
            SERVICE_TYPE,
            f"{label}.{SERVICE_TYPE}",
            addresses=[socket.inet_aton(number) for number in numbers],
            port=self._port,
            properties={"path": "/"},
            server=f"{label}.local.",
        )

    def _unregister(self) -> None:
        if self._zeroconf is not None:
            self._zeroconf.close()
            self._zeroconf = None
