"""Reads pricks off photographs and scans of a pricked sheet, taken among strips of coded marks.

Needs OpenCV and simplejpeg: `pip install 'plotout[photo]'`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import (
    Card,
    Drawing,
    Pick,
    Place,
    PricksFinder,
    PricksFound,
    PricksWanted,
    Reader,
    UserError,
    hookimpl,
)

SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif")
_PICKS = {
    "also": Pick("Further pictures of the same sheet, which overlap this one.", '["second.jpg"]'),
    "resolution": Pick("Dots per inch of a scan whose file doesn't state it.", "300"),
    "measured": Pick("Distances between the crosses of strips.", '["1 left - 4 right = 812.5 mm"]'),
    "thickness": Pick("Thickness of strips cut in card, which lie beside the sheet.", '"0.7 mm"'),
    "drop": Pick("Places of what is no prick, as in the table of pricks.", '["312.4, 88.1"]'),
    "corners": Pick("Places of pricks that are corners, as in that table.", '["20.5, 7"]'),
    "kept": Pick(
        "That table with your corrections, if it isn't beside the picture.", '"sheet-pricks.csv"'
    ),
    "runs": Pick("As for a table of pricks.", '["piece-2 run 1", "piece-2 run 2"]'),
    "square": Pick("As for a table of pricks.", '["run 3 end"]'),
    "tangent": Pick("As for a table of pricks.", '["run 3 start"]'),
    "snap": Pick("As for a table of pricks.", '"1 mm"'),
}


@hookimpl
def plotout_readers() -> Sequence[Reader]:
    """Offer the reader of pictures named in a set file."""
    return [Reader("photo", SUFFIXES, _PICKS, _read, most=_most)]


def _most() -> str:
    from plotout_photo.image import MOST

    return f"{MOST / 1e6:g} million pixels a picture"


@hookimpl
def plotout_pricks_finders() -> Sequence[PricksFinder]:
    """Offer the finder behind `plotout frame` and `plotout pricks`."""
    return [PricksFinder("photo", SUFFIXES, _strips, _find)]


def _read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    _need_libraries(path)
    from plotout_photo.reader import read

    return read(path, pick)


def _strips(numbers: Sequence[int]) -> tuple[Card, ...]:
    _need_libraries()
    from plotout_photo.frame import strip_card
    from plotout_photo.strips import check_number

    for number in (numbers[0], numbers[-1]):
        check_number(number)
    return tuple(strip_card(number, index, len(numbers)) for index, number in enumerate(numbers, 1))


def _find(paths: Sequence[Path], wanted: PricksWanted) -> PricksFound:
    _need_libraries()
    from plotout_photo.reader import find

    return find(paths, wanted)


def _need_libraries(path: Path | None = None) -> None:
    try:
        import cv2
        import simplejpeg  # noqa: F401
    except ImportError as fault:
        missing = fault.name if fault.name == "simplejpeg" else "OpenCV"
        raise UserError(
            f"photographs and coded marks need {missing}, which is not installed",
            fix="Install it: pip install 'plotout[photo]'",
            place=Place(path),
        ) from fault
    if not hasattr(cv2, "aruco"):
        raise UserError(
            f"OpenCV {cv2.__version__} is too old, or was built without its marks (aruco)",
            fix="Install a newer one: pip install -U 'plotout[photo]'",
            place=Place(path),
        )
