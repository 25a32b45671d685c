"""A scene: lines of a few kinds in millimetres, distinguished by more than their colours."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from plotout.geometry.lettering import text_lines, text_width, wrapped
from plotout.geometry.strokes import FloatArray
from plotout.tongue import PLAIN, Tongue
from plotout.units import MM_PER_INCH

PAPER = "#fbfaf7"


@dataclass(frozen=True, slots=True)
class Style:
    """The style of a kind of line. width and dashes (on, off, ...) are in units of the scene.

    colour: on paper; by_night: on a dark screen.
    """

    colour: str
    by_night: str
    width: float
    dashes: tuple[float, ...] = ()


STYLES = {
    "stock": Style("#8d8677", "#8a8578", 0.06),
    "edge of reach": Style("#8d8677", "#8a8578", 0.04, (0.15, 0.25)),
    "card": Style("#8a6d3b", "#c9a86a", 0.06),
    "travel": Style("#5c7f6b", "#86ab95", 0.05, (0.12, 0.35)),
    "lettering": Style("#7a7266", "#8f887c", 0.045),
    "draw": Style("#45413a", "#b3a48e", 0.075),
    "score": Style("#b3600f", "#f5cf4a", 0.1, (0.55, 0.3)),
    "as it was": Style("#9c5a21", "#e2a066", 0.12, (0.7, 0.35)),
    "punch": Style("#ee1499", "#dc2fae", 0.11),
    "cut": Style("#061f55", "#b8dafb", 0.17),
    "stitching line": Style("#061f55", "#b8dafb", 0.1, (0.7, 0.35)),
    "fold": Style("#9c5a21", "#e2a066", 0.12, (1.4, 0.3, 0.15, 0.3)),
    "grain line": Style("#5d5348", "#d3c8b8", 0.09, (0.9, 0.25)),
    "internal line": Style("#5d5348", "#d3c8b8", 0.075),
    "notch": Style("#ee1499", "#dc2fae", 0.14),
    "words": Style("#33302b", "#ece6da", 0.085),
}
"""The palette of drawings, kind by kind, from the faintest to the strongest.

Kinds of work are at least 20 apart in CIEDE2000, also to eyes without red or green cones
(`tests/proof/test_colours.py`), and differ in width or dashes.
"""
_UNTOLD = ("stock", "words", "lettering")  # kinds that a key need not explain


@dataclass(frozen=True, slots=True, eq=False)
class SceneLine:
    """One line of a scene. points: (n, 2), mm; a single one is a hole `size` mm wide.

    number: its index in the list from which the scene was made, -1 for none.
    """

    points: FloatArray
    kind: str
    size: float = 0.0
    number: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """The contents of a picture. low, high: the corners of its bounds, mm, y up.

    unit: mm; the height of capitals, and the unit of line widths and dashes, so that a picture is
    equally legible at any scale.
    """

    title: str
    low: tuple[float, float]
    high: tuple[float, float]
    lines: tuple[SceneLine, ...]
    unit: float
    notes: tuple[str, ...] = field(default=())

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds in it, in the order of STYLES."""
        there = {line.kind for line in self.lines}
        return tuple(kind for kind in STYLES if kind in there)

    def by_kind(self) -> dict[str, list[SceneLine]]:
        """Return its lines by their kinds, in the order of STYLES."""
        found: dict[str, list[SceneLine]] = {kind: [] for kind in STYLES}
        for line in self.lines:
            found[line.kind].append(line)
        return {kind: lines for kind, lines in found.items() if lines}


def scene(title: str, lines: list[SceneLine], notes: tuple[str, ...] = ()) -> Scene:
    """Return a scene of the lines; its unit is a seventieth of its longer side."""
    points = np.concatenate([line.points for line in lines] or [np.array([[0.0, 0.0], [1.0, 1.0]])])
    low, high = points.min(axis=0), points.max(axis=0)
    unit = max(float((high - low).max()), 1.0) / 70.0
    return Scene(
        title,
        (float(low[0]), float(low[1])),
        (float(high[0]), float(high[1])),
        tuple(lines),
        unit,
        notes,
    )


def framed(picture: Scene, say: Tongue = PLAIN) -> Scene:
    """Return the scene with its title above, and a key and a scale bar below.

    say: the language of the key. Lines wider than the picture are wrapped.
    """
    unit = picture.unit
    left, right = picture.low[0], max(picture.high[0], picture.low[0] + 30.0 * unit)
    y = picture.high[1] + 2.0 * unit
    added: list[SceneLine] = []
    for text in reversed((picture.title, *picture.notes)):
        for line in reversed(wrapped(text, right - left, unit)):
            added += words(line, left, y, unit)
            y += 2.0 * unit
    foot = picture.low[1] - 3.0 * unit
    foot, key = _key(picture, left, right, foot, say)
    added += key + _scale_bar(left, foot - 2.6 * unit, right - left, unit, say)
    margin = 2.0 * unit
    return Scene(
        picture.title,
        (left - margin, foot - 4.4 * unit),
        (right + margin, y - unit + margin * 0.5),
        picture.lines + tuple(added),
        unit,
        picture.notes,
    )


def words(text: str, x: float, y: float, height: float) -> list[SceneLine]:
    """Return text in single-stroke letters, its baseline from x, y."""
    return [SceneLine(line + np.array([x, y]), "words") for line in text_lines(text, height)]


def _key(
    picture: Scene, left: float, right: float, y: float, say: Tongue
) -> tuple[float, list[SceneLine]]:
    """Return samples of the kinds with their names, in rows no wider than the picture."""
    unit, x = picture.unit, left
    lines: list[SceneLine] = []
    for kind in picture.kinds:
        if kind in _UNTOLD:
            continue
        name = say(kind)
        wide = 3.6 * unit + text_width(name, unit * 0.9) + 2.0 * unit
        if x > left and x + wide > right:
            x, y = left, y - 2.2 * unit
        middle = y + 0.45 * unit
        lines.append(SceneLine(np.array([[x, middle], [x + 3.0 * unit, middle]]), kind))
        lines += words(name, x + 3.6 * unit, y, unit * 0.9)
        x += wide
    return y, lines


def _scale_bar(x: float, y: float, room: float, unit: float, say: Tongue) -> list[SceneLine]:
    """Return a bar of a round length with its fifths ticked, and the length in words."""
    steps = [10.0**power * digit for power in range(-1, 5) for digit in (1.0, 2.0, 5.0)]
    steps = [step * (MM_PER_INCH if say.inches else 1.0) for step in steps]
    size = max((step for step in steps if step <= 0.3 * room), default=steps[0])
    lines = [SceneLine(np.array([[x, y], [x + size, y]]), "words")]
    for index in range(6):
        tick = (0.6 if index in (0, 5) else 0.3) * unit
        at = x + size * index / 5.0
        lines.append(SceneLine(np.array([[at, y], [at, y + tick]]), "words"))
    return lines + words(say.length(size), x + size + 0.8 * unit, y - 0.2 * unit, unit * 0.9)
