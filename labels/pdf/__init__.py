"""Sheets, rolls and test sheets as PDF."""
