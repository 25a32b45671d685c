"""Outermost pricks of a curve that may have strayed, weighed against the run beside them.

Without its outermost prick a curve is led on to its neighbour from further off. Where it then meets
it before that run's own last prick, that one would have strayed as well; or neither did, and the
curve turns more sharply up to its corner than its other pricks show, as an armhole's foot does.
Where it would meet it before that prick only if the outermost one is kept, that one strayed. An end
that tightens as necks do is led on until it is square, and a prick where it then comes to is good.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import shapely

from plotout import FloatArray
from plotout.kit import (
    ASKED,
    DOUBT,
    DOUBT_BESIDE,
    FEWEST_PRICKS,
    PLAIN,
    RARE,
    USUAL_OFF,
    Explanation,
    Hand,
    Strays,
    Suspect,
)
from plotout_pricks.bend import Tails, mean_bend
from plotout_pricks.curve_fits import CurveFits
from plotout_pricks.meeting import meetings
from plotout_pricks.run_shape import UNKNOWN
from plotout_pricks.tidy import Tidy
from plotout_pricks.variants import (
    LOOSE,
    Fitted,
    Variants,
    itself,
    located,
    side_by_side,
    variants_of,
)

SUDDEN = 0.05  # of curves turn at their end as their other pricks don't show: by so much that they
# would be led past their neighbour's last prick, or as by their bend once more (common practice)
TIGHTENS = 0.3  # the same of curves that bend more and more up to their last prick but one
RISES = 1.2  # times as much as over a reach four times as long, at least, is more and more
TURN = math.radians(20.0)  # by which a curve may turn more than shown over its last gap (judgement)
CLOSE = 0.5  # mm (one sigma): a prick may lie so far off a curve that is led on past the others
SURE = 0.75  # chance that an end's prick strayed from which it is left out
SOBER = 0.7  # of that chance's log odds: of 37 at 0.997 and 10 at 0.8, 36 and 5 had strayed
HELD = 0.06  # that chance, at least, where it is kept only for what lies beside it,
LED_OFF = 8.0  # mm: unless that lies further past the corner than a curve is led on wrongly


def stand_ins(item: Tidy, judged: Strays) -> dict[int, int]:
    """Return by the prick beside a curve's outermost one, if it is left out, that outermost one: it
    may have strayed in its stead, since a curve that turns up to its end explains either.
    """
    if item.run.kind != "curve":
        return {}
    last = len(item.numbers) - 1
    return {
        beside: outermost
        for outermost, beside in ((0, 1), (last, last - 1))
        if beside in judged.left_out and outermost not in {*judged.left_out, *item.sure}
    }


class _Beside(NamedTuple):
    """What a neighbour's last prick says of a curve.

    chance: that it lies so, if the corner is the curve's. past: mm past that corner, the middle one
    of all. led: how likely the curve's outermost prick lies where it does, per mm, if the curve of
    those that are kept tightens until it meets the neighbour square.
    """

    chance: float
    past: float
    led: float


def weighed_beside(
    curve: CurveFits, judged: Strays, neighbours: tuple[Fitted, Fitted], hand: Hand
) -> tuple[Strays, list[str]]:
    """Return how a curve's pricks are judged with its neighbours' in view, and notes on that.

    neighbours: the runs before and after it. hand: of the piece's straight runs.
    """
    item, notes = curve.item, list[str]()
    for last in (False, True):
        block = _outermost(judged, len(item.numbers), last=last)
        out = sorted({*judged.left_out, *block})
        if not block or len(item.numbers) - len(out) < FEWEST_PRICKS:
            continue
        kept = [n for n in judged.left_out if n not in block]
        bare, whole = (
            _beside(item, curve.without(some), neighbours[last], hand, last=last)
            for some in (out, kept)
        )
        bent = _bent(item, curve.without(out), last=last)
        judged, more = _again(item, judged, block, bare, whole, bent, neighbours[last].run.name)
        notes += more
    return judged, notes


def _outermost(judged: Strays, count: int, *, last: bool) -> list[int]:
    """Return the suspected pricks from one end on: all those left out, or the one doubted."""
    inwards = range(count - 1, -1, -1) if last else range(count)
    if inwards[0] in judged.doubted:
        return [inwards[0]]
    return list(_while_in(inwards, judged.left_out))


def _while_in(order: Sequence[int], some: dict[int, Suspect]) -> Iterator[int]:
    for n in order:
        if n not in some:
            return
        yield n


def _again(
    item: Tidy,
    judged: Strays,
    block: list[int],
    bare: _Beside,
    whole: _Beside,
    bent: float,
    other: str,
) -> tuple[Strays, list[str]]:
    """Return the judgement on an end's pricks with what the neighbour says, and notes."""
    suspects = {n: judged.left_out.get(n) or judged.doubted[n] for n in block}
    alone = min(suspect.chance for suspect in suspects.values())
    strayed = _strayed(suspects[block[0]].off)
    sudden = max(SUDDEN * (1.0 - bare.chance) / RARE, bent / strayed)
    tightens = bare.led / strayed
    against = whole.chance * ((1.0 - alone) / alone + sudden + tightens)
    chance = bare.chance / (bare.chance + against)
    sure = chance >= SURE
    chance = _sober(chance) if sure else chance
    suspects = {n: Suspect(one.off, chance) for n, one in suspects.items()}
    left_out = {n: one for n, one in judged.left_out.items() if n not in block}
    doubted = {n: one for n, one in judged.doubted.items() if n not in block}
    notes = []
    if sure:
        left_out = dict(sorted({**left_out, **suspects}.items()))
    elif block[0] in judged.left_out and bare.past > LOOSE:
        if chance >= ASKED:
            notes = [_kept_all_the_same(item, suspects, other, bare.past)]
        chance = max(chance, HELD) if bare.past < LED_OFF else chance
    elif chance > (DOUBT_BESIDE if judged.left_out else ASKED):
        doubted = dict(sorted({**doubted, **suspects}.items()))
    if not left_out and all(n not in block and doubted[n].chance < DOUBT for n in doubted):
        doubted = {}  # they were doubted only beside the end's
    anything = left_out or doubted
    candidates = {*judged.candidates, *judged.doubted} - {*doubted, *left_out}
    return replace(
        judged,
        left_out=left_out,
        doubted=doubted,
        candidates=tuple(sorted(candidates)) if anything else (),
        explanations=_reweighed(judged, block, chance),
    ), notes


def _sober(chance: float) -> float:
    """Return the chance that an end's prick strayed, of which the pricks alone are that sure."""
    return 1.0 / (1.0 + math.pow((1.0 - chance) / chance, SOBER))


def _reweighed(judged: Strays, block: Collection[int], chance: float) -> tuple[Explanation, ...]:
    """Return the explanations of a run if that is the chance that all of a block strayed."""
    with_it = [one for one in judged.explanations if {*block} <= {*one.strayed}]
    bare = [one for one in judged.explanations if one not in with_it]
    rest = {*judged.left_out} - {*block}
    both = (with_it, chance, {*rest, *block}), (bare, 1.0 - chance, rest)
    return tuple(
        Explanation(one.strayed, one.chance * share / sum(other.chance for other in some))
        for those, share, usual in both
        for some in (those or [Explanation(tuple(sorted(usual)), 1.0)],)
        for one in some
    )


def _kept_all_the_same(item: Tidy, some: Mapping[int, Suspect], other: str, past: float) -> str:
    """Return a note on an end's pricks that would be left out, if the neighbour didn't end there.

    past: mm past its corner that the other run's last prick would lie then.
    """
    numbers = PLAIN.listed(*(str(item.numbers[n]) for n in sorted(some)))
    pricks, lie, them = ("prick", "lies", "it") if len(some) == 1 else ("pricks", "lie", "them")
    off = max(one.off for one in some.values())
    return (
        f"{pricks} {numbers} of '{item.run.name}' {lie} {off:.1f} mm off, but without {them} "
        f"'{other}' would be pricked {past:.0f} mm past its corner; kept: prick that corner again"
    )


def _beside(item: Tidy, curve: Fitted, neighbour: Fitted, hand: Hand, *, last: bool) -> _Beside:
    """Return what a neighbour says of a curve through all pricks of a run, or some of them."""
    pair = [curve, neighbour] if last else [neighbour, curve]
    first, second = side_by_side(
        [
            variants_of(one, seed, UNKNOWN if one.line else hand)[0]  # a straight is in the hand
            for seed, one in enumerate(pair, 1)
        ],
        side_by_side([itself(one) for one in pair]),
    )
    met, _ = meetings(first, second)
    past = _past(second if last else first, met, end=not last)
    chances = np.where(past <= 0.0, 1.0, np.exp(-np.maximum(past, 0.0) / LOOSE))
    chance = float(np.nan_to_num(RARE + (1.0 - RARE) * chances, nan=RARE).mean())
    there = np.isfinite(past)
    middle = float(np.median(past[there])) if there.any() else 0.0
    return _Beside(chance, middle, _led(item, first if last else second, last=last))


def _bent(item: Tidy, curve: Fitted, *, last: bool) -> float:
    """Return how likely, per mm, a curve bends otherwise past the pricks that it was fitted to, so
    that a run's last or first prick lies where it does: by twice what it does up to them, or less.

    One that turns up to its end may turn by far more (Student's t), but none is less than straight,
    and few turn by more than `TURN` over the gap.
    """
    assert curve.curve is not None
    end = -1 if last else 0
    line = curve.curve if last else curve.curve[::-1]
    reach = item.run.points[end] - curve.run.points[end]
    gap = float(np.hypot(*reach))
    end_of = Tails(line[None])
    ((bend,), (heading,)), ((near,), _), ((far,), _) = map(end_of.ends, (2 * gap, gap, 4 * gap))
    off = float(np.cos(heading) * reach[1] - np.sin(heading) * reach[0]) - bend * gap**2 / 2.0
    swing = max(max(abs(float(bend)), mean_bend(line)) * gap**2 / 2.0, CLOSE)
    if off * bend < 0.0:
        return SUDDEN * _normal(off, swing)
    rises = abs(near) * gap**2 / 2.0 > CLOSE and abs(near) > RISES * far * np.sign(near)
    bent_so = math.exp(-0.5 * (2.0 * off / gap / TURN) ** 2)
    tail = math.pow(1.0 + (off / swing) ** 2 / 4.0, 2.5)
    return (TIGHTENS if rises else SUDDEN) * 0.375 * bent_so / (swing * tail)


def _led(item: Tidy, curves: Variants, *, last: bool) -> float:
    """Return `_Beside.led` of a run's last or first prick."""
    ahead = curves.neighbours[last]
    if ahead is None or ahead.square <= 0.0:
        return 0.0
    prick = shapely.Point(item.run.points[-1 if last else 0])
    away = shapely.distance(shapely.linestrings(curves.whole), prick)
    return float(ahead.square * np.mean([_normal(float(one), CLOSE) for one in away]))


def _normal(off: float, sigma: float) -> float:
    """Return the density of a normal deviate of so many mm, per mm."""
    return math.exp(-0.5 * (off / sigma) ** 2) / (sigma * math.sqrt(2.0 * math.pi))


def _strayed(off: float) -> float:
    """Return how likely a prick strayed by so many mm, per mm (see strays)."""
    return float(RARE / (np.pi * USUAL_OFF * (1.0 + (off / USUAL_OFF) ** 2)))


def _past(run: Variants, corners: FloatArray, *, end: bool) -> FloatArray:
    """Return how far a run's last or first prick lies past corners, (m, 2), along it, mm: (m,)."""
    if run.along is not None:
        return run.pricked_past(corners)
    past, there = np.full(len(corners), np.nan), np.isfinite(corners).all(axis=1)
    if not there.any():
        return past
    lines = run.whole[there]
    prick = np.tile(run.fit.run.points[-1 if end else 0], (len(lines), 1))
    past[there] = located(lines, prick) - located(lines, corners[there])
    return past if end else -past
