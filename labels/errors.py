"""The one root of what keeps a label from being printed."""


class LabelError(Exception):
    """What was given, why it can't be, how to fix it: one message for the user."""
