"""The scale and skew of a machine from the measured sides and diagonals of its test square."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine.model import Calibration

MOST = 0.03
"""Greatest plausible error of scale; more is probably a mistake in units."""
MOST_SKEW = 3.0
"""Greatest lean of the axes that is believed, degrees."""
READS = 0.2
"""mm that a side is known to, with a workroom's rule. Common practice."""
_AGREE = 0.01  # of the side: measures that differ by more are refused
_DOUBT = 2.0 * READS  # mm: those that differ by more are asked about
_REFUSED = 3.0 * READS  # mm: never refused for less, however small the square


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured on a test square: as `calibrate` takes it, mm."""

    across: tuple[float, float]
    up: tuple[float, float]
    diagonals: tuple[float, float]
    side: float

    @property
    def doubts(self) -> tuple[str, ...]:
        """How the measures contradict one another, in words, where a rule can show it."""
        return tuple(
            f"{words}: {found:g} and {other:g} mm, {abs(found - other):.2f} mm apart"
            for words, found, other in self._pairs()
            if abs(found - other) > _DOUBT
        )

    def _pairs(self) -> Iterator[tuple[str, float, float]]:
        """Give what should be alike."""
        yield "the lower and the upper side", *self.across
        yield "the left and the right side", *self.up
        a, b = (sum(pair) / 2.0 for pair in (self.across, self.up))
        whole = math.sqrt(sum(diagonal**2 for diagonal in self.diagonals) / 2.0)
        words = "the diagonals, taken together, and those that go with the sides"
        yield words, round(whole, 2), round(math.hypot(a, b), 2)


def calibrate(
    across: tuple[float, float],
    up: tuple[float, float],
    diagonals: tuple[float, float],
    *,
    side: float = 100.0,
    date: str = "",
    before: Calibration | None = None,
) -> Calibration:
    """Return scales and skew from a test square with intended sides of `side` mm.

    across: its lower and upper sides; up: its left and right sides; diagonals: from the lower left
    to the upper right, and from the upper left to the lower right; all measured, mm.
    The square comes out as a parallelogram, of which d1^2 - d2^2 = 4 a b sin(skew).
    skew: degrees that the y axis leans to the right. before: the calibration that the square was
    made with, upon which this one builds. Raises UserError for a measure that is none, that
    disagrees with the others, or a scale more than 3 % off.
    """
    if not all(math.isfinite(v) and v > 0.0 for v in (*across, *up, *diagonals, side)):
        raise UserError(
            "a measurement of the test square is zero, negative or not a number",
            fix="Measure all four sides and both diagonals in mm.",
        )
    a, b = sum(across) / 2.0, sum(up) / 2.0
    most = max(_AGREE * side, _REFUSED)
    for words, pair in (("lower and upper sides", across), ("left and right sides", up)):
        if abs(pair[0] - pair[1]) > most:
            raise UserError(
                f"{words} differ: {pair[0]:g} and {pair[1]:g} mm",
                fix="Measure them again; if they really differ, look for slip in the feed.",
            )
    _believable(a / side, b / side, f"Is the intended side {side:g} mm? ")
    whole = math.sqrt((diagonals[0] ** 2 + diagonals[1] ** 2) / 2.0)
    if abs(whole - math.hypot(a, b)) > most:
        raise UserError(
            f"diagonals of {diagonals[0]:g} and {diagonals[1]:g} mm don't agree with sides of "
            f"{a:g} and {b:g} mm",
            fix="Measure the diagonals again, corner to corner.",
        )
    sine = (diagonals[0] ** 2 - diagonals[1] ** 2) / (4.0 * a * b)
    if abs(sine) > math.sin(math.radians(MOST_SKEW)):
        raise UserError(
            f"diagonals of {diagonals[0]:g} and {diagonals[1]:g} mm lean by more than "
            f"{MOST_SKEW:g} degrees: that can't be believed",
            fix="Measure them again. If they are right, square the machine's axes first.",
        )
    found = Calibration(a / side, b / side, math.degrees(math.asin(sine)), date)
    return _rounded(_upon(before, found) if before else found)


def _believable(x: float, y: float, asked: str) -> None:
    """Refuse scales that are more likely a slip. Raises UserError."""
    for axis, scale in (("x", x), ("y", y)):
        if abs(scale - 1.0) > MOST:
            raise UserError(
                f"the {axis} axis would be {100.0 * (scale - 1.0):+.1f} % off: "
                "probably a mistake in units or a print scaled to fit the page",
                fix=f"{asked}Print at actual size, and measure in mm.",
            )


def _upon(before: Calibration, found: Calibration) -> Calibration:
    """Return the calibration of a machine that makes `found` of work corrected by `before`.

    Corrected by C = D^-1, the work came out by M; so the machine itself, uncorrected, makes M D.
    """
    (x, lean), (_, y) = (distortion(found)[:, :2] @ distortion(before)[:, :2]).tolist()
    scale_y = math.hypot(lean, y)
    _believable(x, scale_y, "With what was calibrated before, this is too much. ")
    return Calibration(x, scale_y, math.degrees(math.atan2(lean, y)), found.date)


def _rounded(found: Calibration) -> Calibration:
    skew = round(found.skew, 4) + 0.0  # + 0.0: no minus sign before zero
    return Calibration(round(found.scale_x, 6), round(found.scale_y, 6), skew, found.date)


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
    if max(abs(scale - 1.0) for scale in scales) > MOST or not abs(calibration.skew) <= MOST_SKEW:
        raise UserError(
            f"the machine is {calibration}: more than {100 * MOST:g} % is implausible",
            fix="Remove [calibration] from its profile, and measure its test square again.",
        )
    true = correction(calibration)
    return tuple(stroke.moved(true) for stroke in strokes)
