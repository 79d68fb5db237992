"""Fonts and lines of type."""
