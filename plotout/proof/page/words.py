"""The proof page's own words, in the language of the set.

Its scripts say them with `say("...")`, its frame between {{ and }}; both are looked up as they
stand, so that the catalogues are the only other place where they are written.
"""

from __future__ import annotations

import re
from html import escape

from plotout.geometry.strokes import Mark, Work
from plotout.proof.scene import STYLES
from plotout.tongue import Tongue

_SAID = re.compile(r'\bsay\("([^"]+)"')
_FRAMED = re.compile(r"\{\{(.+?)\}\}")
SWITCHES = (*STYLES, *map(str, Work), *map(str, Mark), "order", "pages")
"""What can be shown or hidden: its names are words too."""


def said_by(text: str) -> list[str]:
    """Return the words of a script or of the frame, in English."""
    return _SAID.findall(text) + _FRAMED.findall(text)


def framed(html: str, say: Tongue) -> str:
    """Return the frame with its words in the language."""
    return _FRAMED.sub(lambda found: escape(say.unfilled(found[1])), html)


def for_script(script: str, say: Tongue) -> dict[str, str]:
    """Return what the script says, where the language has another word for it than English."""
    texts = [*said_by(script), *SWITCHES]
    words = {text: say.unfilled(text) for text in texts}
    return {text: word for text, word in words.items() if word != text}
