"""Small pictures of pieces, where a terminal shows pictures (sixels, or by kitty's protocol).

textual-image asks the terminal whether it does, and draws. Everywhere else there are words alone.
"""

from __future__ import annotations

import io
import logging
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plotout.pattern.model import Piece

WIDE, HIGH = 72, 16  # the most columns and lines of a picture
_CELL = 2.0  # a letter's place is about twice as high as wide


def print_pieces(pieces: Sequence[Piece], high: int = HIGH) -> None:
    """Print a picture of pieces at one scale, at most `high` lines; nothing where none is shown."""
    if pieces and _renderable():
        from plotout.proof.piece_picture import side_by_side
        from plotout.proof.rendering import to_png

        print_picture(to_png(side_by_side(pieces), width_px=1200), high)


def print_picture(png: bytes, high: int = HIGH) -> None:
    """Print a picture, at most `high` lines; nothing where none is shown."""
    drawn_by = _renderable()
    if drawn_by is None:
        return
    from PIL import Image
    from rich.console import Console

    console = Console()
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    lines_per_column = picture.height / picture.width / _CELL
    wide = min(WIDE, console.width - 1, round(high / lines_per_column))
    console.print(drawn_by(picture, width=max(wide, 1), height="auto"))


def _renderable() -> Any:
    """Return the class that draws on this terminal; None where it shows no pictures."""
    if os.environ.get("TERM", "dumb") == "dumb":
        return None
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return None  # nobody could answer whether pictures are shown
    if 0 in os.get_terminal_size(sys.stdout.fileno()):
        return None  # a terminal without a size, such as a recorder's
    logging.getLogger("textual_image").addHandler(logging.NullHandler())
    from textual_image import renderable

    can = renderable.Image in (renderable.SixelImage, renderable.TGPImage)
    return renderable.Image if can else None
