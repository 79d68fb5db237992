"""Rackful: what is on the offcut rack, and which boards are in it.

Nothing happens on import. The rooms, and what may import what, stand in
DEVELOPERS.md.
"""

__version__ = "0.1.0"
