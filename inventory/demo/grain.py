"""Wood grain from numbers: the face, the edge and the end of one piece as pixels.

A face is a plane laid through a trunk: the rings are the distance from the pith,
bent by taper, wander and knots, which gives cathedrals where the plane passes the
pith and straight lines where it does not. Knows nothing of tools, coats or light:
that is `surfaces` and `photo`. Sizes are millimetres as floats; pixels are float32
from 0 to 1 in the order rows (across the grain), columns (along it), colours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from inventory.demo.looks import Colour, Look, Rings

Pixels = NDArray[np.float32]
Dice = np.random.Generator

_STEP = 0.05
"""How finely the rings are laid out along the radius, in mm."""

SQUARE_FOOT = 92903.0


@dataclass(frozen=True)
class Plane:
    """How a face lies in its trunk: distance from the pith, where the pith passes, and its lean."""

    off_pith: float
    beside: float
    taper: float


def paint(colour: Colour) -> Pixels:
    """A colour of 0 to 255 as pixels hold it."""
    return np.asarray(colour, np.float32) / np.float32(255)


def clouds(dice: Dice, rows: int, columns: int, high: float, long: float) -> Pixels:
    """Smooth noise of about unit strength, its patches `high` by `long` pixels."""
    small = (max(2, int(rows / high) + 2), max(2, int(columns / long) + 2))
    noise = Image.fromarray(dice.standard_normal(small, np.float32))
    return np.asarray(noise.resize((columns, rows), Image.Resampling.BICUBIC), np.float32)


def dashes(dice: Dice, rows: int, columns: int, long: float, share: float) -> Pixels:
    """Marks of 0 to 1, one pixel high and about `long` pixels along the grain, covering `share` of the face."""
    mean = max(1.0, long)
    count = int(rows * columns / mean) + columns
    lengths = dice.integers(max(1, int(mean * 0.4)), max(2, int(mean * 1.6)) + 1, count)
    marks = np.where(dice.random(count, np.float32) < share, dice.random(count, np.float32), np.float32(0))
    laid = np.repeat(marks, lengths)
    if laid.size < rows * columns:
        laid = np.resize(laid, rows * columns)
    return laid[: rows * columns].reshape(rows, columns).astype(np.float32)


def streaks(dice: Dice, rows: int, columns: int, long: float) -> Pixels:
    """Fine fibres: noise of unit strength, one pixel high, `long` pixels along the grain."""
    noise = Image.fromarray(dice.standard_normal((rows, max(2, int(columns / max(2.0, long)) + 2)), np.float32))
    return np.asarray(noise.resize((columns, rows), Image.Resampling.BILINEAR), np.float32)


def _year_rings(look: Look, dice: Dice, reach: float, pixel: float) -> tuple[Pixels, Pixels]:
    """Darkness and openness of pores by the distance from the pith, in steps of `_STEP`."""
    count = int(reach / look.ring * 1.6) + 8
    widths = look.ring * dice.lognormal(0.0, 0.32, count) * (1 + 0.35 * np.sin(np.arange(count) / dice.uniform(2, 5)))
    edges = np.concatenate(([0.0], np.cumsum(np.maximum(widths, look.ring * 0.25))))
    radius = np.arange(int(reach / _STEP) + 2) * _STEP
    year = np.searchsorted(edges, radius, side="right") - 1
    year = np.clip(year, 0, count - 1)
    phase = np.clip((radius - edges[year]) / (edges[year + 1] - edges[year]), 0, 1)
    strength = dice.uniform(0.55, 1.0, count)[year]
    match look.rings:
        case Rings.RING_POROUS:
            early = np.clip(1 - phase / 0.38, 0, 1)
            dark = early**0.7 * strength + 0.12 * phase
            open_pores = early
        case Rings.DIFFUSE:
            dark = np.exp(-(((phase - 0.96) / 0.09) ** 2)) * strength + 0.25 * phase
            open_pores = 0.45 + 0.4 * (1 - phase)
        case Rings.SOFTWOOD:
            late = np.clip((phase - 0.35) / 0.6, 0, 1)
            dark = late**2.2 * strength
            open_pores = np.zeros_like(phase)
    across = max(1, int(pixel * 0.7 / _STEP))
    blur = np.ones(across) / across
    return (
        np.convolve(dark, blur, "same").astype(np.float32),
        np.convolve(open_pores, blur, "same").astype(np.float32),
    )


def _knots(look: Look, dice: Dice, length: float, width: float) -> list[tuple[float, float, float]]:
    """Where knots sit and how large they are: along, across, radius."""
    count = int(dice.poisson(look.knots * length * width / SQUARE_FOOT * 1.0))
    return [
        (dice.uniform(0.08, 0.92) * length, dice.uniform(0.1, 0.9) * width, dice.uniform(3.5, 9.0))
        for _ in range(min(count, 6))
    ]


def plane_through(dice: Dice, width: float) -> Plane:
    """Draws how a piece was sawn from its log: flat for the most part, else rift or quarter."""
    way = dice.random()
    if way < 0.62:
        return Plane(
            dice.uniform(18, 70), dice.uniform(0.2, 0.8) * width, dice.choice([-1, 1]) * dice.uniform(0.02, 0.06)
        )
    side = float(dice.choice([-1, 1]))
    if way < 0.85:
        return Plane(dice.uniform(40, 80), width / 2 + side * (width / 2 + dice.uniform(30, 80)), side * 0.012)
    return Plane(dice.uniform(4, 20), width / 2 + side * (width / 2 + dice.uniform(60, 120)), side * 0.006)


def face(look: Look, dice: Dice, length: float, width: float, rows: int, columns: int, plane: Plane) -> Pixels:
    """The clean face of a piece `length` by `width` mm, drawn in `rows` by `columns` pixels."""
    pixel = length / columns
    along = (np.arange(columns, dtype=np.float32) + 0.5) * np.float32(pixel)
    across = (np.arange(rows, dtype=np.float32) + 0.5) * np.float32(width / rows)
    wander = clouds(dice, 2, columns, 2.0, 160 / pixel)[0] * np.float32(5.0)
    aside = across[:, None] - np.float32(plane.beside) + wander[None, :]
    radius = np.sqrt(aside * aside + np.float32(plane.off_pith**2))
    radius += (along * np.float32(plane.taper))[None, :]
    radius += clouds(dice, rows, columns, 30 / pixel, 260 / pixel) * np.float32(1.8)
    radius += clouds(dice, rows, columns, 5 / pixel, 60 / pixel) * np.float32(0.22 + 0.05 * look.ring)
    knots = _knots(look, dice, length, width)
    for k_along, k_across, size in knots:
        bent = ((along - k_along) / np.float32(size * 3.6))[None, :] ** 2
        bent = bent + ((across - k_across) / np.float32(size * 1.25))[:, None] ** 2
        radius += np.float32(size * 2.4) * np.exp(-bent)
    radius -= radius.min()
    dark_by, open_by = _year_rings(look, dice, float(radius.max()) + 1, pixel)
    place = (radius * np.float32(1 / _STEP)).astype(np.int32)
    dark = dark_by[place] * np.float32(look.contrast)
    pixels = _tinted(look, dice, dark, rows, columns, pixel)
    _lay_pores(look, dice, pixels, open_by[place], pixel)
    _lay_rays(look, dice, pixels, aside, plane, pixel)
    for knot in knots:
        _lay_knot(dice, pixels, along, across, knot)
    return pixels


def _tinted(look: Look, dice: Dice, dark: Pixels, rows: int, columns: int, pixel: float) -> Pixels:
    """Colours the rings, with the slow bands, ribbon and sapwood of the species and fibres over all."""
    dark += streaks(dice, rows, columns, 22 / pixel) * np.float32(0.045)
    dark += clouds(dice, rows, columns, 14 / pixel, 220 / pixel) * np.float32(0.16 * look.bands)
    dark += clouds(dice, rows, columns, 3 / pixel, 120 / pixel) * np.float32(0.10 * look.bands + 0.03)
    if look.ribbon:
        ribbon = clouds(dice, rows, columns, 9 / pixel, 700 / pixel)
        ripple = clouds(dice, rows, columns, 9 / pixel, 60 / pixel)
        dark += (np.tanh(1.6 * ribbon) * np.float32(0.26) + ripple * np.float32(0.05)) * np.float32(look.ribbon)
        dark += np.float32(0.32 * look.ribbon)
    light, deep = paint(look.light), paint(look.dark)
    pixels = light + np.clip(dark, -0.35, 1.25)[..., None] * (deep - light)
    if look.stain is not None and dice.random() < 0.6:
        _blend(pixels, paint(look.stain), _soft_band(dice, rows, columns, pixel) * np.float32(0.75))
    if look.sapwood is not None and dice.random() < 0.35:
        edge = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
        edge = edge if dice.random() < 0.5 else 1 - edge
        border = np.float32(dice.uniform(0.08, 0.3)) + clouds(
            dice, rows, columns, 40 / pixel, 150 / pixel
        ) * np.float32(0.03)
        _blend(pixels, paint(look.sapwood), np.clip((border - edge) * 14 + 0.5, 0, 1) * np.float32(0.85))
    return pixels.astype(np.float32)


def _soft_band(dice: Dice, rows: int, columns: int, pixel: float) -> Pixels:
    """A broad band along the grain, soft at its borders."""
    middle = dice.uniform(0.1, 0.9)
    edge = np.linspace(0, 1, rows, dtype=np.float32)[:, None] - np.float32(middle)
    edge = edge + clouds(dice, rows, columns, 20 / pixel, 180 / pixel) * np.float32(0.05)
    band: Pixels = np.clip(1.4 - np.abs(edge) * np.float32(1 / dice.uniform(0.15, 0.3)), 0, 1).astype(np.float32)
    return band


def _blend(pixels: Pixels, colour: Pixels, share: Pixels) -> None:
    """Lays `colour` over the pixels where `share` is above 0."""
    pixels += share[..., None] * (colour - pixels)


def _lay_pores(look: Look, dice: Dice, pixels: Pixels, open_pores: Pixels, pixel: float) -> None:
    if not look.pores:
        return
    rows, columns = open_pores.shape
    marks = dashes(dice, rows, columns, look.pore / pixel, min(0.5, 0.28 + 0.12 * pixel))
    pixels *= 1 - (marks * open_pores * np.float32(0.42 * look.pores / (1 + 0.5 * pixel)))[..., None]


def _lay_rays(look: Look, dice: Dice, pixels: Pixels, aside: Pixels, plane: Plane, pixel: float) -> None:
    rows, columns = aside.shape
    if look.flecks:
        share = min(0.35, 0.05 + 0.05 * pixel) * (2.0 if look.fleck < 4 else 0.6)
        marks = dashes(dice, rows, columns, look.fleck / pixel, share)
        pixels *= 1 - (marks * np.float32(0.38 * look.flecks))[..., None] * np.asarray([0.7, 1.0, 1.15], np.float32)
    if look.silver:
        # Rays lie along the radius: they show as broad flecks only where the face nearly is one.
        radial = np.abs(aside) / np.sqrt(aside * aside + np.float32(plane.off_pith**2))
        seen = np.clip((radial - 0.93) / 0.06, 0, 1)
        if seen.any():
            patch = clouds(dice, rows, columns, 9 / pixel, 5 / pixel) + clouds(
                dice, rows, columns, 2.5 / pixel, 9 / pixel
            )
            fleck = np.clip((patch - 1.3) * 2.2, 0, 1) * seen * np.float32(0.4 * look.silver)
            _blend(pixels, paint((232, 208, 168)), fleck)


def _lay_knot(dice: Dice, pixels: Pixels, along: Pixels, across: Pixels, knot: tuple[float, float, float]) -> None:
    k_along, k_across, size = knot
    near = np.flatnonzero(np.abs(along - k_along) < size * 1.7)
    beside = np.flatnonzero(np.abs(across - k_across) < size * 1.4)
    if not near.size or not beside.size:
        return
    window = pixels[beside[0] : beside[-1] + 1, near[0] : near[-1] + 1]
    out = np.hypot(((along[near] - k_along) / 1.2)[None, :], (across[beside] - k_across)[:, None]) / np.float32(size)
    out = out + clouds(dice, beside.size, near.size, 6, 6) * np.float32(0.06)
    inside = np.clip((1.0 - out) * 9, 0, 1)
    heart = paint((140, 82, 42)) * (1 + 0.22 * np.sin(out * 19))[..., None]
    window += inside[..., None] * (heart - window) * np.float32(0.9)
    rim = np.exp(-(((out - 1.0) / 0.1) ** 2)) * np.float32(0.62)
    window *= 1 - rim[..., None]


def edge(look: Look, dice: Dice, length: float, thickness: float, rows: int, columns: int) -> Pixels:
    """The long edge of a piece: the grain seen from the side, mostly straight lines."""
    plane = Plane(dice.uniform(6, 30), thickness / 2 + dice.uniform(40, 90), 0.006)
    return face(look, dice, length, thickness, rows, columns, plane)


def end(look: Look, dice: Dice, width: float, thickness: float, rows: int, columns: int, plane: Plane) -> Pixels:
    """The sawn end: arcs of the rings, the fibres drinking the light."""
    pixel = width / columns
    across = (np.arange(columns, dtype=np.float32) + 0.5) * np.float32(pixel) - np.float32(plane.beside)
    deep = (np.arange(rows, dtype=np.float32) + 0.5) * np.float32(thickness / rows) + np.float32(plane.off_pith)
    radius = np.hypot(across[None, :], deep[:, None])
    radius = radius + clouds(dice, rows, columns, 30 / pixel, 30 / pixel) * np.float32(0.5)
    radius -= radius.min()
    dark_by, _ = _year_rings(look, dice, float(radius.max()) + 1, pixel)
    dark = dark_by[(radius / np.float32(_STEP)).astype(np.int32)] * np.float32(look.contrast)
    dark = dark + dice.standard_normal((rows, columns), np.float32) * np.float32(0.08)
    light, deep_colour = paint(look.light), paint(look.dark)
    pixels: Pixels = (light + np.clip(dark, -0.3, 1.2)[..., None] * (deep_colour - light)).astype(np.float32)
    return pixels * np.float32(0.82)
