"""Turns a piece into its bare card: allowance, notches, marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from plotout.errors import UserError, all_of
from plotout.finish.bare_card import BareCard, Label
from plotout.finish.buried import buried_edges, cut_short, tight_bends
from plotout.finish.card_marks import area_strokes, drill_strokes, line_strokes
from plotout.finish.collisions import uncuttable
from plotout.finish.divide import clipped
from plotout.finish.edge_words import edge_labels, facts, laying, order
from plotout.finish.grade_marks import on_cutting_line
from plotout.finish.notch_check import notch_faults
from plotout.finish.notch_fit import fitted
from plotout.finish.notch_places import placed_notches
from plotout.finish.notch_shapes import notched
from plotout.finish.partners import NONE, Partners
from plotout.finish.split import on_joins
from plotout.finish.unfold import unfolded
from plotout.geometry.dashes import dashed
from plotout.geometry.offset import cutting_line, parallel
from plotout.geometry.polyline import is_closed, length, rotated
from plotout.geometry.region import covered, without_straight
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.borders import borders
from plotout.pattern.model import Area, InternalLine, Piece, Seam
from plotout.pattern.settings import Defaults
from plotout.tongue import PLAIN, Tongue

Line = tuple[tuple[float, float], tuple[float, float]]
_MOST_NAMED = 4  # lines of one name that bear it


def ready(piece: Piece) -> Piece:
    """Return the piece as its card shows it: upright, and unfolded if the set file says so.

    Its fold has no allowance. Raises UserError for a piece that asks for the impossible.
    """
    if piece.faults:
        raise all_of(piece.faults)
    on_fold = tuple(
        replace(edge, allowance=(0.0, 0.0)) if edge.name == piece.fold else edge
        for edge in piece.edges
    )
    piece = replace(piece, edges=on_fold)
    return upright(unfolded(piece) if piece.whole else piece)


def bare_card(
    piece: Piece,
    defaults: Defaults,
    seams: Sequence[Seam] = (),
    say: Tongue = PLAIN,
    met: Partners = NONE,
) -> BareCard:
    """Return a ready piece as a bare card.

    seams: of the set, which say where seams end. met: what its edges are sewn to, to be lettered.

    Raises UserError where the piece can't have its allowance or notches.
    """
    outline = cut_line(piece, defaults)
    shape = Polygon(outline)
    inner = line_strokes(piece.lines) + drill_strokes(piece.drills)
    strokes, warnings = _on_card(inner, shape, piece.turn)
    wanted = defaults.on_cards
    facings, folds = _facings(piece, say) if wanted.facing else ((), ())
    strokes += area_strokes(piece.areas, shape)
    strokes += area_strokes(facings, shape, bordered=False)
    strokes += [
        Stroke(dash, Work.DRAW, Mark.INTERNAL) for fold in folds for dash in dashed(fold.points)
    ]
    fold = piece.edge(piece.fold).points if piece.fold is not None else None
    placed, notes = placed_notches(piece, outline, defaults.notch, seams)
    notches, changed = fitted(placed, outline, fold)
    opened, cuts = notched(outline, notches)
    buried = buried_edges(piece, outline, notches, seams)
    notes = [note for note in notes if not note.startswith(tuple(buried.done_without))]
    faults = (*buried.faults, *notch_faults(piece, outline, opened, cuts))
    return BareCard(
        piece=piece.name,
        outline=outline,
        notches=notches,
        strokes=tuple(strokes),
        hatched=(*piece.areas, *facings),
        labels=(*_line_labels(piece), *edge_labels(piece, met, wanted, say), *folds),
        laying=laying(piece, say, one_way=wanted.one_way),
        facts=facts(piece, wanted, say),
        one_way=piece.one_way and wanted.one_way,
        grain=piece.grain,
        fold=fold,
        words=piece.words,
        orders=tuple(order(cut, piece, outline, wanted, say) for cut in piece.cuts),
        warnings=(
            *warnings,
            *notes,
            *changed,
            *buried.notes,
            *tight_bends(piece, buried.edges),
            *cut_short(piece, outline),
            *on_joins(piece, notches),
        ),
        faults=faults,
        uncuttable=uncuttable(piece, outline, opened, cuts),
        graded=on_cutting_line(piece.graded, outline),
        stitching=np.vstack([piece.outline, piece.outline[:1]]),
        turns=np.array([edge.points[0] for edge in piece.edges]),
        bias=piece.bias,
        turn=piece.turn,
    )


def _line_labels(piece: Piece) -> tuple[Label, ...]:
    """Return the names of internal lines, without those that a drawing gives to all such lines.

    Of many lines with one name, as of a drawn grid, the longest bear it.
    """
    named: dict[str, list[InternalLine]] = {}
    for line in piece.lines:
        drawn = line.work is Work.DRAW and line.kind == "internal"
        if drawn and line.name not in ("", "internal", "sewing"):
            named.setdefault(line.name, []).append(line)
    return tuple(
        Label(line.points, (name,))
        for name, lines in named.items()
        for line in sorted(lines, key=lambda one: -length(one.points))[:_MOST_NAMED]
    )


def _facings(piece: Piece, say: Tongue) -> tuple[tuple[Area, ...], tuple[Label, ...]]:
    """Return fold-over facings as areas in their allowances, and their fold lines."""
    edges = [edge for edge in piece.edges if edge.facing and min(edge.allowance) > 0.0]
    areas = tuple(
        Area(say("facing"), _ring(edge.points, parallel(edge.points, *edge.allowance)))
        for edge in edges
    )
    return areas, tuple(Label(edge.points, (say("fold here"),)) for edge in edges)


def _ring(edge: FloatArray, away: FloatArray) -> FloatArray:
    """Return the border of what lies between an edge and its parallel, without the latter's loops.

    Where the edge goes all the way round, it is the slit ring between both.
    """
    both = np.vstack([away, edge[::-1]])
    return both if is_closed(edge) else covered(both)


def _on_card(strokes: list[Stroke], shape: Polygon, turn: float) -> tuple[list[Stroke], list[str]]:
    """Cut off what extends past the card's edge; return what is left, and notes.

    turn: degrees from the drawing to the card; the notes give places in the drawing.
    """
    kept, notes = [], []
    for stroke in strokes:
        inside = clipped([stroke], shape)
        kept += inside
        if not inside or sum(line.length for line in inside) < stroke.length - 0.1:
            x, y = rotated(stroke.points[0], -turn)
            what = (
                "is cut off at the card's edge" if inside else "lies off the card and is left out"
            )
            notes.append(f"its {stroke.mark} from x {x:.1f} mm, y {y:.1f} mm {what}")
    return kept, notes


def cut_line(piece: Piece, defaults: Defaults) -> FloatArray:
    """Return the piece's cutting line, closed, counter-clockwise, (n, 2), mm."""
    try:
        return without_straight(
            cutting_line(borders(piece.edges, piece.fold), defaults.mitre_limit)
        )
    except ValueError as fault:
        raise UserError(
            f"no cutting line can be made: {fault}",
            fix="Check that its edges run counter-clockwise, and its allowances.",
            place=piece.where,
        ) from fault


def upright(piece: Piece) -> Piece:
    """Turn the piece, by at most 90 degrees, so that its grain runs up; a level grain turns left.

    A card hangs plumb, and so does its grain, however the piece was drawn.
    """
    if piece.grain is None:
        return piece
    along = piece.grain[1] - piece.grain[0]
    if along[1] < 0.0 or (along[1] == 0.0 and along[0] < 0.0):
        along = -along
    cos, sin = along[1] / np.hypot(*along), along[0] / np.hypot(*along)
    if sin == 0.0:
        return piece
    return turned(piece, np.array([[cos, sin], [-sin, cos]]))


def lengthwise(piece: Piece) -> Piece:
    """Return the piece as laid in cloth whose length runs up: grain upright, or at 45 degrees."""
    if piece.grain is None:
        return piece
    along = piece.grain[1] - piece.grain[0]
    if piece.bias:  # its line lies halfway between length and width
        along = np.array([along[0] - along[1], along[0] + along[1]])
    sin, cos = along / np.hypot(*along)  # of the turn that makes it upright
    return turned(piece, np.array([[cos, sin], [-sin, cos]]))


def turned(piece: Piece, turn: FloatArray) -> Piece:
    """Return the piece with every point (n, 2) multiplied by `turn`, (2, 2), a rotation."""

    def about(line: Line | None) -> Line | None:
        if line is None:
            return None
        (x1, y1), (x2, y2) = (np.array(line) @ turn).tolist()
        return (x1, y1), (x2, y2)

    return replace(
        piece,
        turn=piece.turn + float(np.degrees(np.arctan2(turn[0, 1], turn[0, 0]))),
        edges=tuple(replace(edge, points=edge.points @ turn) for edge in piece.edges),
        grain=None if piece.grain is None else piece.grain @ turn,
        drills=tuple(replace(drill, at=_pair(np.array(drill.at) @ turn)) for drill in piece.drills),
        lines=tuple(replace(line, points=line.points @ turn) for line in piece.lines),
        areas=tuple(replace(area, points=area.points @ turn) for area in piece.areas),
        splits=tuple(replace(split, line=about(split.line)) for split in piece.splits),
        graded=tuple(
            replace(grade, at=grade.at @ turn, growth=grade.growth @ turn) for grade in piece.graded
        ),
    )


def _pair(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])
