"""One picture alone: its marks, its camera, and what the sheet in it shows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray, Place, UserError
from plotout_photo import large, sift
from plotout_photo.area import area_of
from plotout_photo.blur import blur_of
from plotout_photo.camera import Kind, lens, scanner
from plotout_photo.exposure import overexposed
from plotout_photo.holes import Holes
from plotout_photo.image import Picture, load
from plotout_photo.marks import Seen, find_marks, seen_again
from plotout_photo.model import Model, View
from plotout_photo.odd import Odd, odd_one
from plotout_photo.sheet import Sheet, scale_at, seen_on
from plotout_photo.smear import smear_of
from plotout_photo.solve import SeenWronglyError, Solution, alone
from plotout_photo.unfit import (
    CORE,
    DARKER,
    PIN,
    SHARPER,
    STILL,
    check_marks,
    check_near,
    check_smear,
    check_solved,
    check_unread,
    nearer,
)

USUAL_FOCAL = 0.75  # of the longer side: a phone's main lens is about 26 mm (common practice)
SOFT = (2.0, 0.6)  # sigmas of blur up to which holes are lost (measured); mm that it matters from
UNSURE = 0.45  # greatest certainty of what such a picture alone shows
NO_GREYS, FEW_GREYS = 4, 16  # numbers of greys with which corners are false, and holes paler
UNEVEN, UNEVEN_BY = 0.1, 0.75  # pixels: a spread of dark that matters; by how much a power makes it
POWERS = (0.35, 2.0)  # of light, by which it is


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A picture solved alone. marks: those that fitted. dropped: the numbers of the others.

    sheet: what it shows besides; outside: which of its spots lie outside the area of the strips.
    scale: pixels per mm, in the middle. grey: the picture, uint8. shrunk: pixels of the file, along
    a side, to one of it. without_one: if marks fit badly, what is solved without each strip.
    trust: the greatest certainty of a prick that only pictures like this one show. greys: how many
    the file has.
    """

    path: Path
    kind: Kind
    marks: tuple[Seen, ...]
    dropped: tuple[int, ...]
    solution: Solution
    sheet: Sheet
    outside: NDArray[np.bool_]
    scale: float
    grey: Any
    notes: tuple[str, ...]
    shrunk: int = 1
    without_one: tuple[Solution, ...] = ()
    trust: float = 1.0
    greys: int = 256

    @property
    def found(self) -> Holes:
        """The spots that may be pricks."""
        return self.sheet.found

    @property
    def sure(self) -> FloatArray:
        """Their certainty, (n,), 0 to 1."""
        return self.sheet.sure

    @property
    def too_large(self) -> str:
        """In words, the spots that are too large for pricks; "" if there are few."""
        spots = self.sheet.large
        return large.told(spots._replace(at=self.in_file(spots.at)))

    def in_file(self, pixels: FloatArray) -> FloatArray:
        """Return where pixels (n, 2) lie in the file's own picture, turned upright."""
        return (pixels + 0.5) * self.shrunk - 0.5


def take(path: Path, dpi: float | None = None, thickness: float = 0.0) -> Shot:
    """Read a picture and solve it. thickness: of the strips, mm. Raises UserError."""
    picture = load(path, dpi)
    seen = find_marks(picture.grey, picture.light)
    smear = smear_of(picture.light, seen, blur_of(seen))
    place = Place(path)
    notes: list[str] = []
    dropped: tuple[int, ...] = ()
    odd: Odd | None = None
    without_one: tuple[Solution, ...] = ()
    if picture.others:
        notes.append(
            f"the file holds {picture.others + 1} pictures, and only its main one was read: save "
            "the others as files of their own, if they show the sheet"
        )
    if picture.dpi is not None:
        kind = scanner(picture.size, picture.dpi / 25.4)
        notes.append(f"read as a scan of {picture.dpi * picture.shrunk:.0f} dots per inch")
    else:
        longer = max(picture.size)
        kind = lens(picture.size, (picture.focal or USUAL_FOCAL) * longer,
                    0.06 if picture.focal else 0.3)  # fmt: skip
    if kind.flat and not seen:
        check_unread(picture, place)
        solution = _bare(kind)
        notes.append("it has no strips: its scale is the resolution stated in the file")
    else:
        check_marks(picture, seen, kind, place)
        try:
            picture, seen, solution, dropped = _solved(picture, seen, kind, thickness)
        except SeenWronglyError:
            raise UserError(
                "its marks can't be seen from anywhere as they are in it: it is blurred, or they "
                "are covered in part",
                fix=STILL,
                place=place,
            ) from None
        odd, without_one = odd_one(kind, seen, solution)
        if odd:
            solution, dropped = odd.solution, odd.dropped
            notes.append(odd.told)
        check_solved(solution, kind, place)
    kind = solution.model.views[0].kind
    fitted = tuple(mark for mark in seen if mark.number in solution.model.views[0].marks)
    scale = scale_at(solution, np.array([[side / 2 for side in picture.size]]))[0]
    blur = blur_of(fitted)
    notes += _limits(picture, kind, blur, scale)
    smeared = check_smear(smear, scale, place)
    if smeared:
        notes.append(f"{smeared}: two pricks may look like one, and none is certain. {STILL}")
    bare = picture.greys <= NO_GREYS and not kind.flat  # light that falls off makes holes, or none
    if picture.greys <= FEW_GREYS:
        said = "black and white" if picture.greys <= 2 else f"{picture.greys} greys"
        notes.append(
            f"it is stored in {said} only: fine holes, and those on lines and in shadow, may be "
            f"missed{', shadows pass for holes, and no prick is certain' * bare}. Scan or "
            "photograph it in greys or colours."
        )
    area = area_of(picture.size, solution, odd)
    sheet = seen_on(picture, solution, area, scale, blur)
    check_near(scale, sheet.found.size[sheet.sure > sift.DOUBTFUL], place)
    return Shot(path, kind, fitted, dropped, solution, sheet, area.outside(sheet.found.at), scale,
                picture.grey, tuple(notes), picture.shrunk, without_one,
                UNSURE if smeared or bare else 1.0, picture.greys)  # fmt: skip


def _limits(picture: Picture, kind: Kind, blur: float, scale: float) -> list[str]:
    """Return notes on holes that may be missed: taken from too far, not sharp, or too bright."""
    notes = []
    if PIN * scale < CORE:
        notes.append(
            f"holes finer than {CORE / scale:.1f} mm may be missed from this distance; go nearer: "
            f"{nearer(scale)} that overlap would show {PIN} mm"
        )
    if SOFT[0] * blur > max(SOFT[1] * scale, CORE):
        notes.append(
            f"not quite sharp: holes finer than {SOFT[0] * blur / scale:.1f} mm may be missed. "
            f"{SHARPER}"
        )
    plain = kind.flat or picture.greys <= FEW_GREYS  # whose white is no fault of the light
    bright = "" if plain else overexposed(picture.grey)
    if bright:
        notes.append(f"{bright}: fine holes may be missed. {DARKER}")
    return notes


def _solved(
    picture: Picture, seen: list[Seen], kind: Kind, thickness: float
) -> tuple[Picture, list[Seen], Solution, tuple[int, ...]]:
    """Solve a picture. Returns it in the light in which marks have their true size.

    A camera's own curve of brightness is seldom the one of the standard. In any other, what is dark
    and blurred is too large or too small by the same number of pixels all over the picture: marks,
    holes and lines. So that curve is taken, as a power, in which the marks are neither.
    """
    solution, dropped = alone(kind, seen, thickness)
    powers, wide, slope = [1.0], [_wide(solution)], UNEVEN_BY
    while abs(wide[-1]) > UNEVEN and len(powers) < 3:
        if len(powers) > 1:  # the secant method
            slope = max((wide[-1] - wide[-2]) / (powers[-1] - powers[-2]), UNEVEN_BY / 2.0)
        powers.append(float(np.clip(powers[-1] - wide[-1] / slope, *POWERS)))
        light = picture.light ** np.float32(powers[-1] / powers[-2])
        picture, seen = replace(picture, light=light), seen_again(seen, light)
        solution, dropped = alone(kind, seen, thickness)
        wide.append(_wide(solution))
    return picture, seen, solution, dropped


def _wide(solution: Solution) -> float:
    """Return by how many pixels dark has spread over the marks of a picture."""
    return float(solution.model.spread(solution.x, 0)[1])


def _bare(kind: Kind) -> Solution:
    """Return a scan without strips: lower left is 0, 0."""
    model = Model([View(kind, (), np.empty((0, 4, 2)))], (0,))
    x = np.zeros(model.count)
    at = model.camera_at[0]
    x[at : at + len(kind.expected)] = kind.expected
    x[at : at + 2] = np.array(kind.size) / np.exp(kind.expected[3]) / 2.0
    return Solution(model, x, ({},))
