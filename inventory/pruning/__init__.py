"""What the shop usually makes, which offcuts that will use, and which to let go."""
