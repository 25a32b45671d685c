"""Turns pictures into ordered pricks with their certainty, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray, Place, UserError
from plotout_photo import sightings
from plotout_photo.accuracy import expected_error
from plotout_photo.area import led_to
from plotout_photo.groups import STAB
from plotout_photo.heights import Heights
from plotout_photo.joined import is_row
from plotout_photo.meeting import meetings
from plotout_photo.model import Known
from plotout_photo.on_path import on_path
from plotout_photo.pencil import renumbered
from plotout_photo.repeated import without_repeated
from plotout_photo.runs import Way, way_round
from plotout_photo.shot import Shot, take
from plotout_photo.sift import DOUBTFUL
from plotout_photo.solve import Solution
from plotout_photo.together import places, together
from plotout_photo.too_few import no_outline, only_a_row

EMPTY = 0.3  # share of a printed sheet's runs without pricks, from which they are its print
MOST = 1000  # certain pricks, of all pieces: a path through them takes 5 s


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """The result of the pictures. Places are mm; the runs' lower left is 0, 0, y is up.

    at: (n, 2) pricks. sure: (n,) 0 to 1. error: (n,) mm, two sigma. seen: number of pictures.
    photo, pixel: the picture that shows them best, and where. way: corners and runs.
    frame: angle and shift that map the table to these places.
    left_out: pictures that could not be used, with the reasons. outside: (n,) which pricks lie
    outside the area of the strips in all pictures. apart: number of spots there that look like
    pricks, but lie apart from all others, so that they are left out. lined: pairs of pricks between
    which a line is drawn, (m, 2). meetings: where two drawn lines meet at a corner, (k, 2). beside:
    spots beside writing, left out as its dots, (b, 2).
    """

    shots: tuple[Shot, ...]
    solution: Solution
    at: FloatArray
    sure: FloatArray
    error: FloatArray
    seen: FloatArray
    photo: FloatArray
    pixel: FloatArray
    way: Way
    frame: FloatArray
    left_out: tuple[str, ...]
    outside: NDArray[np.bool_]
    apart: int = 0
    lined: NDArray[np.intp] = field(default_factory=lambda: np.empty((0, 2), dtype=np.intp))
    meetings: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    beside: FloatArray = field(default_factory=lambda: np.empty((0, 2)))

    @property
    def in_run(self) -> NDArray[np.bool_]:
        """Which pricks lie on runs, (n,); all, if there are none."""
        return _in_run(self.way, len(self.at))

    @property
    def on_runs(self) -> FloatArray:
        """The pricks on runs, (m, 2), mm."""
        return self.at[self.in_run]

    def on_table(self, points: FloatArray) -> FloatArray:
        """Return where places lie on the solution's table, (n, 2)."""
        return _unframed(points, self.frame)

    def seen_in(self, index: int, points: FloatArray) -> FloatArray:
        """Return the pixels of places (n, 2) in a picture, (n, 2)."""
        table = self.on_table(points)
        heights = Heights.of(self.solution)
        up = heights(table) if heights else np.zeros(len(table))
        return self.solution.see(index, np.column_stack([table, up]))

    def off_table(self, points: FloatArray) -> FloatArray:
        """Return the places of points of the solution's table, (n, 2)."""
        return _framed(points, self.frame)


def survey(
    paths: Sequence[Path],
    *,
    dpi: float | None = None,
    known: Sequence[Known] = (),
    thickness: float = 0.0,
) -> Survey:
    """Read pictures of one sheet. Raises UserError if they can't be used."""
    shots, left_out = _taken(paths, dpi, thickness)
    solution, pricks = together(shots, known)
    if not pricks:
        raise no_outline(shots, 0)
    table = places(solution, shots, pricks)
    sure, seen = sightings.certainty(solution, shots, pricks, table)
    outside = np.array([all(shots[index].outside[row] for index, row in prick.spots.items())
                        for prick in pricks])  # fmt: skip
    _check_many(sure, shots[0].path)
    sure, apart = _led_to(table, sure, outside)
    drawn = sightings.lined(shots, pricks)
    order = partial(_ordered, shots[0].path)
    taken = on_path(table, sure, drawn, order)
    seen_well = int((sure >= DOUBTFUL).sum())
    if len(taken) < 2:
        raise no_outline(shots, seen_well)
    beside = table[np.setdiff1d(sightings.beside(shots, pricks), taken)]
    pricks, table = [pricks[k] for k in taken], table[taken]
    sure, seen, outside = sure[taken], seen[taken], outside[taken]
    error = expected_error(solution, shots, sightings.sights(shots, pricks))
    frame = _upright(solution, shots[0], table)
    lined = renumbered(drawn, taken)
    way = order(_framed(table, frame), sure=sure, lined=lined)
    if not way.runs:
        raise no_outline(shots, seen_well)
    if all(map(is_row, way.rings)):
        raise only_a_row(shots, int(_in_run(way, len(table)).sum()))
    met = meetings(shots, solution, partial(_framed, frame=frame),
                   partial(_unframed, frame=frame), way.rings)  # fmt: skip
    if len(met):
        way = order(_framed(table, frame), sure=sure, lined=lined, meetings=met)
    _check_printed(shots, way)
    low = _framed(table, frame)[_in_run(way, len(table))].min(axis=0)
    frame, way, met = frame - np.array([0.0, *low]), way.moved(-low), met - low
    at = _framed(table, frame)
    best = [sightings.best(shots, prick) for prick in pricks]
    pixel = np.array([shots[index].found.at[row] for index, row in best])
    photo = np.array([float(index) for index, _ in best])
    sure = np.minimum(sure, [max(shots[i].trust for i in prick.spots) for prick in pricks])
    made = Survey(tuple(shots), solution, at, sure, error, seen, photo, pixel,
                  way, frame, left_out, outside, apart, lined, met,
                  _framed(beside, frame))  # fmt: skip
    return _numbered(made)


def _ordered(path: Path, at: FloatArray, **known: Any) -> Way:
    """Put pricks in order (`way_round`). Raises UserError that names the picture."""
    try:
        return way_round(at, **known)
    except UserError as fault:
        raise UserError(fault.problem, fix=fault.fix, place=Place(path)) from fault


def _check_many(sure: FloatArray, path: Path) -> None:
    """Raise UserError for more pricks than can be put in order: the time grows by their cube."""
    count = int((sure >= DOUBTFUL).sum())
    if count > MOST:
        raise UserError(
            f"{count} spots in it pass for pricks, more than the {MOST} that can be put in order",
            fix="Is it patterned or speckled? Prick through onto plain or dotted paper. If they "
            "are all pricks, photograph one piece at a time.",
            place=Place(path),
        )


def _check_printed(shots: Sequence[Shot], way: Way) -> None:
    """Raise UserError for a printed sheet on which no piece is seen, or one of corners only."""
    empty = sum(len(run.groups) < 3 for run in way.runs)
    if (not way.runs or empty > EMPTY * len(way.runs)) and any(
        shot.sheet.printed for shot in shots
    ):
        shot = max(shots, key=lambda shot: shot.sheet.printed)
        raise UserError(
            f"the sheet is printed: {shot.sheet.printed} letters or signs are seen on it, and "
            "their dots can't be told from pricks",
            fix="Prick through onto plain or dotted paper, and photograph that.",
            place=Place(shot.path),
        )


def _taken(
    paths: Sequence[Path], dpi: float | None, thickness: float
) -> tuple[list[Shot], tuple[str, ...]]:
    """Read all pictures; of several, those that can't be used or are copies are left out: notes."""
    shots, left_out = [], []
    for path in paths:
        try:
            shots.append(take(path, dpi, thickness))
        except UserError as fault:
            if len(paths) == 1:
                raise
            left_out.append(f"{path.name} is left out: {fault.problem}. {fault.fix}")
    if not shots:
        raise UserError("none of the pictures can be used", fix="\n  ".join(left_out))
    shots, repeated = without_repeated(shots)
    return shots, (*left_out, *repeated)


def _led_to(
    table: FloatArray, sure: FloatArray, outside: NDArray[np.bool_]
) -> tuple[FloatArray, int]:
    """Return the certainties, 0 for what lies outside the strips' area and apart from all others.

    And how many of those would be pricks by their looks.
    """
    certain = np.flatnonzero(sure >= DOUBTFUL)
    apart = certain[~led_to(table[certain], outside[certain], STAB)]
    sure = sure.copy()
    sure[apart] = 0.0
    return sure, len(apart)


def _in_run(way: Way, count: int) -> NDArray[np.bool_]:
    within = np.zeros(count, dtype=bool)
    within[[k for run in way.runs for g in run.groups for k in way.groups[g].members]] = True
    return within if within.any() else ~within


def _upright(solution: Solution, shot: Shot, table: FloatArray) -> FloatArray:
    """Return angle and shift so that up is up in the first picture, and the lower left 0, 0."""
    middle = np.array(shot.kind.size) / 2.0
    low, high = solution.table(0, middle + np.array([[0.0, 50.0], [0.0, -50.0]]))
    angle = np.pi / 2.0 - np.arctan2(*(high - low)[::-1])
    turned = _framed(table, np.array([angle, 0.0, 0.0]))
    return np.array([angle, *-turned.min(axis=0)])


def _framed(points: FloatArray, frame: FloatArray) -> FloatArray:
    cos, sin = np.cos(frame[0]), np.sin(frame[0])
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]) + frame[1:])


def _unframed(points: FloatArray, frame: FloatArray) -> FloatArray:
    cos, sin = np.cos(frame[0]), np.sin(frame[0])
    return np.asarray((points - frame[1:]) @ np.array([[cos, sin], [-sin, cos]]).T)


def _numbered(made: Survey) -> Survey:
    """Put pricks in their order round the piece, the loose ones last."""
    way, order = made.way, []
    for run in way.runs:
        for k in run.groups:
            order += [index for index in way.groups[k].members if index not in order]
    order += [index for index in range(len(made.at)) if index not in order]
    new = {old: index for index, old in enumerate(order)}
    groups = tuple(
        replace(group, members=tuple(new[index] for index in group.members)) for group in way.groups
    )
    picked = {name: getattr(made, name)[order]
              for name in ("at", "sure", "error", "seen", "photo", "pixel", "outside")}  # fmt: skip
    lined = np.array([[new[one], new[other]] for one, other in made.lined.tolist()], dtype=np.intp)
    return replace(made, way=replace(way, groups=groups), lined=lined.reshape(-1, 2), **picked)
