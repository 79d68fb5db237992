"""The base of all errors of labels."""


class LabelError(Exception):
    """A label that can't be printed or read; the message says what was given, why it can't be, and how to fix it."""
