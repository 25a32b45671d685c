"""Chooses the picture of a file that holds several: no preview, and no page by a guess."""

from __future__ import annotations

from typing import Any

from plotout import Place, UserError

_SUBFILE, _REDUCED_OR_MASK = 254, 0b101  # of a TIFF (TIFF 6.0, section 8, NewSubfileType)
PREVIEW = 0.25  # of the pixels of the largest picture: what has no more is a preview (judgement)


def choose(file: Any, place: Place) -> int:
    """Put a file, as opened by Pillow, at the picture to read; return how many others it holds.

    Of a TIFF that is its only page of full size; of others what their format calls the main one.
    Raises UserError for a TIFF of several pages, as scanners make them.
    """
    if getattr(file, "n_frames", 1) < 2:
        return 0
    main = file.tell()
    pages = _of_full_size(file)
    if file.format != "TIFF":
        file.seek(main)
        return len({*pages} - {main})
    if len(pages) > 1:
        raise UserError(
            f"this file has {len(pages)} pages, and which of them show the sheet is not known",
            fix="Save each page as a file of its own, and name all of them that show the sheet: "
            "plotout pricks page-1.tif page-2.tif",
            place=place,
        )
    file.seek(pages[0])
    return 0


def _of_full_size(file: Any) -> list[int]:
    """Return which pictures of a file are no previews or masks."""
    sizes = {}
    for nth in range(file.n_frames):
        try:
            file.seek(nth)
        except (OSError, SyntaxError, ValueError, EOFError):
            if file.format == "TIFF":
                raise
            continue  # a telephone's appendix; the main picture is judged by itself
        if not getattr(file, "tag_v2", {}).get(_SUBFILE, 0) & _REDUCED_OR_MASK:
            sizes[nth] = file.width * file.height
    most = max(sizes.values(), default=0)
    return [nth for nth, size in sizes.items() if size > PREVIEW * most] or [0]
