"""The base class of all errors that a user can fix.

Each error class is defined beside what raises it. The command line (exit 2, one line) and the web (beside the field)
each translate `UserError` in one place.
"""


class UserError(Exception):
    """What was given, why it can't be, how to fix it: one message for the user."""


class Conflict(UserError):
    """Somebody else changed the same thing first; nothing was overwritten."""
