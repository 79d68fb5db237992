"""The database with its migrations, and the photo files.

Repositories map rows to the frozen dataclasses of `records`; `types` has the column types.
"""
