"""What labels say and how they are printed."""
