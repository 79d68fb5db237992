"""Exact solver for multiple-choice knapsack covers.

Imports numpy and the standard library, nothing else of the project.
"""
