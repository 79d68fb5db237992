"""Pages for labels and printers."""
