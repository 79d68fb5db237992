"""Devices that may use the shop."""
