"""Pairing codes: each pairs one device, once, within minutes.

They are kept in memory only and end with the program or with the passphrase under which they were made.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from inventory.core.codes import ALPHABET

LIFETIME = 600.0
MIN_REMAINING = 180.0
"""Seconds. A code that expires sooner is not shown any more; a new one is made."""
CODE_LENGTH = 20
"""Characters of 5 bits each, 100 bits: not to be guessed in ten minutes over a network."""


@dataclass(frozen=True)
class PairingCode:
    """A code and the seconds until it expires."""

    text: str
    seconds: int


@dataclass(frozen=True)
class _Entry:
    fingerprint: str
    until: float


class PairingCodes:
    """The codes that have not expired. Safe to use from several threads."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._entries: dict[str, _Entry] = {}
        self._current = ""

    def current_or_new(self, fingerprint: str) -> PairingCode:
        """The latest code while it is unused and lasts long enough, else a new one."""
        with self._lock:
            now = self._clock()
            self._entries = {key: entry for key, entry in self._entries.items() if entry.until > now}
            entry = self._entries.get(_key(self._current))
            if entry is None or entry.fingerprint != fingerprint or entry.until - now < MIN_REMAINING:
                self._current = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
                entry = self._entries[_key(self._current)] = _Entry(fingerprint, now + LIFETIME)
            return PairingCode(self._current, int(entry.until - now))

    def is_valid(self, code: str, fingerprint: str) -> bool:
        """Whether this code would pair a device now."""
        with self._lock:
            return self._is_unexpired(self._entries.get(_key(code)), fingerprint)

    def redeem(self, code: str, fingerprint: str) -> bool:
        """Uses a code up; returns whether it was valid. Of two requests at the same moment one gets True."""
        with self._lock:
            return self._is_unexpired(self._entries.pop(_key(code), None), fingerprint)

    def _is_unexpired(self, entry: _Entry | None, fingerprint: str) -> bool:
        return entry is not None and entry.fingerprint == fingerprint and entry.until > self._clock()


def _key(code: str) -> str:
    # By its hash, so that the time of the look-up reveals nothing about a guess.
    return hashlib.sha256(code.upper().encode("utf-8", "replace")).hexdigest()
