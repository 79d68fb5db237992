"""How a pruned piece may leave: given away, burned, thrown out."""

from __future__ import annotations

import re
from enum import Enum

from inventory.core.offcuts import Face, Offcut


class Disposal(Enum):
    """Where a piece goes."""

    GIVEN_AWAY = "given away"
    STOVE = "stove"
    BIN = "bin"


_SUSPECT_WORDS = re.compile(
    r"paint|varnish|lacquer|stain|treated|preserv|creosot|salvag|reclaim|pallet|old door|unknown|not known|"
    r"ply|mdf|chip|particle|fib(?:re|er)|osb|laminat|glued|board",
    re.IGNORECASE,
)
"""Words in a species or a note after which nobody knows what is in or on the wood. common practice, no source"""

_UNTREATED = re.compile(r"\b(?:untreated|never treated)\b", re.IGNORECASE)
"""What a note says where somebody knows it; a planed face alone tells nothing of what is in the wood."""

STOVE_CAUTION = (
    "Only bare wood that is known to be untreated may go into a stove. Old finishes may hold lead, treated wood "
    "arsenic, sheet goods glue; none of them is burnt at home. The stove is proposed only for pieces whose notes say "
    "“untreated”. Your local rules, the stove's manual and the chimney "
    "sweep decide what may be burnt and how dry it must be; paint and treated wood go where your local rules send them."
)
"""US EPA, Burn Wise: no coated, painted or pressure-treated wood, no plywood or particle board (from memory)."""


def disposals_for(offcut: Offcut) -> tuple[Disposal, ...]:
    """The disposals to propose for a piece; burning only for bare wood that is known to be untreated."""
    return tuple(Disposal) if may_be_burned(offcut) else (Disposal.GIVEN_AWAY, Disposal.BIN)


def may_be_burned(offcut: Offcut) -> bool:
    """Whether burning may be proposed: never for an old finish or where the treatment is unknown.

    The notes must say that it is untreated, the species must be known, and no word may speak against it.
    """
    bare = Face.FINISHED not in offcut.faces
    rest = _UNTREATED.sub(" ", f"{offcut.species} {offcut.notes}")
    known = bool(offcut.species.strip()) and _UNTREATED.search(offcut.notes) is not None
    return bare and known and not _SUSPECT_WORDS.search(rest)
