"""Offcuts on the rack: tag, find, edit, photograph, import and export."""
