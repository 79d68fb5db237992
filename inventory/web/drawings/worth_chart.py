"""What a piece keeps of the worth of its wood, by length and width (cutting model, section 9)."""

from __future__ import annotations

from fractions import Fraction

from markupsafe import Markup

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches, millimeters, volume_mm3
from inventory.web.drawings.svg import SVG_WIDTH, drawing, letters, number

LENGTHS = {
    Unit.INCH: tuple(inches(text) for text in ("6", "12", "24", "48", "72", "96")),
    Unit.MILLIMETER: tuple(millimeters(text) for text in ("150", "300", "600", "1200", "1800", "2400")),
}
WIDTHS = {
    Unit.INCH: tuple(inches(text) for text in ("1", "2", "3", "4", "6")),
    Unit.MILLIMETER: tuple(millimeters(text) for text in ("25", "50", "75", "100", "150")),
}
THICKNESS = millimeters("25")
"""Any: the share does not depend on it."""
UNIT_NAMES = {Unit.INCH: "inches", Unit.MILLIMETER: "millimeters"}
LEFT, TOP, CELL_HEIGHT = 36, 36, 28


def worth_share(length: Length, width: Length, allowances: Allowances) -> Fraction:
    """The worth of a piece of these sizes as a share of that of as much prime wood."""
    return Fraction(allowances.worth(length, width, THICKNESS), 1000 * volume_mm3(length, width, THICKNESS))


def draw_worth(allowances: Allowances, unit: Unit) -> Markup:
    """A cell for each length and width with its share in percent, the darker the more it keeps."""
    lengths, widths = LENGTHS[unit], WIDTHS[unit]
    cell = (SVG_WIDTH - LEFT) / len(lengths)
    nm = inches("1") if unit is Unit.INCH else millimeters("1")
    parts = [
        letters(0, 8, f"% of full worth, length in {UNIT_NAMES[unit]}", anchor="start"),
        letters(0, 24, "width", anchor="start"),
    ]
    sentences = []
    for column, length in enumerate(lengths):
        parts.append(letters(LEFT + (column + 0.5) * cell, 24, str(length // nm)))
    for row, width in enumerate(widths):
        top = TOP + row * CELL_HEIGHT
        parts.append(letters(LEFT - 6, top + CELL_HEIGHT / 2, str(width // nm), anchor="end"))
        shares = [worth_share(length, width, allowances) for length in lengths]
        for column, share in enumerate(shares):
            parts.append(_cell(LEFT + column * cell, top, cell, share))
            parts.append(letters(LEFT + (column + 0.5) * cell, top + CELL_HEIGHT / 2, str(round(share * 100))))
        sentences.append(
            f"{width // nm} wide: "
            + ", ".join(
                f"{length // nm} long {round(share * 100)} %" for length, share in zip(lengths, shares, strict=True)
            )
        )
    height = TOP + len(widths) * CELL_HEIGHT + 2
    return drawing(
        "worth", "worth-chart", height, "What wood is worth by length and width", "; ".join(sentences), parts
    )


def _cell(left: float, top: float, width: float, share: Fraction) -> Markup:
    return Markup(
        '<rect x="{}" y="{}" width="{}" height="{}" fill="currentColor" fill-opacity="{}" stroke="currentColor"/>'
    ).format(number(left), number(top), number(width), CELL_HEIGHT, f"{0.04 + 0.22 * float(share):.2f}")
