"""Photos prepared for printing."""
