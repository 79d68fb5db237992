"""Labels on paper: stock, layout, QR and PDF, in exact millimetres.

Is given text, a picture and millimetres. Knows nothing of offcuts, racks or
where all that is kept.
"""

from labels.drawing import LabelText, large_code_side
from labels.errors import CannotPrint
from labels.geometry import faults, has_picture_room
from labels.pdf.calibration import lines_on
from labels.pdf.preview import preview
from labels.pdf.printer import Correction, Measured, Tone, correction_for
from labels.pdf.sheets import measuring_strips_pdf, sheet_pdf, test_sheet_pdf
from labels.qr import tag_payload
from labels.stock import (
    CAUTION,
    DEFAULT_STOCK,
    PAPER_SIZES,
    PRINT_AT_100,
    ROLL_DPI,
    SHEET_DPI,
    STOCKS,
    Hole,
    Paper,
    Size,
    Stock,
    pages_needed,
    stock_named,
)
from labels.typesetting.fonts import LACKING, lacking

__all__ = [
    "CAUTION",
    "DEFAULT_STOCK",
    "LACKING",
    "PAPER_SIZES",
    "PRINT_AT_100",
    "ROLL_DPI",
    "SHEET_DPI",
    "STOCKS",
    "CannotPrint",
    "Correction",
    "Hole",
    "LabelText",
    "Measured",
    "Paper",
    "Size",
    "Stock",
    "Tone",
    "correction_for",
    "faults",
    "has_picture_room",
    "lacking",
    "large_code_side",
    "lines_on",
    "measuring_strips_pdf",
    "pages_needed",
    "preview",
    "sheet_pdf",
    "stock_named",
    "tag_payload",
    "test_sheet_pdf",
]
