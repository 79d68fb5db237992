"""Alembic's revisions, one a change of the tables, run by `inventory.storage.upgrade` and shipped with the package."""
