"""What the shop keeps: the database, its migrations, and the photo files.

Turns rows into the frozen dataclasses of `records` and back. Knows nothing of
screens or commands; what a change means is `inventory.services`'.
"""
