"""Invitations: a word that lets one device in, once, within minutes.

They are kept in memory alone: with the program's end they are void. Each holds under the passphrase of its moment
only.
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
"""Seconds. An invitation that has less left is not shown to anybody new."""
CODE_LENGTH = 20
"""Of 32 letters each, 100 bits: not to be guessed in ten minutes at any rate that a network carries."""


@dataclass(frozen=True)
class Invitation:
    """The word and the seconds that it still holds."""

    word: str
    seconds: int


@dataclass(frozen=True)
class _Entry:
    fingerprint: str
    until: float


class Invitations:
    """The invitations that hold. May be used by many threads."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._entries: dict[str, _Entry] = {}
        self._current = ""

    def current_or_new(self, fingerprint: str) -> Invitation:
        """The one to show now: the last one made while it is unused and holds for minutes, else a fresh one."""
        with self._lock:
            now = self._clock()
            self._entries = {key: entry for key, entry in self._entries.items() if entry.until > now}
            entry = self._entries.get(_key(self._current))
            if entry is None or entry.fingerprint != fingerprint or entry.until - now < MIN_REMAINING:
                self._current = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
                entry = self._entries[_key(self._current)] = _Entry(fingerprint, now + LIFETIME)
            return Invitation(self._current, int(entry.until - now))

    def is_valid(self, word: str, fingerprint: str) -> bool:
        """Whether this word would let somebody in now."""
        with self._lock:
            return self._is_unexpired(self._entries.get(_key(word)), fingerprint)

    def redeem(self, word: str, fingerprint: str) -> bool:
        """Uses a word up; answers whether it let somebody in. Of two at the same moment one is let in."""
        with self._lock:
            return self._is_unexpired(self._entries.pop(_key(word), None), fingerprint)

    def _is_unexpired(self, entry: _Entry | None, fingerprint: str) -> bool:
        return entry is not None and entry.fingerprint == fingerprint and entry.until > self._clock()


def _key(word: str) -> str:
    # By its hash, so that how long the looking up takes says nothing of how much of a guess was right.
    return hashlib.sha256(word.upper().encode("utf-8", "replace")).hexdigest()
