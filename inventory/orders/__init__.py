"""Orders of one or more boards: filled together from one rack, counted, or explained when the rack falls short."""
