"""Pages at the bench: request a board, compare the answers."""
