"""What the shop keeps: the database, its migrations, and the photo files.

Turns rows into the frozen dataclasses of `records` and back.
"""
