"""Pages at the saw: tag a piece, scan tags."""
