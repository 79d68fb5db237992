"""How sure it is that a fill is the best, in words."""

from __future__ import annotations

from inventory.fill.certainty import Certainty


def certainty_sentence(certainty: Certainty, *, best: bool) -> str:
    """A sentence for a page; `best` where the fill ranks first by its preference."""
    if certainty.proven:
        return "Proven: the rack holds none better." if best else "Proven: none better with other offcuts."
    if certainty.gap == 0:
        return "Proven but for ties: the rack holds none better in what counts first here."
    if certainty.gap is None:
        return "Not proven: a better one might cost nothing of what matters here."
    return f"Not proven: at most {certainty.percent} % from the best there can be."


def certainty_phrase(certainty: Certainty) -> str:
    """The same as a phrase within a line of text."""
    if certainty.proven:
        return "proven"
    if certainty.gap == 0:
        return "proven but for ties"
    if certainty.gap is None:
        return "not proven"
    return f"not proven, at most {certainty.percent} % from the best"
