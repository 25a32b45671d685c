"""Renders the photograph of samples/hive-tool-pocket, and the guide's pictures of it.

    python tests/photo/sample.py

The scene is known, so what is read off the photograph can be shown beside the truth. Written anew
only when the renderer or the reader changes what it shows.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import render

ROOT = Path(__file__).parents[2]
PHOTO = ROOT / "samples" / "hive-tool-pocket" / "sheet.jpg"
PICTURES = ROOT / "samples" / "guides" / "pictures"
CORNERS = np.array([[75.0, 0.0], [150.0, 38.0], [146.0, 190.0], [4.0, 190.0], [0.0, 38.0]])
DIP = 6.0  # mm by which the opening at the top curves
SPACING = 13.0  # mm between pricks
LARGER = 100.0  # an error is drawn so many times its size
NEAR = 0.5  # mm: a spot further from a prick is something else
MM = 6.0  # pixels per mm of that picture


def scene() -> render.Scene:
    """Return the pocket, pricked along a pencil line."""
    rng = np.random.default_rng(18)
    middle = np.array([75.0, 95.0])
    lines, holes, corner_of, run_of = [], [], [], []
    for index, (a, b) in enumerate(zip(CORNERS, np.roll(CORNERS, -1, axis=0), strict=True)):
        t = np.linspace(0.0, 1.0, 200)[:, None]
        line = a + (b - a) * t
        if index == 2:
            line[:, 1] -= DIP * (4.0 * t * (1.0 - t)).ravel()
        lines.append(line)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        at = np.linspace(9.0, along[-1] - 9.0, round((along[-1] - 18.0) / SPACING) + 1)
        pricks = np.column_stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)])
        holes += list(pricks + rng.normal(0.0, 0.1, pricks.shape))
        corner_of += [-1] * len(at)
        run_of += [index] * len(at)
    for index, at in enumerate(CORNERS):
        angles = rng.uniform(0.0, 6.28) + np.arange(3) * 2.0 * np.pi / 3.0
        holes += list(at + 1.3 * np.column_stack([np.cos(angles), np.sin(angles)]))
        corner_of += [index] * 3
        run_of += [-1] * 3
    count = len(holes)
    wide, tall = 115.0, 135.0
    strips = {2: (1.5, -109.0, tall + 21.0), 3: (-2.0, -107.0, -tall - 42.0),
              5: (91.0, -wide - 20.0, -112.0), 8: (-88.0, wide + 18.0, 110.0)}  # fmt: skip
    return render.Scene(
        np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array([wide, tall]), strips,
        np.array(holes) - middle, rng.uniform(0.7, 1.1, count),
        np.where(rng.uniform(size=count) < 0.35, 0.15, 0.0), np.array(corner_of),
        CORNERS - middle, np.array(run_of), [False, False, True, False, False], "white",
        [line - middle for line in lines], 18,
    )  # fmt: skip


def camera() -> render.Camera:
    """Return where the photograph is taken from."""
    rng = np.random.default_rng(3)
    return render.camera(
        rng, tilt=14, azimuth=215, aim=(0, 0), reach=520, width=2300, height=1840, roll=2.0
    )


def truth_beside(made) -> bytes:
    """Draw the pocket as it was pricked, and every prick's error, larger, as PNG."""
    import io

    from against import rigid
    from PIL import Image, ImageDraw, ImageFont
    from scipy.spatial import cKDTree

    known = scene()
    near = cKDTree(known.holes)
    ends = np.array([[0.0, 0.0], [218.0, 0.0]])
    model, x = made.solution.model, made.solution.x
    here = np.vstack([made.off_table(model.on_strip(x, strip, ends)) for strip in model.strips])
    there = np.vstack([render._placed(ends, *known.strips[strip]) for strip in model.strips])
    turn, shift = rigid(here, there)
    found = near.query(made.at @ turn + shift)[0] < NEAR
    turn, shift = rigid(made.at[found], known.holes[near.query(made.at @ turn + shift)[1][found]])
    at = (made.at @ turn + shift)[found]
    far, which = near.query(at)
    meant = known.holes[which]
    low = known.holes.min(axis=0) - 12.0
    high = known.holes.max(axis=0) + 12.0
    size = ((high - low) * MM).astype(int)
    image = Image.new("RGB", (int(size[0]), int(size[1]) + 90), "white")
    draw, font = ImageDraw.Draw(image), ImageFont.load_default(22)

    def page(points: np.ndarray) -> list[tuple[float, float]]:
        return [(float(px), float(py)) for px, py in
                np.column_stack([points[:, 0] - low[0], high[1] - points[:, 1]]) * MM]  # fmt: skip

    for line in known.pencil:
        draw.line(page(line), fill="#9aa3ad", width=3)
    for hole, off in zip(meant, at - meant, strict=True):
        ((px, py),) = page(hole[None])
        draw.ellipse((px - 4, py - 4, px + 4, py + 4), outline="black", width=2)
        draw.line(page(np.vstack([hole, hole + LARGER * off])), fill="#c2410c", width=4)
    draw.text((20, size[1]), "Grey and black: the outline and pricks that were rendered.",
              fill="black", font=font)  # fmt: skip
    draw.text((20, size[1] + 28), f"Red: the error of the reading, {LARGER:.0f} times its size.",
              fill="#c2410c", font=font)  # fmt: skip
    other = len(made.at) - len(at)
    draw.text((20, size[1] + 56), f"{len(set(which))} of {len(known.holes)} pricks found, 95 of "
              f"100 within {np.percentile(far, 95):.3f} mm. Spots taken for pricks: {other}.",
              fill="black", font=font)  # fmt: skip
    out = io.BytesIO()
    image.quantize(16).save(out, "PNG", optimize=True)
    return out.getvalue()


def outline_beside() -> bytes:
    """Draw the outline that `plotout show` reports, with its lengths and the true ones, as PNG."""
    import io

    from PIL import Image, ImageDraw, ImageFont
    from plotout_photo.reader import read

    known = scene()
    shapes = read(PHOTO, {}).shapes
    low = np.vstack([shape.points for shape in shapes]).min(axis=0) - 14.0
    size = (np.vstack([shape.points for shape in shapes]).max(axis=0) + 14.0 - low) * MM
    image = Image.new("RGB", (int(size[0]), int(size[1])), "white")
    draw, font = ImageDraw.Draw(image), ImageFont.load_default(22)
    for shape, line in zip(shapes, known.pencil, strict=True):
        path = (shape.points - low) * MM
        path[:, 1] = size[1] - path[:, 1]
        colour = "#c2410c" if len(path) > 2 else "#0a58ca"
        draw.line([(float(x), float(y)) for x, y in path], fill=colour, width=4)
        length, true = (float(np.hypot(*np.diff(points, axis=0).T).sum())
                        for points in (shape.points, line))  # fmt: skip
        middle = path[len(path) // 2] * 0.5 + path[(len(path) - 1) // 2] * 0.5
        at = middle + (size / 2.0 - middle) * 0.42
        draw.multiline_text((float(at[0]), float(at[1])),
                            f"{shape.name}\nread {length:.2f} mm\ntrue {true:.2f} mm",
                            fill="black", font=font, anchor="mm", align="center")  # fmt: skip
    out = io.BytesIO()
    image.quantize(16).save(out, "PNG", optimize=True)
    return out.getvalue()


if __name__ == "__main__":
    from plotout_photo.survey import survey

    PHOTO.write_bytes(
        render.photograph(scene(), camera(), blur=0.7, noise=0.35, quality=80, colour=False)
    )
    (PICTURES / "photo-truth.png").write_bytes(truth_beside(survey([PHOTO])))
    (PICTURES / "photo-outline.png").write_bytes(outline_beside())
