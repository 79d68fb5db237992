"""Forecasts, prune advice and prune checklists."""
