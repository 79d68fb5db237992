"""Pages of boards on hold, cut and finished."""
