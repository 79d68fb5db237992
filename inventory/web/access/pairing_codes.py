"""Invitations: a word that lets one device in, once, within minutes.

Knows words and how long they hold. They are kept in memory alone: with the program's end they are void. Each holds
under the pass phrase of its moment only.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from inventory.core.codes import ALPHABET

LIFE = 600.0
LEAST_LEFT = 180.0
"""Seconds. An invitation that has less left is not shown to anybody new."""
LETTERS = 20
"""Of 32 letters each, 100 bits: not to be guessed in ten minutes at any rate that a network carries."""


@dataclass(frozen=True)
class Invitation:
    """The word and the seconds that it still holds."""

    word: str
    seconds: int


@dataclass(frozen=True)
class _Held:
    mark: str
    until: float


class Invitations:
    """The invitations that hold. May be used by many threads."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._held: dict[str, _Held] = {}
        self._shown = ""

    def present(self, mark: str) -> Invitation:
        """The one to show now: the last one made while it is unused and holds for minutes, else a fresh one."""
        with self._lock:
            now = self._clock()
            self._held = {key: held for key, held in self._held.items() if held.until > now}
            held = self._held.get(_key(self._shown))
            if held is None or held.mark != mark or held.until - now < LEAST_LEFT:
                self._shown = "".join(secrets.choice(ALPHABET) for _ in range(LETTERS))
                held = self._held[_key(self._shown)] = _Held(mark, now + LIFE)
            return Invitation(self._shown, int(held.until - now))

    def holds(self, word: str, mark: str) -> bool:
        """Whether this word would let somebody in now."""
        with self._lock:
            return self._good(self._held.get(_key(word)), mark)

    def use(self, word: str, mark: str) -> bool:
        """Uses a word up; answers whether it let somebody in. Of two at the same moment one is let in."""
        with self._lock:
            return self._good(self._held.pop(_key(word), None), mark)

    def _good(self, held: _Held | None, mark: str) -> bool:
        return held is not None and held.mark == mark and held.until > self._clock()


def _key(word: str) -> str:
    # By its hash, so that how long the looking up takes says nothing of how much of a guess was right.
    return hashlib.sha256(word.upper().encode("utf-8", "replace")).hexdigest()
