"""Pages of the rack: search, one piece, stock check, pruning."""
