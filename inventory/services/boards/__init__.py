"""Boards from the request to the finished piece."""
