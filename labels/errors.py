"""The one root of what keeps a label from being printed."""


class CannotPrint(Exception):
    """What was given, why it can't be, how to mend it: one message for the user."""
