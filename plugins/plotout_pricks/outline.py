"""Turns pricked runs into an outline: tidied, judged, fitted, and joined at their corners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from plotout import Drawing, Place, Role, Shape, UserError
from plotout.kit import (
    FEWEST_PRICKS,
    End,
    NoCurveError,
    StraightLine,
    Strays,
    curve_fit,
    fit_line,
    length,
    nearest,
    strays,
)
from plotout_pricks.asked_ends import Contradicted, contradicted, judged_so
from plotout_pricks.corners import joined_up, plain_lengths
from plotout_pricks.curve_fits import CurveFits, without
from plotout_pricks.end_pricks import weighed_beside
from plotout_pricks.reach import check_directions, check_reach
from plotout_pricks.ring import ring_of
from plotout_pricks.rivals import taken_otherwise
from plotout_pricks.run_shape import bent, corner_in, straight_hand, straight_scatter, together
from plotout_pricks.stray_notes import stray_notes
from plotout_pricks.table import Mark, Pricks, Table
from plotout_pricks.tidy import Tidy, check_places, tidied
from plotout_pricks.variants import Fitted

OFF_LINE = 5.0  # mm: a notch pricked further from its run is noted
BOWED = 0.5  # chance that a run called straight is as curved as its pricks show
ELSEWHERE = 0.25  # mm between lines at a run's last prick, or its first, that are not as good
MERGED = 8  # pricks of a run of which one is still as it was read
ANCHOR = (
    2.5  # spacings of a curve's pricks: how far before them it may leave its straight neighbour
)


def outline(table: Table, path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the outline's edges in order, ending where the next begin. Raises UserError."""
    try:
        return _outline(table, path, pick)
    except NoCurveError as fault:
        on = (run for run in table.runs
              if (run.points[:, None] == fault.points[:MERGED]).all(axis=2).any())  # fmt: skip
        run = next(on, table.runs[0])
        line = "straight line" if run.kind == "straight" else "curve"
        raise UserError(
            f"no {line} can be laid through the {len(run.points)} pricks of run '{run.name}': they "
            "go to and fro, or far more of them lie off any than a hand pricks wrong",
            fix="List them in the order in which they lie along the edge; divide the run at its "
            "corners; leave out what belongs to no seam.",
            place=Place(path, run.line),
        ) from fault


def _outline(table: Table, path: Path, pick: Mapping[str, Any]) -> Drawing:
    notes = list(table.notes)
    check_places(table.runs, path)
    tidy = [tidied(run, path, notes) for run in table.runs]
    if len(tidy) == 1 and tidy[0].run.kind == "closed":
        shapes = [ring_of(tidy[0], notes)]
    else:
        _check_joinable(table.runs, path)
        check_directions(table.runs, path)
        fits = _fitted(tidy, path, pick, notes)
        joined = joined_up(fits, path)
        notes += [note for run in joined for note in run.unpricked]
        check_reach(fits, [run.points for run in joined], path, notes)
        shapes = [
            Shape(
                run.points,
                Role.OUTLINE,
                fit.run.name,
                known_to=run.known_to,
                unproved=run.unproved,
                otherwise=run.otherwise,
                likely=run.likely,
                if_so=run.if_so,
            )
            for fit, run in zip(fits, joined, strict=True)
        ]
    keys = [Shape(at[None], Role.TURN, one.run.name) for one in tidy for at in one.key_points]
    marks = [_mark(mark, shapes, notes) for mark in table.marks]
    return Drawing((*shapes, *keys, *marks), tuple(notes))


def _check_joinable(runs: Sequence[Pricks], path: Path) -> None:
    for run in runs:
        if run.kind == "closed":
            raise UserError(f"closed run '{run.name}' can't be joined to others",
                            fix="Select only this run: runs = [...]",
                            place=Place(path, run.line))  # fmt: skip
    if len(runs) < 2:
        raise UserError(f"run '{runs[0].name}' alone does not close the outline",
                        fix="Prick the other seams, or make its kind closed.",
                        place=Place(path, runs[0].line))  # fmt: skip


def _fitted(
    tidy: Sequence[Tidy], path: Path, pick: Mapping[str, Any], notes: list[str]
) -> list[Fitted]:
    """Fit straight runs first: the lines at a curve's ends help to judge its pricks."""
    fits = [Fitted(one.run) for one in tidy]
    for index, one in enumerate(tidy):
        if one.run.kind == "straight":
            run, bows, judged = _kept_straight(one, notes)
            rivals = _other_lines(one, run, judged)
            if bows and len(run.points) >= FEWEST_PRICKS:
                as_curve = curve_fit(run.points)
                why = f"'{run.name}' is bowed as it is pricked"
                rivals = [Fitted(run, curve=as_curve.points, fit=as_curve, chance=BOWED, why=why)]
            fits[index] = Fitted(run, line=_straight(run, pick, notes), rivals=tuple(rivals))
    curves = _asked_ends([item.run for item in tidy], fits, pick, path)
    names = [item.run.name for item in tidy]
    beside = {index: (names[index - 1], names[(index + 1) % len(names)]) for index in curves}
    alone = {
        index: judged_so(tidy[index], ends, beside[index], notes) for index, ends in curves.items()
    }
    made = {index: CurveFits(tidy[index], ends) for index, ends in curves.items()}
    for index, fitted in made.items():
        fits[index] = fitted.without(alone[index].left_out)
    hand = together([straight_hand(fit.run.points) for fit in fits if fit.line and fit.clear])
    contradictions: list[tuple[int, Contradicted, Sequence[End | None]]] = []
    for index, ends in curves.items():
        item = tidy[index]
        if corner := corner_in(item.run.points, item.numbers):
            notes.append(f"'{item.run.name}': {corner}")
        neighbours = fits[index - 1], fits[(index + 1) % len(fits)]
        judged, more = weighed_beside(made[index], alone[index], neighbours, hand)
        notes += [*more, *stray_notes(item, judged)]
        fits[index] = made[index].without(judged.left_out)
        run = fits[index].run
        contradictions += [(index, one, ends) for one in contradicted(run, ends, beside[index])]
        rivals = [
            replace(made[index].without(rival.strayed), chance=rival.chance, why=rival.why)
            for rival in taken_otherwise(item, judged)
        ]
        fits[index] = replace(fits[index], rivals=tuple(rivals))
    notes += [_told(one, index, ends, fits) for index, one, ends in contradictions]
    return fits


def _asked_ends(
    runs: Sequence[Pricks], fits: Sequence[Fitted], pick: Mapping[str, Any], path: Path
) -> dict[int, tuple[End | None, End | None]]:
    """Return by the index of every curve what its start and its end are asked to be."""
    square, tangent = _ends(pick, "square", runs, path), _ends(pick, "tangent", runs, path)
    found = {}
    for index, run in enumerate(runs):
        if run.kind != "curve":
            continue
        ends: list[End | None] = [None, None]
        for end, other in enumerate((fits[index - 1], fits[(index + 1) % len(fits)])):
            asked = (run.name, ("start", "end")[end])
            if other.line is not None and asked in square:
                ends[end] = End(other.line, square=True)
            elif other.line is not None and asked in tangent:
                ends[end] = _tangent(run, other, asked[1])
        found[index] = (ends[0], ends[1])
    return found


def _told(one: Contradicted, index: int, ends: Sequence[End | None], fits: Sequence[Fitted]) -> str:
    """Return a note on an end that its pricks contradict, with the lengths that change by it."""
    bent = fits[index]
    start, end = (None, ends[1]) if not one.last else (ends[0], None)
    freed = curve_fit(bent.run.points, start=start, end=end)
    joined = (start is not None, end is not None)
    free = replace(bent, curve=freed.points, fit=freed, joined=joined)
    longer = plain_lengths(fits) - plain_lengths([*fits[:index], free, *fits[index + 1 :]])
    names = [fit.run.name for fit in fits]
    return one.told({name: by for name, by in zip(names, longer, strict=True) if np.isfinite(by)})


def _tangent(run: Pricks, other: Fitted, which: str) -> End:
    """Return an end at which the curve leaves its straight neighbour past that one's last prick.

    Kept on the line up to its own first prick, it would bend too late.
    """
    assert other.line is not None
    line, first = other.line, 0 if which == "start" else -1
    prick = run.points[first]
    towards = line.along if which == "start" else -line.along
    last = line.foot(other.run.points[-1 if which == "start" else 0])
    reach = ANCHOR * float(np.median(np.hypot(*np.diff(run.points, axis=0).T)))
    before = float((line.foot(prick) - last) @ towards)
    return End(
        line, square=False, at=line.foot(prick) - towards * float(np.clip(before, 0.0, reach))
    )


def _kept(tidy: Tidy, judged: Strays, notes: list[str]) -> Pricks:
    """Leave out the strays, and note every prick that may be one."""
    notes += stray_notes(tidy, judged)
    return without(tidy, judged.left_out)


def _kept_straight(tidy: Tidy, notes: list[str]) -> tuple[Pricks, bool, Strays]:
    """Leave out the strays, unless all pricks together show that the run is not straight.

    Of both explanations the one is told that leaves less scatter. What is kept may still bow.
    Returns whether it does, too, and which of its pricks strayed.
    """
    shape = bent(tidy.run.points, tidy.numbers)
    try:
        judged = strays(tidy.run.points, straight=True, sure=tidy.sure)
    except NoCurveError:
        if shape is None:
            raise
        judged = Strays({}, {})
    left = [index for index in range(len(tidy.numbers)) if index not in judged.left_out]
    if shape is None or shape.scatter >= straight_scatter(tidy.run.points[left]):
        run = _kept(tidy, judged, notes)
        shape = bent(run.points, [tidy.numbers[index] for index in left])
    else:
        run, judged = tidy.run, Strays({}, {})
    if shape is not None:
        notes.append(f"'{run.name}' is pricked as straight, but {shape.words}")
    return run, shape is not None, judged


def _other_lines(tidy: Tidy, run: Pricks, judged: Strays) -> list[Fitted]:
    """Return a straight run's lines by other explanations, where they lead elsewhere."""
    ends, line = run.points[[0, -1]], fit_line(run.points)
    found = []
    for rival in taken_otherwise(tidy, judged):
        other = without(tidy, rival.strayed)
        fitted = fit_line(other.points)
        if np.abs(fitted.offsets(ends) - line.offsets(ends)).max() > ELSEWHERE:
            found.append(Fitted(other, fitted, chance=rival.chance, why=rival.why))
    return found


def _straight(run: Pricks, pick: Mapping[str, Any], notes: list[str]) -> StraightLine:
    """Return the line through the pricks, along x or y if that moves it by at most `snap`."""
    line = fit_line(run.points)
    if "snap" not in pick:
        return line
    axis = int(np.abs(line.along).argmax())
    along = np.zeros(2)
    along[axis] = np.sign(line.along[axis])
    turned = StraightLine(line.at, along)
    half = float(np.hypot(*(run.points[-1] - run.points[0]))) / 2
    moved = half * float(np.abs(line.along[1 - axis]))
    if 1e-6 < moved <= length(pick["snap"]):
        notes.append(f"'{run.name}' was turned to lie along {'xy'[axis]}: its ends moved "
                     f"{moved:.2f} mm")  # fmt: skip
        return turned
    return line


def _ends(
    pick: Mapping[str, Any], key: str, runs: Sequence[Pricks], path: Path
) -> set[tuple[str, str]]:
    """Return (run, "start" or "end") for the runs' ends named in the set file."""
    reported: set[tuple[str, str]] = set()
    names = [run.name for run in runs if run.kind == "curve"]
    for text in pick.get(key, []):
        name, _, which = str(text).rpartition(" ")
        if which not in ("start", "end") or name not in names:
            name, which = str(text), ""
        if name not in names:
            raise UserError(f"{key}: there is no curve '{text}'", fix=nearest(str(text), names),
                            place=Place(path))  # fmt: skip
        reported |= {(name, end) for end in ("start", "end") if which in ("", end)}
    return reported


def _mark(mark: Mark, shapes: Sequence[Shape], notes: list[str]) -> Shape:
    """Return a drill hole where it was pricked, or a notch at the nearest place on its run."""
    if mark.kind == "drill":
        return Shape(mark.at[None], Role.DRILL, mark.run)
    own = [shape for shape in shapes if shape.name == mark.run] or list(shapes)
    lines = [shapely.LineString(shape.points) for shape in own]
    line = min(lines, key=lambda edge: edge.distance(shapely.Point(mark.at)))
    off = line.distance(shapely.Point(mark.at))
    if off > OFF_LINE:
        notes.append(f"line {mark.line}: this notch lies {off:.1f} mm off its run; "
                     "it is moved to the nearest place")  # fmt: skip
    at = shapely.get_coordinates(line.interpolate(line.project(shapely.Point(mark.at))))
    return Shape(at, Role.NOTCH, mark.run)
