"""Sign-in, pairing and network addresses."""
