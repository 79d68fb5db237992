"""A QR on a page: one path of dark modules on white, with its quiet zone, in any colors of the page around it."""

from __future__ import annotations

from markupsafe import Markup, escape

from labels.qr import QUIET_MODULES, symbol_for


def qr_svg(payload: str, words: str) -> Markup:
    """The symbol of a text; `words` say what it is to whoever can't see it."""
    modules = symbol_for(payload).modules
    side = len(modules) + 2 * QUIET_MODULES
    runs = []
    for y, row in enumerate(modules, QUIET_MODULES):
        x = 0
        while x < len(row):
            wide = 0
            while x + wide < len(row) and row[x + wide]:
                wide += 1
            if wide:
                runs.append(f"M{x + QUIET_MODULES} {y}h{wide}v1h-{wide}z")
            x += wide or 1
    return Markup(
        f'<svg class="qr" viewBox="0 0 {side} {side}" role="img" aria-label="{escape(words)}" '
        'shape-rendering="crispEdges">'
        f'<path fill="#fff" d="M0 0h{side}v{side}h-{side}z"/><path fill="#000" d="{"".join(runs)}"/></svg>'
    )
