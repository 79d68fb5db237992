"""The one root of what keeps a label from being printed."""


class LabelError(Exception):
    """What was given, why it can't be, how to mend it: one message for the user."""
