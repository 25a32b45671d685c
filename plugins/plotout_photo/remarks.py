"""What to know of a reading and where to look: the same for a person and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from plotout import FloatArray
from plotout_photo import bare, inside, joined, sharp, zigzag
from plotout_photo.accuracy import ErrorMap
from plotout_photo.advice import advice
from plotout_photo.corrections import Corrections
from plotout_photo.covered import beside_paths, under_writing
from plotout_photo.groups import Group
from plotout_photo.large import FINER
from plotout_photo.runs import Way
from plotout_photo.shot import Shot
from plotout_photo.sift import DOUBTFUL
from plotout_photo.spacing import pricks_unseen
from plotout_photo.strips import strip_of
from plotout_photo.survey import Survey
from plotout_photo.table import Ordered

BRIEF, ALL = 8, 1_000_000  # missing pricks, and places, named: in words for a person, and as data


class Remarks(NamedTuple):
    """Sentences on a reading. first: those to be read before anything else; then the rest."""

    first: tuple[str, ...]
    rest: tuple[str, ...]


def remarks_of(
    made: Survey, final: Ordered, said: Corrections, errors: ErrorMap, named: int = BRIEF
) -> Remarks:
    """Return all remarks on a reading, the most important first.

    named: places that a remark names, at most, and missing pricks that have one each.
    """
    first = [
        *joined.told(final.way.rings),
        *_outside(made),
        *(
            f"{shot.path.name}: the sheet looks printed, with {shot.sheet.printed} letters or "
            "signs: spots among them are left out, pricks too. Check the picture, or prick through "
            "onto plain paper."
            for shot in made.shots if shot.sheet.printed
        ),
        *(f"{shot.path.name}: {shot.too_large}. {FINER}" for shot in made.shots if shot.too_large),
    ]  # fmt: skip
    runs = zip(final.names, final.way.runs, strict=True)
    rest = [
        *(f"Check {name}: {run.doubtful}." for name, run in runs if run.doubtful),
        *sharp.told(final, said.smooth),
        *_doubts(made, final, named),
        *_written(made, final.way, named),
        *_left_out(made, final, said),
        *(f"Note: {text}" for text in made.left_out),
        *(text for shot in made.shots for text in _on_picture(shot)),
        *advice(made, errors),
    ]
    return Remarks(tuple(first), tuple(rest))


def _on_picture(shot: Shot) -> list[str]:
    lines = [f"{shot.path.name}: {note}" for note in shot.notes]
    if shot.dropped:
        marks = listed_briefly([f"{m % 6 + 1} of strip {strip_of(m)}" for m in shot.dropped])
        lines.append(f"{shot.path.name}: marks that don't fit are left out: {marks}.")
    return lines


def _outside(made: Survey) -> list[str]:
    """Return what is to be known of pricks that lie outside the area of the strips."""
    lines, beyond = [], made.outside & made.in_run
    if beyond.any():
        lines.append(
            f"{counted(int(beyond.sum()), 'prick')} outside the area of the strips, with an "
            f"expected error up to {made.error[beyond].max():.2f} mm. Lay strips around all of the "
            "sheet for greater accuracy."
        )
    if made.apart:
        lines.append(
            f"{counted(made.apart, 'spot')} outside the area of the strips, apart from all "
            "pricks: left out. If they are pricks, lay strips around all of the sheet."
        )
    return lines


def _gaps(final: Ordered, named: int) -> list[str]:
    """Return where pricks seem to be missing from runs."""
    lines, way = [], final.way
    runs = [[np.array([way.groups[g].at for g in run.groups]) for run in runs]
            for runs in way.pieces]  # fmt: skip
    each = [(at, [one for one in piece if one is not at]) for piece in runs for at in piece]
    open_at = [(ring[k].at + ring[(k + 1) % len(ring)].at) / 2.0
               for ring in way.rings for k in joined.open_steps(ring)]  # fmt: skip
    for name, (at_run, others) in zip(final.names, each, strict=True):
        for gap in pricks_unseen(at_run, others):
            if any(np.hypot(*(gap.at - place)) < 1.0 for place in open_at):
                continue  # said before all else
            at = f"{gap.at[0]:.0f}, {gap.at[1]:.0f} mm"
            if not gap.count:
                lines.append(
                    f"{name} has a step of {gap.length:.0f} mm at {at}, and usually one of "
                    f"{gap.usual:.0f} mm: look whether pricks are covered there, or missed."
                )
                continue
            missing = "a prick seems" if gap.count == 1 else f"{gap.count} pricks seem"
            lines.append(
                f"{name} is pricked every {gap.usual:.0f} mm, but there is a step of "
                f"{gap.length:.0f} mm at {at}: {missing} to be missing there."
            )
    more = len(lines) - named
    return lines if more <= 0 else [*lines[:named], f"So in {counted(more, 'more place')}."]


def _doubts(made: Survey, final: Ordered, named: int) -> list[str]:
    lines = [*inside.told(final), *zigzag.told(final), *bare.told(final), *_gaps(final, named)]
    way = final.way
    in_run = {k for g in in_order(way) for k in way.groups[g].members}
    doubtful = [
        final.numbers[k] for k in sorted(in_run)
        if final.numbers[k] <= len(made.at) and made.sure[final.numbers[k] - 1] < DOUBTFUL
    ]  # fmt: skip
    if doubtful:
        lines.append(f"Doubtful, check them in the picture: {listed_briefly(doubtful)}.")
    taken = [way.groups[g] for g in in_order(way)]
    ends = [way.groups[run.groups[0]] for run in way.runs if run.kind != "closed"]
    for group in (group for group in taken if group.corner and group.doubtful):
        numbers = [str(final.numbers[k]) for k in group.members]
        if not numbers:
            lines.append(
                f"No stabs are seen at {group.at[0]:.0f}, {group.at[1]:.0f} mm, where the outline "
                "turns at once: taken as a corner, drawn where its two runs meet. Look there. If "
                "it is round, remove one of its lines from the table, or both."
            )
            continue
        lines.append(_doubtful_corner(group, numbers, ends=group in ends))
    lines += [_beside_stabs(group, [str(final.numbers[k]) for k in group.members])
              for group in taken if group.contradicted]  # fmt: skip
    matches = [final.way.groups[g] for g in final.way.matches]
    for group in matches:
        lines.append(
            f"The stabs at {group.at[0]:.0f}, {group.at[1]:.0f} mm lie within a straight run: "
            "taken as a match point."
        )
    return lines


def _doubtful_corner(group: Group, numbers: Sequence[str], ends: bool) -> str:
    """Return the words on a corner that may be none, or of which stabs were not seen.

    ends: runs end there, so that it has a line in each of them.
    """
    if len(numbers) > 2:
        return (
            f"At {group.at[0]:.0f}, {group.at[1]:.0f} mm a run's first pricks lie as near to stabs "
            f"as these to each other: {', '.join(numbers)} are taken for the stabs of a corner. If "
            "others are, name these: --corner NUMBER --corner NUMBER --corner NUMBER"
        )
    lines = f"remove one of the two lines of {'+'.join(numbers)} from the table."
    if len(numbers) == 2:
        return f"Only two stabs, taken as a corner: {' and '.join(numbers)}." + (
            f" If there is none, {lines}" if ends else ""
        )
    return f"The outline turns sharply at {numbers[0]}: " + (
        f"taken as a corner, with one stab. If it is round there, {lines}"
        if ends
        else "there may be a corner."
    )


def _beside_stabs(group: Group, numbers: Sequence[str]) -> str:
    """Return the words on a corner whose runs meet beside its stabs."""
    x, y = group.at
    return (
        f"The runs at {x:.0f}, {y:.0f} mm meet {group.off:.1f} mm beside the middle of the stabs "
        f"{', '.join(numbers)}: one may be unseen, or no stab. Look there; the corner may be off "
        "by as much."
    )


def _written(made: Survey, way: Way, named: int) -> list[str]:
    """Return where writing may hide pricks, or its dots may be some."""
    lines = []
    under, beside = under_writing(made, way), beside_paths(made, way)
    if len(under):
        lines.append(
            f"What looks like writing lies on the outline at {_places(under, named)}: look whether "
            "pricks are under it."
        )
    if len(beside):
        lines.append(
            "Left out as dots of the writing beside the outline: "
            f"{_places(beside, named)}. Add to the table what is a prick."
        )
    return lines


def _places(at: FloatArray, named: int) -> str:
    """Return places, (n, 2) mm, as text."""
    said = "; ".join(f"{x:.0f}, {y:.0f}" for x, y in at[:named])
    more = len(at) - named
    return f"{said} mm" + (f" and {counted(more, 'more place')}" if more > 0 else "")


def _left_out(made: Survey, final: Ordered, said: Corrections) -> list[str]:
    """Return what lies on no run; of what the user put in one, how far it is from it."""
    way, lines, own = final.way, [], list[int]()
    for k in (k for g in way.loose for k in way.groups[g].members):
        added = final.numbers[k] - len(made.at) - 1
        if added < 0:
            own.append(final.numbers[k])
            continue
        runs = dict(zip(final.names, way.runs, strict=True))
        name = said.added[added].run
        far = ""
        if name in runs:
            off = _from_path(final.at[k], np.array([way.groups[g].at for g in runs[name].groups]))
            far = f", {off:.1f} mm off it"
        x, y = final.at[k]
        lines.append(f"What you added to {name} at {x:.1f}, {y:.1f} mm is left out{far}.")
    if own:
        lines.append(f"On no run, left out: {listed_briefly(own)}.")
    lines += [
        f"No corner by your choice at {x:.0f}, {y:.0f} mm: the run goes on." for x, y in said.smooth
    ]
    if said.drop:
        lines.append(f"Left out by your choice: {listed_briefly(sorted(said.drop))}.")
    return lines


def _from_path(place: FloatArray, path: FloatArray) -> float:
    """Return how far a place is from a path, (n, 2), mm."""
    start, step = path[:-1], np.diff(path, axis=0)
    along = ((place - start) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-9)
    nearest = start + np.clip(along, 0.0, 1.0)[:, None] * step
    return float(np.hypot(*(nearest - place).T).min())


def in_order(way: Way) -> list[int]:
    """Return the groups on runs, each once."""
    return list(dict.fromkeys(g for run in way.runs for g in run.groups))


def counted(number: int, noun: str) -> str:
    """Return a number with its noun."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed_briefly(these: list[Any]) -> str:
    """Return the first twenty of a list in words, and how many more there are."""
    said = [str(number) for number in these]
    more = f" and {len(said) - 20} more" if len(said) > 20 else ""
    return ", ".join(said[:20]) + more
