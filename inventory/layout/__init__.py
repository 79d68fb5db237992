"""Strips in place: order, operations and the finished board (cutting model, sections 6, 7 and 11)."""
