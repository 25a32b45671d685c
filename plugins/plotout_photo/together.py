"""Joins several pictures on one table, by the strips and then by the pricks that they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from plotout import FloatArray, Place, UserError
from plotout_photo.camera import rotation
from plotout_photo.heights import Heights, net_over, see_heights
from plotout_photo.marks import straightened
from plotout_photo.model import Known, Model, View
from plotout_photo.moved import check_sheet, check_strips
from plotout_photo.shot import Shot
from plotout_photo.sift import DOUBTFUL
from plotout_photo.solve import Solution, run

APART = 5.0  # mm: a prick with no other this near can't be confused
FIRST, THEN = 2.5, 0.7  # mm between a prick's places in different pictures, before and after
DISAGREE = 1.2  # mm by which two measured distances contradict each other
LAID_ANEW = 0.4  # mm by which a distance between strips differs if they were laid anew
FALSE = 0.15  # no page printed to fit a sheet is off by as much


@dataclass(frozen=True, slots=True, eq=False)
class Prick:
    """A prick and its spots: picture to row of its Holes."""

    spots: dict[int, int]


def together(shots: Sequence[Shot], known: Sequence[Known]) -> tuple[Solution, list[Prick]]:
    """Solve all pictures. Returns the solution and the pricks. Raises UserError."""
    model, x = _joined(shots, known)
    for one in known:
        _check(model, x, one)
    views = list(model.views)
    solution = (
        run(model, x) if len(shots) > 1 or known else Solution(model, x, shots[0].solution.off)
    )
    _check_agreed(solution.model, solution.x)
    if len(shots) == 1:
        return solution, [Prick({0: row}) for row in range(len(shots[0].found))]
    check_strips(solution, shots)
    views = [
        View(view.kind, view.marks, np.array([
            straightened(mark, view.kind, solution.model.camera(solution.x, index))
            for mark in shots[index].marks]))
        for index, view in enumerate(views)
    ]  # fmt: skip
    loose = _matched(shots, solution, FIRST, only_alone=True)
    check_sheet(solution, shots, [prick.spots for prick in loose])
    loose = _shared(loose)
    if len(loose) > 8:
        solution = _tied(solution, shots, views, loose)
    pricks = _matched(shots, solution, THEN, heights=Heights.of(solution))
    shared = [
        prick for prick in _shared(pricks)
        if not all(shots[i].outside[row] for i, row in prick.spots.items())
    ]  # fmt: skip
    if len(shared) > 8:
        solution = _tied(solution, shots, views, shared)
    check_strips(solution, shots)
    return solution, pricks


def _check_agreed(model: Model, x: FloatArray) -> None:
    """Raise UserError for measured distances that contradict each other."""
    off = [model.distance(x, known) - known.distance for known in model.known]
    if len(off) > 1 and np.ptp(off) > DISAGREE:
        first, second = int(np.argmax(off)), int(np.argmin(off))
        raise UserError(
            f"the measured distances of {model.known[first].distance:g} mm and "
            f"{model.known[second].distance:g} mm contradict each other: together they are "
            f"{abs(off[first]):.1f} mm and {abs(off[second]):.1f} mm off",
            fix="Measure both again, from the middle of one cross to the middle of the other.",
        )


def _check(model: Model, x: FloatArray, known: Known) -> None:
    """Raise UserError for a distance to a strip that isn't there, or that can't be meant."""
    for strip, _ in known.ends:
        if strip not in model.strips:
            raise UserError(
                f"strip {strip} is not in the pictures, or left out: a distance to it is of no use",
                fix=f"They show: {', '.join(map(str, sorted(model.strips)))}.",
            )
    found = model.distance(x, known)
    if known.nominal is not None and abs(found - known.nominal) > LAID_ANEW:
        one, other = (strip for strip, _ in known.ends)
        raise UserError(
            f"strips {one} and {other} lie otherwise than when the distance kept in the table was "
            f"measured: {found:.1f} mm by the strips, not {known.nominal:.1f} mm",
            fix="Measure it again and enter it with --measured, or remove its line from the table.",
        )
    if abs(known.distance / found - 1.0) > FALSE:
        raise UserError(
            f"by the strips this distance is {found:.0f} mm, not {known.distance:g} mm",
            fix="Check the distance, its unit, and between which crosses it was measured.",
        )


def places(solution: Solution, shots: Sequence[Shot], pricks: Sequence[Prick]) -> FloatArray:
    """Return the pricks' places, (n, 2) mm: the weighted mean over their pictures.

    Heights come from the net, if any.
    """
    heights = Heights.of(solution)
    sums, weights = np.zeros((len(pricks), 2)), np.zeros(len(pricks))
    for index, shot in enumerate(shots):
        at = _on_table(solution, index, shot.found.at, heights)
        for k, prick in enumerate(pricks):
            if index in prick.spots:
                row = prick.spots[index]
                weight = (shot.scale / shot.found.sigma[row]) ** 2
                sums[k] += at[row] * weight
                weights[k] += weight
    return np.asarray(sums / weights[:, None])


def _on_table(
    solution: Solution, index: int, pixels: FloatArray, heights: Heights | None
) -> FloatArray:
    at = solution.table(index, pixels)
    for _ in range(2 if heights else 0):
        assert heights is not None
        at = solution.table(index, pixels, heights(at))
    return at


def _moved_view(shot: Shot, move: FloatArray) -> View:
    """Return a picture's view with its pivot moved with its table."""
    view = shot.solution.model.views[0]
    pivot = np.array([*_placed(view.kind.pivot[None, :2], move)[0], 0.0])
    return replace(view, kind=replace(view.kind, pivot=pivot))


def _joined(shots: Sequence[Shot], known: Sequence[Known]) -> tuple[Model, FloatArray]:
    """Return one model of all pictures, and its start: all moved onto the strips of the first."""
    first = max(range(len(shots)), key=lambda index: (len(shots[index].marks), -index))
    home = shots[first].solution
    poses = {strip: home.model.pose(home.x, strip) for strip in home.model.strips}
    moves = {first: np.zeros(3)}
    while len(moves) < len(shots):
        best = max(
            (index for index in range(len(shots)) if index not in moves),
            key=lambda index: len(poses.keys() & set(shots[index].solution.model.strips)),
        )
        own = shots[best].solution
        shared = [strip for strip in own.model.strips if strip in poses]
        if not shared:
            raise UserError(
                "it shares no strip with the other pictures",
                fix="Take another that shows strips of both, preferably two in common.",
                place=Place(shots[best].path),
            )
        moves[best] = _move(own, shared, poses)
        for strip in own.model.strips:
            poses.setdefault(strip, _moved_pose(own.model.pose(own.x, strip), moves[best]))
    strips = (home.model.strips[0], *(s for s in poses if s != home.model.strips[0]))
    views = [_moved_view(shot, moves[index]) for index, shot in enumerate(shots)]
    model = Model(views, strips, known=known, thickness=home.model.thickness)
    x = np.zeros(model.count)
    x[:2] = np.mean([shot.solution.x[:2] for shot in shots], axis=0)
    for strip, at in model.strip_at.items():
        x[at : at + 3] = poses[strip]
    for index, shot in enumerate(shots):
        own = shot.solution
        values = own.model.camera(own.x, 0).copy()
        _move_camera(values, moves[index], flat=shot.kind.flat)
        at = model.camera_at[index]
        x[at : at + len(values)] = values
        x[at + len(values) : at + model.views[index].count] = own.model.spread(own.x, 0)
    return model, x


def _move(own: Solution, shared: Sequence[int], poses: dict[int, FloatArray]) -> FloatArray:
    """Return angle and shift that map a picture's strips to the same ones elsewhere."""
    ends = np.array([[0.0, 0.0], [218.0, 0.0], [218.0, 28.0], [0.0, 28.0]])
    here = np.vstack([_placed(ends, own.model.pose(own.x, strip)) for strip in shared])
    there = np.vstack([_placed(ends, poses[strip]) for strip in shared])
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    angle = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    turned = _placed(here.mean(axis=0)[None], np.array([angle, 0.0, 0.0]))[0]
    return np.array([angle, *(there.mean(axis=0) - turned)])


def _placed(points: FloatArray, pose: FloatArray) -> FloatArray:
    cos, sin = np.cos(pose[0]), np.sin(pose[0])
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]) + pose[1:])


def _moved_pose(pose: FloatArray, move: FloatArray) -> FloatArray:
    return np.array([pose[0] + move[0], *_placed(pose[None, 1:], move)[0]])


def _move_camera(values: FloatArray, move: FloatArray, *, flat: bool) -> None:
    """Move a camera with its table; a lens is given relative to its pivot, which moves too."""
    if flat:
        values[:2] = _placed(values[None, :2], move)[0]
        values[2] += move[0]
        return
    turn = rotation(values[:3]) @ Rotation.from_euler("z", move[0]).as_matrix().T
    values[:3] = Rotation.from_matrix(turn).as_rotvec()


def _matched(
    shots: Sequence[Shot],
    solution: Solution,
    within: float,
    *,
    only_alone: bool = False,
    heights: Heights | None = None,
) -> list[Prick]:
    """Return which spots of pictures are one prick: mutually nearest."""
    pricks: list[dict[int, int]] = []
    middle = np.empty((0, 2))
    for index, shot in enumerate(shots):
        rows = np.arange(len(shot.found))
        at = _on_table(solution, index, shot.found.at, heights)
        if only_alone and len(at) > 1:
            gap, _ = cKDTree(at).query(at, k=2)
            rows = rows[(gap[:, 1] > APART) & (shot.sure > DOUBTFUL) & ~shot.outside]
        taken: set[int] = set()
        if len(middle) and len(rows):
            gap, which = cKDTree(middle).query(at[rows])
            _, back = cKDTree(at[rows]).query(middle)
            for k, row in enumerate(rows):
                if gap[k] < within and back[which[k]] == k:
                    pricks[int(which[k])][index] = int(row)
                    taken.add(int(row))
        new = [int(row) for row in rows if int(row) not in taken]
        pricks += [{index: row} for row in new]
        middle = np.vstack([middle, at[new]]) if new else middle
    return [Prick(prick) for prick in pricks]


def _shared(pricks: Sequence[Prick]) -> list[Prick]:
    """Return the pricks that several pictures show."""
    return [prick for prick in pricks if len(prick.spots) > 1]


def _tied(
    solution: Solution, shots: Sequence[Shot], views: Sequence[View], pricks: Sequence[Prick]
) -> Solution:
    """Solve again with shared pricks as ties between pictures, and with the paper's heights."""
    at = places(solution, shots, pricks)
    tied = []
    for index, view in enumerate(views):
        mine = [(k, prick.spots[index]) for k, prick in enumerate(pricks) if index in prick.spots]
        numbers, rows = tuple(k for k, _ in mine), [row for _, row in mine]
        found = shots[index].found
        tied.append(View(view.kind, view.marks, view.corners, numbers, found.at[rows],
                         np.maximum(found.sigma[rows], 0.08)))  # fmt: skip
    net = net_over(at) if see_heights(solution) else None
    old = solution.model
    model = Model(tied, old.strips, len(pricks), net, old.known, old.thickness)
    x = np.zeros(model.count)
    x[: model.prick_at] = solution.x[: model.prick_at]
    x[model.prick_at : model.net_at] = at.ravel()
    if net is not None:
        before = Heights.of(solution)
        if before is not None and len(before.values) == model.count - model.net_at:
            x[model.net_at :] = before.values
    return run(model, x)
