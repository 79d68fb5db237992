"""SVG drawings."""
