"""Stock checks: what is really on the rack."""
