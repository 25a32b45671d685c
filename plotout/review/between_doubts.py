"""Finds pieces sewn in between others whose grain runs along the seams, but their own doesn't.

Noted, never corrected. That a godet, a panel of a princess dress, or a corset's, has the grain of
the panels beside it is common practice, from memory; so is it that narrow strips are cut either
way, and that what is sewn all round, as a gusset or a sleeve, follows other seams.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from plotout.errors import quoted
from plotout.geometry.polyline import length, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.true_measure import slant
from plotout.review.sewn_runs import PARALLEL, Run, Runs, meet, opposite, runs_of
from plotout.review.tubes import cloth_between, rings, width_of

_ALONG = 25.0  # degrees: grain that is less off a seam runs along it
_OFF = 15.0  # degrees past both sides of a piece: its grain follows neither, nor lies in between
_BIAS, _NEARLY = 45.0, 3.0  # degrees: a grain line drawn so is meant to lie on the bias
_POINTED = np.cos(np.radians(70.0))  # of the angle between sides that meet at a tip, as a godet's
_PART = 0.2  # of a run's length: what a shorter edge of it does shows nothing
_NARROW = 1.0 / 10.0  # of its length: a narrower piece may be cut either way (estimated)


def between_doubts(
    seams: Sequence[Seam], pattern_set: PatternSet, asked: set[frozenset[str]]
) -> Iterator[str]:
    """Yield the pieces whose grain lies off the seams at both their sides, along which others' lie.

    asked: the names of pieces whose grain was asked about already, to which are added those asked
    about here.
    """
    runs = runs_of(seams, pattern_set)
    known = {name for names in asked for name in names}
    closed = {ring.piece.name for ring in rings(seams, pattern_set)}
    for piece in pattern_set.pieces:
        if piece.derive is not None or piece.grain is None or piece.bias:
            continue
        if piece.name in known | closed:
            continue
        pairs = [pair for pair in combinations(runs.get(piece.name, ()), 2) if _both_sides(*pair)]
        gusset = sum(meet(*pair) for pair in pairs) > 1
        straight = [pair for pair in pairs if not any(map(_is_bent, pair))]
        followed = any(_past(piece.grain, *pair) <= _OFF for pair in straight)
        for one, other in () if followed or gusset else straight:
            if _is_panel(piece, one, other) and (beside := _along_both(one, other, runs)):
                asked.add(frozenset([piece.name]))
                yield _words(piece, one, other, beside)
                break


def _both_sides(one: Run, other: Run) -> bool:
    """Return whether two runs of a piece lie on both sides of it: about parallel, or, as those of a
    godet, from a tip. A gusset has two tips.
    """
    return opposite(one, other, _POINTED if meet(one, other) else PARALLEL)


def _is_bent(run: Run) -> bool:
    """Return whether a run turns a corner, as a crotch or round a pocket bag: no grain follows its
    ends.
    """
    lines = [edge.points for edge in run.piece.edges if edge.name in run.edges]
    whole = sum(map(length, lines))
    return any(
        length(line) > _PART * whole and abs(slant(line[[0, -1]], run.ends)) > _ALONG
        for line in lines
    )


def _is_panel(piece: Piece, one: Run, other: Run) -> bool:
    """Return whether a piece is longer than it is wide between its sides, and no strip: no panel is
    folded at one of its ends, as a neck band is, or a collar.
    """
    if piece.fold is not None and piece.fold not in one.edges | other.edges:
        return False
    between = cloth_between(one.ends, other.ends)
    assert between is not None
    long, wide = float(np.ptp(piece.outline @ unit(between[0]))), width_of(between)
    return _NARROW * long < wide < long


def _past(grain: FloatArray, one: Run, other: Run) -> float:
    """Return by how many degrees a grain line lies off the nearer of two sides; 0 in between.

    0 on the bias, too.
    """
    first, second = (slant(run.ends, grain) for run in (one, other))
    middle = slant(one.ends, other.ends)
    nearer = min(abs(first), abs(second))
    between = abs(first) + abs(second) <= abs(middle) + 1e-6
    bias = any(abs(abs(turn) - _BIAS) <= _NEARLY for turn in (first, second))
    return 0.0 if between or bias else nearer


def _along_both(one: Run, other: Run, runs: Runs) -> list[str]:
    """Return the pieces that two runs are sewn to, if the grain of all lies along the seams."""
    found: dict[str, None] = {}
    for run in (one, other):
        if run.to is None:
            continue
        name, edges = run.to
        met = next(its for its in runs[name] if its.seam == run.seam and its.edges == edges)
        grain = met.piece.grain
        if grain is None or met.piece.bias or met.piece is run.piece:
            return []
        if abs(slant(met.ends, grain)) > _ALONG:
            return []
        found[name] = None
    return list(found)


def _words(piece: Piece, one: Run, other: Run, beside: Sequence[str]) -> str:
    assert piece.grain is not None
    off = " and ".join(
        f"{abs(slant(run.ends, piece.grain)):.0f} degrees off {quoted(_named(run))}"
        for run in (one, other)
    )
    return (
        f"{piece.name}: its grain line lies {off}, at both its sides, though that of "
        f"{quoted(beside)} runs along the seams there: is it turned?"
    )


def _named(run: Run) -> list[str]:
    """Return the edges of a run in their order round the piece."""
    return [edge.name for edge in run.piece.edges if edge.name in run.edges]
