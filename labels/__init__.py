"""Labels on paper: stock, layout, QR and PDF, in exact millimeters.

Takes text, pictures and sizes in millimeters; imports nothing of `inventory`.
"""

from labels.drawing import LabelText, main_code_side
from labels.errors import LabelError
from labels.geometry import has_picture_room, stock_errors
from labels.pdf.calibration import calibration_lines
from labels.pdf.preview import preview
from labels.pdf.printer import Correction, LineMeasures, Tone, correction_for
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
    find_stock,
    pages_needed,
)
from labels.typesetting.fonts import MISSING_GLYPH, missing_characters

__all__ = [
    "CAUTION",
    "DEFAULT_STOCK",
    "MISSING_GLYPH",
    "PAPER_SIZES",
    "PRINT_AT_100",
    "ROLL_DPI",
    "SHEET_DPI",
    "STOCKS",
    "Correction",
    "Hole",
    "LabelError",
    "LabelText",
    "LineMeasures",
    "Paper",
    "Size",
    "Stock",
    "Tone",
    "calibration_lines",
    "correction_for",
    "find_stock",
    "has_picture_room",
    "main_code_side",
    "measuring_strips_pdf",
    "missing_characters",
    "pages_needed",
    "preview",
    "sheet_pdf",
    "stock_errors",
    "tag_payload",
    "test_sheet_pdf",
]
