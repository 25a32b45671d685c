"""Notices that a picture's file is damaged where its decoder would only make the best of it."""

from __future__ import annotations

import simplejpeg

from plotout import Place, UserError

DAMAGED = ("Corrupt JPEG data", "Premature end")  # libjpeg's words (jerror.h), not of mere oddities


def check_jpeg(data: bytes, mode: str, place: Place) -> None:
    """Raise UserError for a JPEG whose decoder complains about it.

    Most decoders go on in silence behind damaged bytes, with blocks in wrong places. mode: the
    picture's, as Pillow names it.
    """
    colours = {"L": "GRAY", "CMYK": "CMYK"}.get(mode, "GRAY")
    try:
        simplejpeg.decode_jpeg(data, colours, strict=True)
    except ValueError as fault:
        if any(words in str(fault) for words in DAMAGED):
            raise UserError(
                f"the file is damaged ({fault}): parts of the picture are false",
                fix="Send it again from the camera or the telephone, as a file, or take it again.",
                place=place,
            ) from fault
