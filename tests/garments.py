"""Pieces for the tests of finish and review: invented, of a size that a sewer would believe."""

import numpy as np

from plotout.geometry.strokes import NotchKind
from plotout.pattern.model import Cut, Drill, Edge, InternalLine, Notch, PatternSet, Piece
from plotout.pattern.settings import Corner, NotchStyle


def edge(name, points, allowance=12.7, **more):
    pair = allowance if isinstance(allowance, tuple) else (allowance, allowance)
    return Edge(name, np.asarray(points, dtype=float), pair, **more)


def arc(x, y, radius, start, end, count=60):
    turn = np.radians(np.linspace(start, end, count))
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


def rectangle(name, wide, tall, allowance=12.7, **more):
    corners = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall], [0, 0]], float)
    names = ("foot", "right", "top", "left")
    edges = tuple(edge(n, corners[k : k + 2], allowance) for k, n in enumerate(names))
    more.setdefault("cuts", (Cut("self"),))
    return Piece(name, edges, **more)


def a_front(**more):
    """A half front on the fold, with a turned-back hem and all six kinds of notch."""
    kinds = {kind: NotchStyle(kind, depth=5.0, width=4.0, spacing=7.0) for kind in NotchKind}
    fields = {
        "edges": (
            edge("hem", [[0, 0], [320, 0]], 40, corner=Corner.TURNED),
            edge("side", [[320, 0], [300, 380]]),
            edge("armhole", arc(300, 480, 100, 270, 180, 50)),
            edge("shoulder", [[200, 480], [80, 600]]),
            edge("neck", arc(0, 600, 80, 0, -90)),
            edge("centre front", [[0, 520], [0, 0]], 0),
        ),
        "cuts": (Cut("self", on_fold=True),),
        "fold": "centre front",
        "grain": np.array([[60.0, 60.0], [60.0, 400.0]]),
        "notches": (
            Notch("armhole", 60, style=kinds[NotchKind.SLIT]),
            Notch("side", 200, 2, kinds[NotchKind.V]),
            Notch("neck", 40, style=kinds[NotchKind.T]),
            Notch("hem", 160, 3, kinds[NotchKind.U]),
            Notch("shoulder", 80, style=kinds[NotchKind.CASTLE]),
            Notch("side", 60, style=kinds[NotchKind.CHECK]),
        ),
        "drills": (Drill((150, 300)), Drill((150, 250), 4, cross=True)),
        "lines": (InternalLine("dart", np.array([[100.0, 0.0], [120.0, 100.0], [140.0, 0.0]])),),
    }
    return Piece("Front", **{**fields, **more})


def a_set(*pieces, **more):
    return PatternSet("Beekeeper's smock", "BK-01", "M", "2026-04-11", pieces, **more)


def heights_of(letters):
    """Return how high the tallest stroke of letters is that stands level or upright, mm."""
    boxes = [np.ptp(points, axis=0) for points in letters if len(points) > 1]
    return [max(float(size.max()) for size in boxes)]
