"""WHICH offcuts to take for a board (cutting model, sections 8 to 11).

Picks among the offers of `inventory.cutting` and never hears of a kerf.
"""

from inventory.fill.answer import fill_rack

__all__ = ["fill_rack"]
