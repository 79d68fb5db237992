"""Exact lengths, offcuts, allowances, species, moisture and prices: what every other package builds on.

Imports the standard library only.
"""
