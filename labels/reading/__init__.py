"""Reading: tags found in a photo, each with its place, and places where one is seen but can't be read.

Corners are pixels of the picture that was given.
"""

from labels.reading.findings import Corner, Corners, DetectedCode, DetectedText, Reading
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
    "DetectedCode",
    "DetectedText",
    "MeasuredLength",
    "MeasurementError",
    "Reading",
    "measure_lengths",
    "read_frame",
    "read_photo",
    "strip_targets",
    "symbol_target",
]
