"""Rackful: what is on the offcut rack, and which boards are in it.

Nothing happens on import. The packages, and what may import what, are in
DEVELOPERS.md.
"""

__version__ = "0.1.0"
