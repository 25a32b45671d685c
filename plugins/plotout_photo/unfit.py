"""Refuses a picture that can't be used, with what to do."""

from __future__ import annotations

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout_photo.camera import Kind
from plotout_photo.exposure import overexposed, too_dark
from plotout_photo.image import Picture
from plotout_photo.marks import LEAST_SIDE, Seen, mirrored, negative, of_another_kind, too_small
from plotout_photo.solve import Solution
from plotout_photo.strips import MARKS, MOST, strip_of

BLURRED = 6.5  # pixels from dark to bright at a mark's edge
SHARPER = (
    "Take it again with more light, and hold still; touch the sheet on the screen to focus on it."
)
PLAINLY = 2.5  # pixels that something moved (rendered, still: at most 1.3)
SMEARED = (0.5, 1.05)  # mm by which holes are lost, and by which most are (measured)
LIGHTER = "Take it again with more light, or a longer exposure, with the camera at rest."
DARKER = (
    "Take it again with a shorter exposure, or without a program that makes paper white, so that "
    "the paper is light grey."
)
STRIPS = (
    "Lay strips around the sheet (plotout frame prints them), and take a sharp picture that they "
    "fill."
)
FOUR = "Lay at least four strips around the sheet, and take all strips whole into the picture."
STILL = "Take it again with more light, for a short exposure, and rest the camera on something."
FEWEST_STRIPS, FEWEST_MARKS = 3, 12
CORE = 2.0  # least pixels across the core of a hole
PIN = 0.5  # mm: the finest pin expected
FULL_SIZE = "Send it at full size, not as a preview."
FEW_PIXELS = 1e6  # of a picture in which marks are easily too small to be read (measured)
FAR = (0.75, 1.2)  # mm: holes that need not be as large, and those that no pin makes larger


def nearer(scale: float) -> str:
    """Return how many photographs are needed for a pin of PIN mm to be CORE pixels wide."""
    need = (CORE * 1.1 / PIN / scale) ** 2 / 0.6  # two fifths of a photograph overlap
    return f"{max(2, int(np.ceil(need)))} photographs"


def check_marks(picture: Picture, seen: list[Seen], kind: Kind, place: Place) -> None:
    """Raise UserError if the marks in a picture are not plotout's, too few, or blurred."""
    strips = {strip_of(mark.number) for mark in seen}
    if not seen:
        check_unread(picture, place)
        raise _few_seen(picture, "no marks are seen in it", STRIPS, place)
    numbers = [mark.number for mark in seen]
    twice = sorted({number for number in numbers if numbers.count(number) > 1})
    if twice:
        raise UserError(
            f"strip {strip_of(twice[0])} is in it twice",
            fix="Use strips with different numbers: plotout frame --first "
            f"{min(strip_of(twice[0]) + 8, MOST)}",
            place=place,
        )
    blur = float(np.median([mark.blur for mark in seen]))
    if blur > BLURRED:
        raise UserError(
            f"the picture is blurred: the marks' edges are {blur:.0f} pixels wide",
            fix=SHARPER,
            place=place,
        )
    if kind.flat:
        return
    if len(strips) < FEWEST_STRIPS or len(seen) < FEWEST_MARKS:
        few = f"only {len(seen)} marks of {_strips(len(strips))} are seen in it"
        raise _few_seen(picture, few, FOUR, place)


def check_unread(picture: Picture, place: Place) -> None:
    """Raise UserError if a picture in which no marks are read shows some all the same."""
    if mirrored(picture.grey):
        raise UserError(
            "the picture is mirrored: its marks read from right to left",
            fix="Turn it back, or photograph or scan the sheet's upper side, not a mirror.",
            place=place,
        )
    if negative(picture.grey):
        raise UserError(
            "the picture is a negative: its marks are white on black",
            fix="Save it with black and white exchanged, or scan it again.",
            place=place,
        )
    if of_another_kind(picture.grey):
        raise UserError(
            "the coded marks in it are not from plotout's strips",
            fix="Print strips with: plotout frame --out FOLDER",
            place=place,
        )


def _few_seen(picture: Picture, problem: str, fix: str, place: Place) -> UserError:
    """Return the error for too few marks, with their size or the light as its cause if it is."""
    dark, bright = too_dark(picture.grey), overexposed(picture.grey)
    small = too_small(picture.grey)
    width, height = picture.size
    if len(small) >= MARKS:  # a whole strip
        return UserError(
            f"{problem}: {len(small)} are too small to be measured, {small.min():.0f} to "
            f"{small.max():.0f} pixels wide in a picture of {width} x {height} pixels",
            fix=f"{FULL_SIZE} If it is at full size, go nearer: marks must be "
            f"{LEAST_SIDE:.0f} pixels wide.",
            place=place,
        )
    if dark:
        return UserError(f"{problem}: {dark}", fix=LIGHTER, place=place)
    if bright:  # or its marks are missing: much white is no proof
        return UserError(f"{problem}, and {bright}", fix=f"{DARKER} {fix}", place=place)
    if width * height < FEW_PIXELS:
        return UserError(
            f"{problem}, and it has only {width} x {height} pixels",
            fix=f"{FULL_SIZE} {fix}",
            place=place,
        )
    return UserError(problem, fix=fix, place=place)


def _strips(count: int) -> str:
    return f"{count} strip{'s' if count > 1 else ''}"


def check_solved(solution: Solution, kind: Kind, place: Place) -> None:
    """Raise UserError if the marks in a picture don't fit together."""
    if solution.rms > 1.5 and kind.flat:
        raise UserError(
            f"the marks don't fit together as in a scan: they are {solution.rms:.1f} pixels off",
            fix="If it is a photograph, leave out its resolution (--resolution, or 'resolution' in "
            "the set). If it is a scan, check its resolution, and lay the strips flat.",
            place=place,
        )
    if solution.rms > 1.5:
        raise UserError(
            f"the marks don't fit together: they are {solution.rms:.1f} pixels off",
            fix="Lay the strips flat, and don't move them while it is taken.",
            place=place,
        )


def check_smear(smear: float, scale: float, place: Place) -> str:
    """Return in words that motion draws holes out, "" if not. Raises UserError if by too much.

    smear: pixels moved. scale: pixels per mm.
    """
    if smear < PLAINLY or smear < SMEARED[0] * scale:
        return ""
    said = (
        "the picture is blurred in one direction: the camera, or the sheet, moved by about "
        f"{smear:.0f} pixels ({smear / scale:.1f} mm) while it was taken"
    )
    if smear > SMEARED[1] * scale:
        raise UserError(said, fix=STILL, place=place)
    return said


def check_near(scale: float, holes: FloatArray, place: Place) -> None:
    """Raise UserError if a picture is taken from too far away for its holes, (n,) mm across."""
    least = CORE / scale
    if least <= FAR[0] or (least <= FAR[1] and len(holes) and np.median(holes) >= least):
        return
    seen = f"; those that are seen are about {np.median(holes):.1f} mm" if len(holes) else ""
    raise UserError(
        f"the picture is taken from too far away: only holes of {least:.1f} mm are "
        f"{CORE:.0f} pixels wide in it{seen}",
        fix=f"Go nearer: {nearer(scale)} that overlap would show holes of {PIN} mm.",
        place=place,
    )
