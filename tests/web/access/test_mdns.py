"""A name of the shop's own in the network: announced beside the server, kept, given back, never in the way."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import pytest
from zeroconf import IPVersion, ServiceInfo, Zeroconf

from inventory.web.access import mdns
from inventory.web.access.mdns import (
    MAX_LABEL_LENGTH,
    SERVICE_TYPE,
    MdnsAnnouncer,
    addresses_to_announce,
    hostname_label,
    preferred_label,
)

LOOPBACK = ("127.0.0.1",)
# Nobody else's on this machine, should several tests run at once.
LABEL = f"rackful-test-{socket.gethostname()[:6].lower()}-{threading.get_native_id()}"


class ChangeRecorder:
    """What the name's thread says, in order."""

    def __init__(self) -> None:
        self.said: list[tuple[str, str]] = []
        self._more = threading.Condition()

    def __call__(self, name: str, sentence: str) -> None:
        with self._more:
            self.said.append((name, sentence))
            self._more.notify_all()

    def wait_for(self, count: int) -> list[tuple[str, str]]:
        with self._more:
            assert self._more.wait_for(lambda: len(self.said) >= count, 60), self.said
            return list(self.said)


@contextmanager
def looking() -> Iterator[Zeroconf]:
    """Another machine of the network that asks for names."""
    # Made in a thread of its own, as it would join the event loop that a browser's test may have left in this one.
    with ThreadPoolExecutor(1) as aside:
        asking = aside.submit(Zeroconf, interfaces=list(LOOPBACK), ip_version=IPVersion.V4Only).result()
    try:
        yield asking
    finally:
        asking.close()


def announced(text: ChangeRecorder, label: str = LABEL, port: int = 8765) -> MdnsAnnouncer:
    name = MdnsAnnouncer(label, port, text, lambda: LOOPBACK)
    name.start()
    return name


def test_nobody_waits_for_the_name() -> None:
    text, answers = ChangeRecorder(), threading.Event()

    def slow() -> tuple[str, ...]:
        assert answers.wait(60)
        return ()

    name = MdnsAnnouncer(LABEL, 8765, text, slow)
    name.start()
    assert text.said == []
    answers.set()
    assert text.wait_for(1) == [("", "This computer has no number in a network, so it announces no name there.")]
    name.stop()


def test_a_name_is_announced_found_by_others_and_given_back() -> None:
    text = ChangeRecorder()
    name = announced(text)
    assert text.wait_for(1) == [(f"{LABEL}.local", "")]
    with looking() as other:
        found = other.get_service_info(SERVICE_TYPE, f"{LABEL}.{SERVICE_TYPE}", timeout=15_000)
        assert found is not None
        assert (found.port, found.parsed_addresses(), found.server) == (8765, ["127.0.0.1"], f"{LABEL}.local.")
    name.stop()
    with looking() as other:
        assert other.get_service_info(SERVICE_TYPE, f"{LABEL}.{SERVICE_TYPE}", timeout=300) is None


def test_of_two_shops_of_one_name_the_second_takes_a_number() -> None:
    first, second = ChangeRecorder(), ChangeRecorder()
    names = [announced(first)]
    first.wait_for(1)
    names.append(announced(second, port=8766))
    assert second.wait_for(1) == [(f"{LABEL}-2.local", "")]
    for name in names:
        name.stop()


def test_a_name_that_another_machine_answers_to_is_not_taken_from_it(monkeypatch: pytest.MonkeyPatch) -> None:
    # The other machine is this one, and may be slow; its answer ends the wait.
    monkeypatch.setattr(mdns, "PROBE_TIMEOUT_MS", 2500)
    with looking() as other:
        theirs = ServiceInfo(
            "_ipp._tcp.local.", f"{LABEL}._ipp._tcp.local.", addresses=[socket.inet_aton("192.0.2.9")], port=631,
            server=f"{LABEL}.local.",
        )  # fmt: skip
        other.register_service(theirs)
        text = ChangeRecorder()
        name = announced(text)
        assert text.wait_for(1) == [(f"{LABEL}-2.local", "")]
        name.stop()


def test_the_name_goes_along_when_the_router_gives_another_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mdns, "POLL_INTERVAL", 0.05)
    numbers: list[tuple[str, ...]] = [("127.0.0.1",)]
    text = ChangeRecorder()
    name = MdnsAnnouncer(LABEL, 8765, text, lambda: numbers[-1])
    name.start()
    text.wait_for(1)
    numbers.append(())
    assert text.wait_for(2)[1] == ("", "This computer has no number in a network, so it announces no name there.")
    numbers.append(("127.0.0.1",))
    assert text.wait_for(3)[2] == (f"{LABEL}.local", "")
    name.stop()


def test_a_machine_without_multicast_gets_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(**_: object) -> Zeroconf:
        raise OSError(19, "No such device")

    monkeypatch.setattr(mdns, "Zeroconf", none)
    text = ChangeRecorder()
    name = announced(text)
    assert text.wait_for(1) == [("", "No name can be announced in this network (No such device). Use the number.")]
    name.stop()


@pytest.mark.parametrize("announcing", [True, False])
def test_a_name_that_is_stopped_waits_for_nothing(monkeypatch: pytest.MonkeyPatch, announcing: bool) -> None:
    monkeypatch.setattr(mdns, "POLL_INTERVAL", 86_400.0)
    text = ChangeRecorder()
    name = MdnsAnnouncer(LABEL, 8765, text, lambda: LOOPBACK if announcing else ())
    name.start()
    if not announcing:
        # Nothing is left to do but to look again.
        text.wait_for(1)
    name.stop()
    for thread in threading.enumerate():
        if thread.name == "own name":
            # A busy machine may take a while; who waits for the next look takes a day.
            thread.join(60)
            assert not thread.is_alive()


@pytest.mark.parametrize(
    ("shop_name", "label"),
    [
        ("", "rackful"),
        ("Three Ash Yard", "rackful-three-ash-yard"),
        ("  Müller & Söhne  ", "rackful-muller-sohne"),
        ("木工房", "rackful"),
        ("The workshop at the end of the long lane", "rackful-the-workshop-at-the-en"),
    ],
)
def test_the_name_comes_of_the_shops(shop_name: str, label: str) -> None:
    assert hostname_label(shop_name) == label
    assert len(label) <= MAX_LABEL_LENGTH


@pytest.mark.parametrize(
    ("base_url", "label"),
    [
        ("http://rackful-old-yard.local:8765", "rackful-old-yard"),
        ("HTTP://RACKFUL.LOCAL", "rackful"),
        ("http://printer.local:8765", "rackful-new-yard"),
        ("http://rackful.example", "rackful-new-yard"),
        ("", "rackful-new-yard"),
    ],
)
def test_the_name_on_the_tags_stays_when_the_shop_is_called_otherwise(base_url: str, label: str) -> None:
    assert preferred_label("New Yard", base_url) == label


def test_only_numbers_of_the_network_are_announced() -> None:
    assert addresses_to_announce("127.0.0.1") == ()
    assert addresses_to_announce("192.168.1.20") == ("192.168.1.20",)
    assert addresses_to_announce("fd00::2") == ()
    assert not any(number.startswith("127.") for number in addresses_to_announce("0.0.0.0"))
