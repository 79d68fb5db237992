"""Reading: tags found in a photo, each with its place, and places where one is seen but can't be read.

Knows pictures and QR symbols. Knows no wood and no shop: what counts as a tag's
text the caller says. Corners are pixels of the picture that was given.
"""

from labels.reading.findings import Corner, Corners, Reading, SeenCode, SeenText
from labels.reading.measuring import Figure, NotMeasurable, Span, measured, strip_figures, symbol_figure
from labels.reading.reader import read_photo, read_still

__all__ = [
    "Corner",
    "Corners",
    "Figure",
    "NotMeasurable",
    "Reading",
    "SeenCode",
    "SeenText",
    "Span",
    "measured",
    "read_photo",
    "read_still",
    "strip_figures",
    "symbol_figure",
]
