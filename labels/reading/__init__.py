"""Tags in a photo, each with its corners, and the places of symbols that can't be decoded.

Corners are pixels of the picture.
"""

from labels.reading.findings import Corner, Corners, DetectedSymbol, Reading
from labels.reading.measuring import (
    CalibrationTarget,
    MeasuredLength,
    MeasurementError,
    measure_lengths,
    strip_targets,
    symbol_target,
)
from labels.reading.reader import read_frame, read_photo

__all__ = [
    "CalibrationTarget",
    "Corner",
    "Corners",
    "DetectedSymbol",
    "MeasuredLength",
    "MeasurementError",
    "Reading",
    "measure_lengths",
    "read_frame",
    "read_photo",
    "strip_targets",
    "symbol_target",
]
