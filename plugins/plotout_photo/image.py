"""Loads a picture from a file: turned upright, grey, in linear light."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout import Place, UserError
from plotout.kit import open_ordinary, read_whole

SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif")
MOST = 120e6  # pixels: more would exceed the memory limit
WORKED = 20e6  # pixels: more are averaged, two by two or three by three
MOST_BYTES = 400 << 20  # of a file
LEAST = 0.3e6
SCANNED = 150.0  # dpi: a file with at least this and no camera in its metadata is a scan
UNEQUAL = 0.01  # share by which its two resolutions may differ (judgement)
_ORIENTATION, _EXIF, _FOCAL, _FOCAL_35 = 0x0112, 0x8769, 0x920A, 0xA405
_MAKE, _MODEL = 0x010F, 0x0110
_PHOTOMETRIC, _WHITE_IS_ZERO = 262, 0  # of a TIFF (TIFF 6.0, section 8)
DEPTHS = (10, 12, 14, 16)  # bits that a camera or scanner puts into 16


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture. grey: uint8 (h, w); light: float32 (h, w), 0 to 1, linear.

    dpi: None for a photograph. focal: share of the longer side, None if the file doesn't state it.
    shrunk: the number of the file's pixels, along a side, averaged to one. greys: how many it has.
    others: how many more pictures the file holds, which are not read.
    """

    path: Path
    grey: Any
    light: Any
    dpi: float | None
    focal: float | None
    shrunk: int
    greys: int = 256
    others: int = 0

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return int(self.grey.shape[1]), int(self.grey.shape[0])


def load(path: Path, dpi: float | None = None) -> Picture:
    """Read a picture. dpi: it is a scan of that resolution. Raises UserError."""
    from PIL import Image, UnidentifiedImageError

    from plotout_photo.damage import check, heard
    from plotout_photo.pages import choose

    place = Place(path)
    open_ordinary(path, "picture").close()
    _open_heic(path)
    Image.MAX_IMAGE_PIXELS = None  # checked below
    try:
        with Image.open(path) as file:
            others = choose(file, place)
            width, height = file.size
            _check_size(width, height, place)
            notes = file.getexif()
            density = file.info.get("dpi")
            camera = bool(notes.get(_MAKE) or notes.get(_MODEL))
            focal = _focal(notes.get_ifd(_EXIF), width, height)
            with heard() as said:
                pixels = _turned(np.asarray(_grey(file)), int(notes.get(_ORIENTATION, 1)))
            check(read_whole(path, "picture", MOST_BYTES), file, said, place)
    except FileNotFoundError as fault:
        raise UserError("there is no such file", fix="Check the path.", place=place) from fault
    except UnidentifiedImageError as fault:
        raise UserError(
            "this is not a picture, or it is damaged",
            fix="Send it again from the phone as a file, as JPEG.",
            place=place,
        ) from fault
    except (OSError, SyntaxError, ValueError) as fault:
        raise UserError(
            f"the picture can't be read: {fault}",
            fix="If the file was cut short, send it again from the camera; else save it again as "
            "JPEG or PNG.",
            place=place,
        ) from fault
    if dpi is None and density and not camera and focal is None:
        dpi = _resolution([float(each) for each in density], place)
    shrunk = max(1, int(np.ceil(np.sqrt(pixels.size / WORKED))))
    if dpi is not None:  # six pixels per mm are enough for any pin
        shrunk = max(shrunk, int(dpi / 25.4 / 6.0))
    greys = _greys(pixels)
    light = _linear(pixels)
    if shrunk > 1:
        pixels, light = _averaged(pixels, shrunk), _averaged(light, shrunk)
    return Picture(path, pixels, light, dpi / shrunk if dpi else None, focal, shrunk, greys, others)


def _open_heic(path: Path) -> None:
    if path.suffix.lower() not in (".heic", ".heif"):
        return
    try:
        from pillow_heif import register_heif_opener
    except ImportError as fault:
        raise UserError(
            "a HEIC picture needs a library that is not installed",
            fix="Install it: pip install pillow-heif. Or save the picture as JPEG.",
            place=Place(path),
        ) from fault
    register_heif_opener()


def _check_size(width: int, height: int, place: Place) -> None:
    if width * height > MOST:
        raise UserError(
            f"the picture has {width * height / 1e6:.0f} million pixels, not at most "
            f"{MOST / 1e6:.0f} million",
            fix="Take it at 12 to 50 million, or scan at 300 dpi.",
            place=place,
        )
    if width * height < LEAST:
        raise UserError(
            f"the picture has {width} x {height} pixels: too few to see pricks in",
            fix="Send it at full size, not as a preview.",
            place=place,
        )


def _resolution(density: Sequence[float], place: Place) -> float | None:
    """Return a scan's dots per inch, None if it is none. density: across and up, as the file says.

    Raises UserError if it was scanned with more dots one way.
    """
    across, up = density
    if max(across, up) < SCANNED:
        return None
    if abs(across - up) > UNEQUAL * max(across, up):
        raise UserError(
            f"by its file it has {across:.0f} dots per inch across, and {up:.0f} up",
            fix="Scan it again with the same resolution both ways. If it was scanned so, give it: "
            f"--resolution {max(across, up):.0f}",
            place=place,
        )
    return across


def _grey(file: Any) -> Any:
    """Return a picture in 8 bits of grey; deeper ones are scaled, not cut off."""
    if file.mode in ("I;16", "I;16B", "I;16L", "I"):
        return _eight_bits(file)
    if file.mode == "F":
        raise ValueError("its pixels are floating-point numbers")
    if file.mode in ("RGBA", "LA", "PA") or "transparency" in file.info:
        from PIL import Image

        file = file.convert("RGBA")
        if not file.getextrema()[3][1]:
            raise ValueError("all of it is transparent")
        file = Image.alpha_composite(Image.new("RGBA", file.size, "white"), file)
    if file.format == "JPEG":
        file.draft("L", None)  # a JPEG's brightness is stored as such: its colours aren't decoded
    return file.convert("L")


def _eight_bits(file: Any) -> Any:
    """Return the uppermost 8 bits of a deep picture, as deep as its brightest pixel needs."""
    values = np.asarray(file)
    if values.dtype != np.uint16:
        values = values.clip(0, 65535).astype(np.uint16)
    bits = next(bits for bits in DEPTHS if values.max() < 2**bits)
    grey = (values >> (bits - 8)).astype(np.uint8)
    return ~grey if getattr(file, "tag_v2", {}).get(_PHOTOMETRIC) == _WHITE_IS_ZERO else grey


def _turned(pixels: Any, orientation: int) -> Any:
    """Return pixels upright: EXIF's eight orientations (CIPA DC-008, tag 274)."""
    ways = {
        2: lambda p: p[:, ::-1],
        3: lambda p: p[::-1, ::-1],
        4: lambda p: p[::-1],
        5: lambda p: p.T,
        6: lambda p: np.rot90(p, -1),
        7: lambda p: np.rot90(p, 2).T,
        8: lambda p: np.rot90(p, 1),
    }
    return np.ascontiguousarray(ways.get(orientation, lambda p: p)(pixels))


def _focal(notes: Any, width: int, height: int) -> float | None:
    """Return the focal length as a share of the longer side, from its 35 mm equivalent.

    The equivalent refers to the diagonal: 43.27 mm (CIPA DCG-001).
    """
    said = notes.get(_FOCAL_35)
    if not said or not 8.0 <= float(said) <= 400.0:
        return None
    return float(said) / 43.267 * float(np.hypot(width, height)) / max(width, height)


def _greys(pixels: Any) -> int:
    """Return how many greys a picture has."""
    import cv2

    return int(np.count_nonzero(cv2.calcHist([pixels], [0], None, [256], [0, 256])))


def _linear(pixels: Any) -> Any:
    """Return linear light of sRGB values (IEC 61966-2-1), float32."""
    import cv2

    value = np.arange(256) / 255.0
    curve = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return cv2.LUT(pixels, curve.astype(np.float32))


def _averaged(pixels: Any, by: int) -> Any:
    import cv2

    height, width = (side // by for side in pixels.shape)
    return cv2.resize(
        pixels[: height * by, : width * by], (width, height), interpolation=cv2.INTER_AREA
    )
