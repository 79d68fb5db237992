"""Printers by CUPS: their media, and print jobs. Takes PDFs and sizes in millimeters."""
