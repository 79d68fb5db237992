"""Queries, one module for each aggregate of tables. Each function runs in the transaction of its caller."""
