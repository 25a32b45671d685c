"""Scenes as bytes: SVG in millimetres, and PNG."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from html import escape
from itertools import pairwise

import numpy as np

from plotout.geometry.dashes import dashes_along
from plotout.geometry.strokes import FloatArray
from plotout.proof.scene import PAPER, STYLES, Scene, SceneLine

FINER = 2  # a PNG is drawn this many times larger, then averaged down: soft edges
MOST_PIXELS = 6000  # of a PNG's longer side


def to_svg(scene: Scene) -> str:
    """Return the scene as an SVG document at true size, with one group per kind."""
    width, height = _size(scene)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" role="img">\n'
        f"<title>{escape(scene.title)}</title>\n"
        f'<rect width="100%" height="100%" fill="{PAPER}"/>\n{_groups(scene)}</svg>\n'
    )


def _groups(scene: Scene) -> str:
    parts = []
    for kind, lines in scene.by_kind().items():
        style = STYLES[kind]
        dashes = " ".join(f"{dash * scene.unit:.2f}" for dash in style.dashes)
        data = _path_data(lines, scene)
        parts.append(
            f'<path class="{kind}" fill="none" stroke="{style.colour}" stroke-linecap="round" '
            f'stroke-linejoin="round" stroke-width="{style.width * scene.unit:.3f}"'
            + (f' stroke-dasharray="{dashes}"' if dashes else "")
            + f' d="{data}"/>\n'
        )
    return "".join(parts)


def _path_data(lines: Sequence[SceneLine], scene: Scene) -> str:
    """Return lines as SVG path data, y down from the scene's top, to 0.01 mm."""
    drawn = [line.points for line in lines if len(line.points) > 1]
    numbers = _down(np.concatenate([np.empty((0, 2)), *drawn]), scene).ravel().tolist()
    form = "|".join("M" + "%.2f %.2f " * len(points) for points in drawn)
    texts = iter(_shortest(form % tuple(numbers)).split("|"))
    return "".join(
        next(texts).rstrip() if len(line.points) > 1 else _hole(line, scene) for line in lines
    )


def _shortest(text: str) -> str:
    """Return numbers with two decimals, each before a blank, without superfluous zeros."""
    for long, short in ((".00 ", "! "), ("0 ", " "), ("! ", " ")):  # far quicker than a pattern
        text = text.replace(long, short)
    return text


def _hole(line: SceneLine, scene: Scene) -> str:
    ((x, y),), r = _down(line.points, scene).tolist(), max(line.size / 2.0, 0.15 * scene.unit)
    half = f"a{r:.2f} {r:.2f} 0 1 0"
    return f"M{x - r:.2f} {y:.2f}{half} {2 * r:.2f} 0{half} {-2 * r:.2f} 0"


def to_png(scene: Scene, width_px: int = 1600) -> bytes:
    """Return the scene as PNG, `width_px` wide, or less if it would be very high."""
    from PIL import Image, ImageColor, ImageDraw

    from plotout.proof.averaging import averaged

    width, height = _size(scene)
    scale = min(width_px / width, MOST_PIXELS / height) * FINER
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    even = [side + side % 2 for side in size]  # `averaged` needs it
    numbers = np.zeros(even[::-1], np.uint8)  # a colour's number takes less than the colour
    numbered = Image.frombuffer("L", size, numbers, "raw", "L", even[0], 1)
    numbered.readonly = 0  # so that it is drawn on the array itself
    pen = ImageDraw.Draw(numbered)
    by_kind = scene.by_kind()
    for number, (kind, lines) in enumerate(by_kind.items(), start=1):
        style = STYLES[kind]
        thick = max(round(style.width * scene.unit * scale), FINER)
        joint = "curve" if thick > 2 * FINER else None  # joints of thin lines are invisible
        stretches = list(_stretches(kind, lines, scene))
        if not stretches:
            continue
        pixels = (_down(np.concatenate(stretches), scene) * scale).ravel().tolist()
        ends = np.cumsum([2 * len(stretch) for stretch in stretches]).tolist()
        for start, end in pairwise([0, *ends]):
            pen.line(pixels[start:end], fill=number, width=thick, joint=joint)
    numbers[:, size[0] :], numbers[size[1] :] = numbers[:, size[0] - 1, None], numbers[size[1] - 1]
    data = io.BytesIO()
    colours = [ImageColor.getrgb(c) for c in (PAPER, *(STYLES[kind].colour for kind in by_kind))]
    averaged(numbers, np.array(colours)).save(data, "PNG", compress_level=3)
    return data.getvalue()


def _stretches(kind: str, lines: Sequence[SceneLine], scene: Scene) -> Iterator[FloatArray]:
    """Give what is drawn of lines of one kind: rings of holes, dashes, or plain lines."""
    dashes = tuple(dash * scene.unit for dash in STYLES[kind].dashes)
    yield from (_ring(line, scene) for line in lines if len(line.points) == 1)
    points = [line.points for line in lines if len(line.points) > 1]
    yield from dashes_along(points, dashes) if dashes else points


def _ring(line: SceneLine, scene: Scene) -> FloatArray:
    radius = max(line.size / 2.0, 0.15 * scene.unit)
    turn = np.linspace(0.0, 2.0 * np.pi, 49)
    return np.asarray(line.points[0] + radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def _size(scene: Scene) -> tuple[float, float]:
    return scene.high[0] - scene.low[0], scene.high[1] - scene.low[1]


def _down(points: FloatArray, scene: Scene) -> FloatArray:
    return np.column_stack([points[:, 0] - scene.low[0], scene.high[1] - points[:, 1]])
