"""Compares what a file says of its pieces, read back, with the cards that were meant."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import LineString

from plotout.geometry.polyline import moved
from plotout.geometry.strokes import FloatArray, Mark
from plotout.model import Described, Placed, Program, Sheet

_OFF = 0.02  # mm
_TURNED = 0.1  # degrees


def described_wrongly(program: Program, sheet: Sheet, found: Sequence[Described]) -> Iterator[str]:
    """Give in words what the file lacks or has too many of: sew lines, notches and the like."""
    bias = {run.stroke.card for run in program.runs
            if run.stroke.mark is Mark.GRAIN and len(run.points) == 2}  # fmt: skip
    meant = [
        (placed.card.title, one)
        for placed in sheet.placed
        for one in _of_card(placed, grain=placed.card.id in bias)
    ]
    left = list(range(len(found)))
    tree = shapely.STRtree([_middle(one) for one in found])
    for title, one in meant:
        near = tree.query(_middle(one), predicate="dwithin", distance=2.0 * _OFF).tolist()
        same = next((k for k in sorted(near) if k in left and _same(one, found[k])), None)
        if same is None:
            yield f"{title}: its {one.what} at {_place(one)} is missing"
        else:
            left.remove(same)
    for index in left:
        yield f"a {found[index].what} at {_place(found[index])} belongs to no card"


def _of_card(placed: Placed, *, grain: bool) -> Iterator[Described]:
    card = placed.card

    def here(points: FloatArray) -> FloatArray:
        return moved(np.reshape(points, (-1, 2)), placed.matrix)

    if card.stitching is not None:
        yield Described("sew line", here(card.stitching))
        for turn in card.turns if card.turns is not None else ():
            yield Described("turn point", here(turn))
    for mark in card.grades:
        if not mark.within:
            yield Described("turn point", here(np.array(mark.at)))
    if card.fold is not None:
        yield Described("mirror line", here(card.fold[[0, -1]]))
    for notch in card.notches:
        angle = notch.angle + placed.angle
        yield Described("notch", here(np.array(notch.at)), notch.depth, angle, (notch.kind,))
    if card.bias and grain:
        for stroke in card.strokes:
            if stroke.mark is Mark.GRAIN and len(stroke.points) == 2:
                middle = stroke.points.mean(axis=0)
                turn = np.radians(45.0)
                x, y = (stroke.points - middle).T
                cos, sin = np.cos(turn), np.sin(turn)
                line = middle + np.column_stack([x * cos - y * sin, x * sin + y * cos])
                yield Described("grain line", here(line))


def _middle(one: Described) -> shapely.Point:
    return shapely.Point((one.points.min(axis=0) + one.points.max(axis=0)) / 2.0)


def _same(one: Described, other: Described) -> bool:
    if one.what != other.what or (len(one.points) > 1) != (len(other.points) > 1):
        return False
    if one.what == "notch":
        apart = (one.angle - other.angle + 180.0) % 360.0 - 180.0
        return (
            bool(np.hypot(*(one.points[0] - other.points[0])) <= _OFF)
            and abs(one.depth - other.depth) <= _OFF
            and abs(apart) <= _TURNED
            and one.kinds[0] in other.kinds
        )
    if len(one.points) == 1:
        return bool(np.hypot(*(one.points[0] - other.points[0])) <= _OFF)
    return bool(LineString(one.points).hausdorff_distance(LineString(other.points)) <= _OFF)


def _place(one: Described) -> str:
    x, y = one.points[0].tolist()
    return f"x {x:.2f} mm, y {y:.2f} mm"
