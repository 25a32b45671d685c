"""Pictures of a reading: annotated photos, the sheet at true scale, the expected error."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont
from PIL.ImageColor import getrgb

from plotout import FloatArray
from plotout_photo.accuracy import ErrorMap
from plotout_photo.sift import DOUBTFUL
from plotout_photo.strips import outline
from plotout_photo.survey import Survey
from plotout_photo.table import Ordered

SHOWN = 2400  # pixels of an annotated photo's longer side
TRUE = 0.25  # mm per pixel of the sheet at true scale
BAND = 1e6  # pixels of it that are worked at once: the whole would take much memory
LARGEST = 14e6  # pixels of that picture; a larger sheet has fewer per mm
STRAIGHT, CURVE, CORNER, LOOSE = "#0a58ca", "#c2410c", "#b5179e", "#5c6370"


def pictures_of(made: Survey, final: Ordered, errors: ErrorMap) -> Mapping[str, bytes]:
    """Return PNG files by the endings of their names."""
    files = {}
    for index in range(len(made.shots)):
        ending = "-photo.png" if len(made.shots) == 1 else f"-photo-{index + 1}.png"
        files[ending] = _drawn_over(made, final, index)
    files["-true.png"] = _true(made)
    files["-error.png"] = _errors(errors)
    return files


def _drawn_over(made: Survey, final: Ordered, index: int) -> bytes:
    """Draw runs, corners and numbers over a photo."""
    grey = made.shots[index].grey
    share = min(1.0, SHOWN / max(grey.shape))
    size = (round(grey.shape[1] * share), round(grey.shape[0] * share))
    image = Image.fromarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA)).convert("RGB")
    draw, font = ImageDraw.Draw(image), ImageFont.load_default(max(size) // 150)

    def seen(at: FloatArray) -> FloatArray:
        return np.asarray((made.seen_in(index, at) + 0.5) * share - 0.5)

    groups = final.way.groups
    for run in final.way.runs:
        line = seen(np.array([groups[g].at for g in run.groups]))
        if run.kind == "closed":
            line = np.vstack([line, line[:1]])
        colour = STRAIGHT if run.kind == "straight" else CURVE
        draw.line([tuple(point) for point in line.tolist()], fill=colour, width=2)
    ring = [np.array([groups[g].at for run in final.way.runs for g in run.groups])]
    middle = seen(ring[0]).mean(axis=0) if len(ring[0]) else np.array(size) / 2.0
    loose = {k for g in final.way.loose for k in groups[g].members}
    spots = seen(final.at)
    for k, (x, y) in enumerate(spots.tolist()):
        number = final.numbers[k]
        doubtful = number <= len(made.at) and made.sure[number - 1] < DOUBTFUL
        colour = LOOSE if k in loose else STRAIGHT
        radius = 5.0 * size[0] / SHOWN + 2.0
        box = (x - radius, y - radius, x + radius, y + radius)
        if doubtful or k in loose:
            draw.rectangle(box, outline=colour, width=1)
        else:
            draw.ellipse(box, outline=colour, width=1)
    _numbers(draw, font, final, spots, middle)
    for group in groups:
        if group.corner:
            x, y = seen(group.at[None])[0]
            draw.ellipse((x - 16, y - 16, x + 16, y + 16), outline=CORNER, width=3)
    return _png(image)


def _numbers(draw: Any, font: Any, final: Ordered, spots: FloatArray, middle: FloatArray) -> None:
    """Write the pricks' numbers on the side away from the piece's centre; a corner's together."""
    for group in (group for group in final.way.groups if group.members):
        at = spots[list(group.members)].mean(axis=0)
        away = at - middle
        away = away / max(float(np.hypot(*away)), 1.0)
        numbers = sorted(final.numbers[k] for k in group.members)
        text = str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"
        x, y = at + away * (30.0 if group.corner else 20.0)
        colour = CORNER if group.corner else "black"
        draw.text((x, y), text, fill=colour, font=font, anchor="mm", stroke_width=2,
                  stroke_fill="white")  # fmt: skip


def _true(made: Survey) -> bytes:
    """Return the sheet as seen from straight above, at true scale, with a grid of 10 mm."""
    model, x = made.solution.model, made.solution.x
    corners = [model.on_strip(x, strip, outline()) for strip in model.strips if strip]
    all_of = np.vstack([made.at, *(made.off_table(corner) for corner in corners)])
    low, high = (
        np.floor(all_of.min(axis=0) / 10 - 1) * 10,
        np.ceil(all_of.max(axis=0) / 10 + 1) * 10,
    )
    wide, tall = high - low
    step = max(TRUE, float(np.sqrt(wide * tall / LARGEST)))
    size = (int(wide / step), int(tall / step))
    page = np.full((size[1], size[0]), 255, np.uint8)
    best = np.full(page.shape, -1.0, np.float32)
    for index, shot in enumerate(made.shots):
        coarse = _coarse(made, index, low, high, size)
        for rows in _bands(size):
            across, down, near = _map(coarse, size, rows, shot.kind.size)
            part = cv2.remap(shot.grey, across, down, cv2.INTER_LINEAR, borderValue=255)
            better = near > best[rows]
            page[rows][better], best[rows][better] = part[better], near[better]
    image = Image.fromarray(page).convert("RGB")
    _grid(image, low, high, step)
    return _png(image, dpi=25.4 / step)


def _bands(size: tuple[int, int]) -> Iterator[slice]:
    """Give the rows of a large picture, of so many across and down, in bands."""
    step = max(1, int(BAND / size[0]))
    for top in range(0, size[1], step):
        yield slice(top, min(top + step, size[1]))


def _coarse(
    made: Survey, index: int, low: FloatArray, high: FloatArray, size: tuple[int, int]
) -> FloatArray:
    """Return the pixels of a photo for every twelfth of the page, (h, w, 2), float32."""
    wide, tall = size[0] // 12 + 2, size[1] // 12 + 2
    gx, gy = np.meshgrid(np.linspace(low[0], high[0], wide), np.linspace(high[1], low[1], tall))
    pixels = made.seen_in(index, np.column_stack([gx.ravel(), gy.ravel()]))
    return np.asarray(pixels.reshape(tall, wide, 2).astype(np.float32))


def _map(
    coarse: FloatArray, size: tuple[int, int], rows: slice, photo: tuple[int, int]
) -> tuple[Any, Any, Any]:
    """Return the pixels of a photo for rows of the page, and how far inside it they lie."""
    fx = np.linspace(0, coarse.shape[1] - 1, size[0], dtype=np.float32)
    fy = np.linspace(0, coarse.shape[0] - 1, size[1], dtype=np.float32)
    on_x, on_y = np.meshgrid(fx, fy[rows])
    maps = [
        cv2.remap(np.ascontiguousarray(coarse[:, :, k]), on_x, on_y, cv2.INTER_LINEAR)
        for k in (0, 1)
    ]
    width, height = photo
    inside = np.minimum(np.minimum(maps[0], width - 1 - maps[0]),
                        np.minimum(maps[1], height - 1 - maps[1]))  # fmt: skip
    return maps[0], maps[1], np.where(inside > 0, inside, -1.0).astype(np.float32)


def _grid(image: Image.Image, low: FloatArray, high: FloatArray, step: float) -> None:
    """Draw a line every 10 mm over a picture, and a darker one with its figure every 100 mm."""
    over = Image.new("RGBA", image.size, (0, 0, 0, 0))
    draw, font = ImageDraw.Draw(over), ImageFont.load_default(18)
    for axis in (0, 1):
        for mm in np.arange(low[axis], high[axis] + 1, 10.0):
            at = (mm - low[axis]) / step if axis == 0 else (high[axis] - mm) / step
            whole = round(mm) % 100 == 0
            ends = ((at, 0), (at, image.size[1])) if axis == 0 else ((0, at), (image.size[0], at))
            draw.line(ends, fill=(0, 90, 160, 150 if whole else 50), width=1)
            if whole:
                place = (at + 3, 3) if axis == 0 else (3, at + 2)
                draw.text(place, f"{mm:.0f}", fill=(0, 70, 140, 255), font=font, stroke_width=2,
                          stroke_fill="white")  # fmt: skip
    for rows in _bands(image.size):
        box = (0, rows.start, image.size[0], rows.stop)
        both = Image.alpha_composite(image.crop(box).convert("RGBA"), over.crop(box))
        image.paste(both.convert("RGB"), box)


def _errors(errors: ErrorMap) -> bytes:
    """Draw the expected error over the sheet: darker where greater, with figures."""
    cell, left, top = 84, 70, 60
    image = Image.new("RGB", (left + cell * len(errors.x) + 20, top + cell * len(errors.y) + 50),
                      "white")  # fmt: skip
    draw, font = ImageDraw.Draw(image), ImageFont.load_default(20)
    small = ImageFont.load_default(15)
    draw.text((left, 16), "Expected error, mm (two sigma)", fill="black", font=font)
    for row, line in enumerate(errors.rows):
        y = top + row * cell
        draw.text((8, y + cell / 2 - 8), f"{errors.y[row]:.0f}", fill="#555555", font=small)
        for column, value in enumerate(line):
            x = left + column * cell
            shade = 255 if value is None else int(255 - 150 * min(value / 0.6, 1.0))
            draw.rectangle((x, y, x + cell - 3, y + cell - 3), fill=(shade, shade, 255))
            text = "-" if value is None else f"{value:.2f}"
            draw.text((x + cell / 2, y + cell / 2), text, fill="black", font=font, anchor="mm")
    for column, mm in enumerate(errors.x):
        draw.text((left + column * cell + cell / 2, top + cell * len(errors.y) + 16), f"{mm:.0f}",
                  fill="#555555", font=small, anchor="mm")  # fmt: skip
    return _png(image)


def _png(image: Image.Image, dpi: float | None = None) -> bytes:
    out = io.BytesIO()
    # a palette by frequency would lose the colours of thin lines, so they are added to it
    usual = image.quantize(128, dither=Image.Dither.NONE).getpalette() or []
    thin = [value for colour in (STRAIGHT, CURVE, CORNER, LOOSE) for value in getrgb(colour)]
    palette = Image.new("P", (1, 1))
    palette.putpalette([*usual[: 3 * 128], *thin])
    few = image.quantize(palette=palette, dither=Image.Dither.NONE)
    if dpi:
        few.save(out, "PNG", dpi=(dpi, dpi), optimize=False)
    else:
        few.save(out, "PNG", optimize=False)
    return out.getvalue()
