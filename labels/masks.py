"""Which of the eight masks a QR symbol gets: the one with the least penalty.

Carries out the penalty of ISO/IEC 18004 (data masking, evaluation of the
results) as the `qrcode` library reckons it, to the same choice, on all eight
masked symbols at once: the library's own way takes most of a label's time.
Knows nothing of what a symbol holds.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from qrcode import QRCode

MASKS = 8

# ISO/IEC 18004: from version 7 on a symbol tells its version
LEAST_WITH_ITS_NUMBER = 7

# ISO/IEC 18004, penalty weights N1 to N4
RUN, BLOCK, FINDER, BALANCE = 3, 3, 40, 10
LONGEST_FREE_RUN = 4

# The 1 : 1 : 3 : 1 : 1 of a finder, with four light modules on one side.
_FINDERS = ("10111010000", "00001011101")


def draw_best(code: Any) -> int:
    """Draws a symbol of the library that holds its text and has its version, with the mask of least penalty.

    The mask is the answer. The library lays out the text's bits once, for mask 0; the others differ from that by the
    same modules for every text, and the format information is written last.
    """
    code.makeImpl(True, 0)
    masked = np.array(code.modules, dtype=bool) ^ _differences(code.version)
    mask = int(np.argmin(penalties(masked)))
    code.modules = masked[mask].tolist()
    code.setup_type_info(False, mask)
    if code.version >= LEAST_WITH_ITS_NUMBER:
        code.setup_type_number(False)
    return mask


@cache
def _differences(version: int) -> NDArray[np.bool_]:
    """Where each mask's symbol differs from that of mask 0: the same for every text of a version."""
    masked = []
    for mask in range(MASKS):
        code: Any = QRCode(version=version, border=0)
        code.add_data("0")
        code.makeImpl(True, mask)
        masked.append(np.array(code.modules, dtype=bool))
    differences: NDArray[np.bool_] = np.array(masked) ^ masked[0]
    return differences


def penalties(symbols: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The penalty of each of some symbols of one size."""
    turned = symbols.transpose(0, 2, 1)
    points = _runs(symbols) + _runs(turned) + _finders(symbols) + _finders(turned)
    return points + _blocks(symbols) + _balance(symbols)


def _runs(symbols: NDArray[np.bool_]) -> NDArray[np.int64]:
    """N1: a run of 5 like modules along a row counts 3, each further one 1."""
    like = symbols[:, :, 1:] == symbols[:, :, :-1]
    five = like[:, :, 3:] & like[:, :, 2:-1] & like[:, :, 1:-2] & like[:, :, :-3]
    begins = five.copy()
    begins[:, :, 1:] &= ~five[:, :, :-1]
    return _count(five) + (RUN - 1) * _count(begins)


def _blocks(symbols: NDArray[np.bool_]) -> NDArray[np.int64]:
    """N2: every 2 × 2 of like modules counts 3, overlapping ones too."""
    across = symbols[:, :, 1:] == symbols[:, :, :-1]
    down = symbols[:, 1:, :] == symbols[:, :-1, :]
    return BLOCK * _count(across[:, 1:, :] & across[:, :-1, :] & down[:, :, 1:])


def _finders(symbols: NDArray[np.bool_]) -> NDArray[np.int64]:
    """N3: what looks like a finder along a row counts 40."""
    room = symbols.shape[2] - len(_FINDERS[0]) + 1
    points = np.zeros(len(symbols), dtype=np.int64)
    for pattern in _FINDERS:
        found = np.ones((*symbols.shape[:2], room), dtype=bool)
        for place, module in enumerate(pattern):
            found &= symbols[:, :, place : place + room] == (module == "1")
        points += FINDER * _count(found)
    return points


def _balance(symbols: NDArray[np.bool_]) -> NDArray[np.int64]:
    """N4: each whole 5 % that the dark share is off one half counts 10."""
    percent = 100 * _count(symbols) / symbols[0].size
    steps: NDArray[np.int64] = (np.abs(percent - 50) / 5).astype(np.int64)
    return BALANCE * steps


def _count(marks: NDArray[np.bool_]) -> NDArray[np.int64]:
    return np.asarray(marks.sum(axis=(1, 2)), dtype=np.int64)
