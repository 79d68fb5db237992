"""Every moment is text in UTC with six decimals, so that moments sort as texts do.

Until now each kept the offset of the clock that wrote it.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_MOMENTS = {
    "given_codes": ["given_at"],
    "boards": ["created_at", "cut_at", "finished_at", "abandoned_at", "changed_at"],
    "offcuts": ["tagged_at", "seen_at"],
    "former_codes": ["replaced_at"],
    "events": ["at"],
    "idempotency_keys": ["at"],
    "print_jobs": ["sent_at", "ended_at"],
    "devices": ["joined_at", "seen_at", "ended_at"],
    "usual_boards": ["made_at", "taken_off_at"],
    "pinned_offcuts": ["at"],
    "forecasts": ["made_at"],
    "prune_checklists": ["made_at", "ended_at"],
    "prune_checklist_entries": ["decided_at"],
    "stock_checks": ["made_at", "ended_at"],
    "stock_check_sightings": ["at"],
}


def upgrade() -> None:
    """Rewrites every column that holds a moment."""
    driver: Any = op.get_bind().connection.driver_connection
    driver.create_function("utc_text", 1, _utc_text, deterministic=True)
    for table, columns in _MOMENTS.items():
        changes = ", ".join(f"{column} = utc_text({column})" for column in columns)
        op.execute(f"UPDATE {table} SET {changes}")


def _utc_text(text: str | None) -> str | None:
    return None if text is None else datetime.fromisoformat(text).astimezone(UTC).isoformat(timespec="microseconds")
