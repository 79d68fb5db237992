"""Alembic's way in: runs the revisions on the connection that `inventory.storage.upgrade` hands over.

The transaction is the caller's: all revisions are kept together, or none is.
"""

from alembic import context

from inventory.storage.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
)
context.run_migrations()
