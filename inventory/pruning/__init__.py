"""Usual boards, simulation of their demand, forecast, and prune advice."""
