"""The table of pricks, as written by hand, with further columns."""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from plotout import FloatArray, UserError
from plotout_photo.corrections import HEAD, UNSEEN, Corrections, RunSaid
from plotout_photo.groups import Group
from plotout_photo.pencil import renumbered
from plotout_photo.runs import Run, Way, way_round
from plotout_photo.survey import Survey

UNSURE = 0.5  # certainty of a doubtful corner, at most


@dataclass(frozen=True, slots=True, eq=False)
class Ordered:
    """Pricks in runs, corrected. numbers: of the rows of `at`, from 1.

    names: of the runs, in order.
    """

    at: FloatArray
    numbers: tuple[int, ...]
    way: Way
    names: tuple[str, ...]


def ordered(made: Survey, said: Corrections) -> Ordered:
    """Return a survey's pricks in runs, corrected. Raises UserError for an unknown number."""
    count = len(made.at)
    for number in sorted(said.drop | said.corners):
        if not 1 <= number <= count:
            raise UserError(f"there is no prick {number}",
                            fix=f"They are numbered 1 to {count}; see the picture.")  # fmt: skip
    kept = [index for index in range(count) if index + 1 not in said.drop]
    at = made.at.copy()
    for number, place in said.moved.items():
        at[number - 1] = place
    at = np.vstack([at[kept], np.array([one.at for one in said.added]).reshape(-1, 2)])
    numbers = (
        *(index + 1 for index in kept),
        *(count + 1 + index for index in range(len(said.added))),
    )
    by_hand = {count + 1 + index for index, one in enumerate(said.added) if one.corner}
    corners = [k for k, number in enumerate(numbers) if number in said.corners | by_hand]
    sure = np.array([made.sure[number - 1] if number <= count else 1.0 for number in numbers])
    own = set(said.moved) | set(range(count + 1, count + 1 + len(said.added)))
    given = [k for k, number in enumerate(numbers) if number in own]
    lined = renumbered(made.lined, np.array(kept, dtype=np.intp))
    way = way_round(at, corners, sure, said.smooth, given, lined, made.meetings)
    loose = {numbers[k] for g in way.loose for k in way.groups[g].members}
    if astray := loose & set(said.moved):
        number = min(astray)
        x, y = said.moved[number]
        raise UserError(f"prick {number}, moved to {x:.1f}, {y:.1f} mm, lies on no run there",
                        fix="Correct its place in the table, or remove its line.")  # fmt: skip
    several = len(way.pieces) > 1
    names = tuple(
        f"piece-{piece} run {k}" if several else f"run {k}"
        for piece, runs in enumerate(way.pieces, start=1)
        for k in range(1, len(runs) + 1)
    )
    return _named(Ordered(at, numbers, way, names), said.runs)


def _named(made: Ordered, said: Sequence[RunSaid]) -> Ordered:
    """Give runs the user's names and kinds; a run without one has a name that no other has."""
    names, runs = list(made.names), list(made.way.runs)
    given = set[int]()
    for text in said:
        shared = [len(text.numbers & set(_members(made, run))) for run in runs]
        best = int(np.argmax(shared)) if shared else -1
        if best >= 0 and shared[best] > len(text.numbers) / 2:
            names[best] = text.name
            given.add(best)
            runs[best] = Run(runs[best].groups, text.kind)
    for k in sorted(set(range(len(names))) - given):
        taken = {name for other, name in enumerate(names) if other != k}
        free = (f"run {number}" for number in itertools.count(len(names) + 1))
        names[k] = names[k] if names[k] not in taken else next(n for n in free if n not in taken)
    left = iter(runs)
    pieces = tuple(tuple(next(left) for _ in piece) for piece in made.way.pieces)
    return replace(made, way=replace(made.way, pieces=pieces), names=tuple(names))


def names_by_piece(made: Ordered) -> list[list[str]]:
    """Return the names of each piece's runs."""
    left = iter(made.names)
    return [[next(left) for _ in runs] for runs in made.way.pieces]


def _members(made: Ordered, run: Run) -> list[int]:
    return [made.numbers[k] for g in run.groups for k in made.way.groups[g].members]


def as_table(
    survey: Survey,
    found: Ordered,
    made: Ordered,
    said: Corrections,
    paths: Sequence[Path],
    measured: Sequence[str] = (),
    thickness: str = "",
) -> str:
    """Return the table. found: the reading without corrections.

    measured, thickness: distances, and the strips' thickness, as given.
    """
    lines = [
        f"# Pricks read by plotout off {', '.join(path.name for path in paths)}; mm.",
        "# Correct errors here: remove a line, change a place, a run's name or its kind, add"
        " a line like 12.3,45.6,run 1,straight,,,,,,",
        "# Your changes are kept when the pictures are read again. A corner is in both its runs.",
        *_measured(survey, measured),
        *([f"# thickness of the strips: {' '.join(thickness.split())}"] if thickness else []),
        *_pieces(made),
        HEAD,
    ]
    for name, run in zip(made.names, made.way.runs, strict=True):
        lines += [_row(survey, made, made.way.groups[g], name, run.kind, paths) for g in run.groups]
    for g in made.way.matches:  # a mark for the seam of the run on which it lies
        owner = next(
            name for name, run in zip(made.names, made.way.runs, strict=True) if g in run.groups
        )
        lines.append(_row(survey, made, made.way.groups[g], owner, "notch", paths))
    loose = [g for g in range(len(made.way.groups)) if g in made.way.loose]
    for g in loose:
        group = made.way.groups[g]
        numbers = "+".join(str(made.numbers[k]) for k in group.members)
        lines.append(f"# loose: {numbers} at {group.at[0]:.2f},{group.at[1]:.2f} lies on no run")
    lines += _drawn(made, said)
    lines += [f"# you said: {number} is a corner" for number in sorted(said.corners)]
    lines += [f"# you said: no corner at {x:.4f} {y:.4f}" for x, y in said.smooth]
    lines.append("# What was found, for detecting your changes; leave these lines unchanged.")
    where = {}
    for name, run in zip(found.names, found.way.runs, strict=True):
        for g in run.groups:
            for k in found.way.groups[g].members:
                where[k] = f" in {name} ({run.kind})"
    corner = {k for g in found.way.groups if g.corner for k in g.members}
    for k, (x, y) in enumerate(survey.at):
        stab = " corner" if k in corner else ""
        lines.append(f"# found {k + 1} at {x:.4f} {y:.4f}{stab}{where.get(k, '')}")
    unseen = [group.at for group in made.way.groups if group.corner and not group.members]
    lines += [f"# found unseen corner at {x:.4f} {y:.4f}" for x, y in unseen]
    return "\n".join(lines) + "\n"


def _drawn(made: Ordered, said: Corrections) -> list[str]:
    """Return comments on where corners that end runs are drawn, but for those that the user put
    there.
    """
    lines = []
    ends = dict.fromkeys(run.groups[0] for run in made.way.runs if run.kind != "closed")
    for group in (made.way.groups[k] for k in sorted(ends)):
        numbers = [made.numbers[k] for k in group.members]
        if numbers and not set(numbers) & set(said.moved):
            x, y = group.at
            lines.append(f"# drawn at {x:.4f} {y:.4f}: corner {'+'.join(map(str, numbers))}")
    return lines


def _measured(survey: Survey, measured: Sequence[str]) -> list[str]:
    """Return comments on the distances that were measured, and what they are by the strips."""
    if not measured:
        return []
    model, x = survey.solution.model, survey.solution.x
    lines = [f"# measured: {' '.join(text.split())}" for text in measured]
    nominal = [model.distance(x, known) / (1.0 + float(x[0])) for known in model.known]
    said = [f", {mm:.2f} mm by the strips" for mm in nominal] or [""] * len(lines)
    return [line + more for line, more in zip(lines, said, strict=True)]


def _pieces(made: Ordered) -> list[str]:
    """Return comments on how a set takes one of several pieces."""
    named = names_by_piece(made)
    return [f"# piece {k}: runs = {listed(names)}" for k, names in enumerate(named, start=1)
            if len(named) > 1]  # fmt: skip


def listed(names: Sequence[str]) -> str:
    """Return names as a list in TOML."""
    return json.dumps(list(names), ensure_ascii=False)


def _row(
    survey: Survey, made: Ordered, group: Group, name: str, kind: str, paths: Sequence[Path]
) -> str:
    own = [made.numbers[k] for k in group.members if made.numbers[k] <= len(survey.at)]
    x, y = group.at
    # four decimals: three might be taken for thousands, beside whole numbers written by hand
    start = f"{x:.4f},{y:.4f},{_quoted(name)},{kind}"
    if not group.members:
        px, py = survey.shots[0].in_file(survey.seen_in(0, group.at[None])[0])
        photo = _quoted(survey.shots[0].path.name)
        error = 2.0 * group.off
        return f"{start},{UNSEEN},{UNSURE:.2f},{error:.2f},{photo},{px:.1f},{py:.1f}"
    if not own:
        return f"{start},,,,,,"
    rows = [number - 1 for number in own]
    sure = float(survey.sure[rows].min())
    error = float(np.hypot(survey.error[rows].max(), 2.0 * group.off))
    if group.doubtful:
        sure = min(sure, UNSURE)
    shot = survey.shots[int(survey.photo[rows[0]])]
    px, py = shot.in_file(survey.pixel[rows].mean(axis=0))
    numbers = "+".join(str(number) for number in own)
    return f"{start},{numbers},{sure:.2f},{error:.2f},{_quoted(shot.path.name)},{px:.1f},{py:.1f}"


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if set(text) & set(',"\n') else text
