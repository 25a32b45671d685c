"""The scale and skew of a machine from the measured sides and diagonals of its test square."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine.model import Calibration

MOST = 0.03
"""Greatest plausible error of scale; more is probably a mistake in units."""
_AGREE = 0.01


def calibrate(
    across: tuple[float, float],
    up: tuple[float, float],
    diagonals: tuple[float, float],
    *,
    side: float = 100.0,
    date: str = "",
) -> Calibration:
    """Return scales and skew from a test square with intended sides of `side` mm.

    across: its lower and upper sides; up: its left and right sides; diagonals: from the lower left
    to the upper right, and from the upper left to the lower right; all measured, mm.
    The square comes out as a parallelogram, for which d1^2 - d2^2 = 4 a b sin(skew).
    skew: degrees by which the y axis leans to the right. Raises UserError for an impossible
    measurement, one that disagrees with the others, or a scale more than 3 % off.
    """
    if not all(math.isfinite(v) and v > 0.0 for v in (*across, *up, *diagonals, side)):
        raise UserError(
            "a measurement of the test square is zero, negative or not a number",
            fix="Measure all four sides and both diagonals in mm.",
        )
    a, b = sum(across) / 2.0, sum(up) / 2.0
    for words, pair in (("lower and upper sides", across), ("left and right sides", up)):
        if abs(pair[0] - pair[1]) > _AGREE * side:
            raise UserError(
                f"{words} differ: {pair[0]:g} and {pair[1]:g} mm",
                fix="Measure them again; if they really differ, look for slip in the feed.",
            )
    scales = (a / side, b / side)
    for axis, scale in zip("xy", scales, strict=True):
        if abs(scale - 1.0) > MOST:
            raise UserError(
                f"the {axis} axis would be {100.0 * (scale - 1.0):+.1f} % off: "
                "probably a mistake in units or a print scaled to fit the page",
                fix=f"Is the intended side {side:g} mm? Print at actual size, and measure in mm.",
            )
    whole = math.sqrt((diagonals[0] ** 2 + diagonals[1] ** 2) / 2.0)
    if abs(whole - math.hypot(a, b)) > _AGREE * side:
        raise UserError(
            f"diagonals of {diagonals[0]:g} and {diagonals[1]:g} mm don't agree with sides of "
            f"{a:g} and {b:g} mm",
            fix="Measure the diagonals again, corner to corner.",
        )
    sine = (diagonals[0] ** 2 - diagonals[1] ** 2) / (4.0 * a * b)
    skew = math.degrees(math.asin(sine))
    return Calibration(round(scales[0], 6), round(scales[1], 6), round(skew, 4), date)


def distortion(calibration: Calibration) -> FloatArray:
    """Return the (2, 3) map from coordinates sent to a machine to those it produces."""
    lean = math.radians(calibration.skew)
    x, y = calibration.scale_x, calibration.scale_y
    return np.array([[x, y * math.sin(lean), 0.0], [0.0, y * math.cos(lean), 0.0]])


def correction(calibration: Calibration) -> FloatArray:
    """Return the (2, 3) map that corrects coordinates before they are sent."""
    inverse = np.linalg.inv(distortion(calibration)[:, :2])
    return np.column_stack([inverse, np.zeros(2)])


def corrected(strokes: Sequence[Stroke], calibration: Calibration) -> tuple[Stroke, ...]:
    """Return the strokes corrected for sending, so that they come out true.

    Raises UserError for an implausible calibration, wherever it was written.
    """
    if calibration == Calibration():
        return tuple(strokes)
    scales = (calibration.scale_x, calibration.scale_y)
    if max(abs(scale - 1.0) for scale in scales) > MOST or not abs(calibration.skew) < 3.0:
        raise UserError(
            f"the machine is {calibration}: more than {100 * MOST:g} % is implausible",
            fix="Remove [calibration] from its profile, and measure its test square again.",
        )
    true = correction(calibration)
    return tuple(stroke.moved(true) for stroke in strokes)
