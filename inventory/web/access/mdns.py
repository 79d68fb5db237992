"""A name of the shop's own in the network, the same whatever number the router gives out (mDNS, RFC 6762).

Knows how a name is found free, announced, kept while the number changes, and given back. All of it happens beside the
server, in a thread: a network without multicast costs nobody the start. Knows nothing of pages.
"""

from __future__ import annotations

import ipaddress
import re
import socket
import threading
import unicodedata
from collections.abc import Callable, Sequence

# AddressResolverIPv4 is there for all, though not in the library's __all__.
from zeroconf import AddressResolverIPv4, Error, IPVersion, NonUniqueNameException, ServiceInfo, Zeroconf  # type: ignore[attr-defined]

from inventory.web.access.known_hosts import is_loopback, machine_addresses

SERVICE = "_http._tcp.local."
FIRST_WORD = "rackful"
LONGEST_LABEL = 30
"""Of a shop's name; longer ones make the QR on a tag finer. A label may have 63 letters (RFC 1035)."""
MOST_TRIES = 9
LOOK_FOR = 600
"""Milliseconds to wait for another machine that answers to a name."""
LOOK_AGAIN = 20.0
"""Seconds between two looks at this machine's addresses. common practice, no source"""


def label_for(shop_name: str) -> str:
    """The label of a shop in names of the network.

    >>> label_for("Three Ash Yard"), label_for("Übermorgen & Söhne"), label_for("")
    ('rackful-three-ash-yard', 'rackful-ubermorgen-sohne', 'rackful')
    """
    plain = unicodedata.normalize("NFKD", shop_name).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", f"{FIRST_WORD}-{plain}").strip("-")
    return words[:LONGEST_LABEL].rstrip("-")


def label_wanted(shop_name: str, base_url: str) -> str:
    """The label to announce: the one that tags already open, whatever the shop is called now, else by its name.

    >>> label_wanted("New Yard", "http://rackful-old-yard.local:8765")
    'rackful-old-yard'
    """
    stood = re.fullmatch(rf"https?://({FIRST_WORD}[a-z0-9-]*)\.local(?::\d+)?", base_url.lower())
    return stood[1] if stood else label_for(shop_name)


def addresses_to_announce(bound: str) -> tuple[str, ...]:
    """The IPv4 numbers by which others reach a server bound to `bound`, in order."""
    candidates = machine_addresses() if bound in ("", "0.0.0.0", "::") else {bound}
    numbers = set()
    for each in candidates:
        try:
            number = ipaddress.IPv4Address(each)
        except ValueError:
            continue
        if not is_loopback(each) and not number.is_unspecified:
            numbers.add(number)
    return tuple(str(number) for number in sorted(numbers))


class OwnName:
    """Announces a name from `start` to `stop`.

    `told` is called with the name and an empty sentence once it holds, and with an empty name and a sentence where
    none can be announced; from the thread that announces.
    """

    def __init__(
        self,
        wanted: str,
        port: int,
        told: Callable[[str, str], None],
        addresses: Callable[[], Sequence[str]],
    ) -> None:
        self._wanted, self._port, self._told, self._addresses = wanted, port, told, addresses
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, name="own name", daemon=True)
        self._announced: Zeroconf | None = None

    def start(self) -> None:
        """Begins to announce; answers at once."""
        self._thread.start()

    def stop(self) -> None:
        """Gives the name back, within a few seconds at most."""
        self._stopped.set()
        self._thread.join(5)

    def _run(self) -> None:
        here: tuple[str, ...] | None = None
        while not self._stopped.is_set():
            now = tuple(self._addresses())
            if now != here:
                here = now
                self._give_back()
                self._told(*self._announce(now))
            self._stopped.wait(LOOK_AGAIN)
        self._give_back()

    def _announce(self, numbers: Sequence[str]) -> tuple[str, str]:
        if not numbers:
            return "", "This computer has no number in a network, so it announces no name there."
        try:
            self._announced = Zeroconf(interfaces=list(numbers), ip_version=IPVersion.V4Only)
            for count in range(1, MOST_TRIES + 1):
                label = self._wanted if count == 1 else f"{self._wanted}-{count}"
                if self._stopped.is_set():
                    return "", ""
                if self._taken(self._announced, label, numbers):
                    continue
                try:
                    self._announced.register_service(self._service(label, numbers))
                except NonUniqueNameException:
                    continue
                return f"{label}.local", ""
        except (OSError, Error) as error:
            self._give_back()
            why = getattr(error, "strerror", None) or str(error) or type(error).__name__
            return "", f"No name can be announced in this network ({why}). Use the number."
        self._give_back()
        return "", f"Every name from {self._wanted}.local on is taken by others in this network. Use the number."

    def _taken(self, network: Zeroconf, label: str, numbers: Sequence[str]) -> bool:
        """Whether another machine answers to this name."""
        resolver = AddressResolverIPv4(f"{label}.local.")
        return bool(resolver.request(network, LOOK_FOR)) and not set(resolver.parsed_addresses()) <= set(numbers)

    def _service(self, label: str, numbers: Sequence[str]) -> ServiceInfo:
        return ServiceInfo(
            SERVICE,
            f"{label}.{SERVICE}",
            addresses=[socket.inet_aton(number) for number in numbers],
            port=self._port,
            properties={"path": "/"},
            server=f"{label}.local.",
        )

    def _give_back(self) -> None:
        if self._announced is not None:
            self._announced.close()
            self._announced = None
