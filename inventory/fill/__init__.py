"""WHICH offcuts to take for a board (cutting model, sections 8 to 11).

Picks among the offers of `inventory.cutting` and never hears of a kerf.
"""
