"""The proof page: one self-contained HTML file that shows a whole set for a machine."""

from __future__ import annotations

import hashlib
import json
from base64 import b64encode
from collections.abc import Sequence
from html import escape
from importlib.resources import files
from string import Template

from plotout.machine import Machine
from plotout.model import Card
from plotout.pattern.model import PatternSet
from plotout.proof.page.content import Leaf, content
from plotout.proof.page.packed import packed
from plotout.proof.page.words import for_script, framed
from plotout.proof.scene import STYLES
from plotout.tongue import Tongue

__all__ = ["Leaf", "page"]

_SCRIPTS = (
    "sheet.js", "drawing.js", "sizes.js", "playback.js", "measure.js", "lists.js", "contact.js",
    "page.js",
)  # fmt: skip
_PIXELS = 13.0  # per unit of line width on the screen, whatever the scale


def page(
    pattern_set: PatternSet,
    machine: Machine,
    cards: Sequence[Card],
    leaves: Sequence[Leaf],
    warnings: Sequence[str] = (),
) -> str:
    """Return the page as HTML with its style, script, drawings and data inside.

    The user's text is data or escaped, never markup; the page's policy allows no script but its own
    and no connection at all.
    """
    here = files(__name__)
    style = here.joinpath("page.css").read_text("utf-8") + _line_styles()
    script = "".join(here.joinpath(name).read_text("utf-8") for name in _SCRIPTS)
    script = f'"use strict";\n(async () => {{\n{script}}})();\n'
    say = pattern_set.say
    report = content(pattern_set, machine, cards, leaves, warnings)
    kept = [packed(sheet) for sheet in report.pop("drawn")]
    report["words"] = for_script(script, say)
    data = json.dumps(report, ensure_ascii=True, separators=(",", ":"))
    title = say(
        "{set}: proof for {machine}", set=pattern_set.name, machine=say.unfilled(machine.title)
    )
    frame = framed(here.joinpath("page.html").read_text("utf-8"), say)
    return Template(frame).substitute(
        language=say.language,
        title=escape(title),
        style=style,
        style_hash=_hash(style),
        script=script,
        script_hash=_hash(script),
        data=data.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"),
        sheets="".join(_drawing(leaf, index, say) for index, leaf in enumerate(leaves)),
        packed="\n".join(map('<script type="text/plain" class="packed">{}</script>'.format, kept)),
    )


def _hash(text: str) -> str:
    return "sha256-" + b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _line_styles() -> str:
    """Return the drawing's styles as CSS, from the same table as for pictures."""
    day = "".join(f"--{_word(kind)}:{style.colour};" for kind, style in STYLES.items())
    night = "".join(f"--{_word(kind)}:{style.by_night};" for kind, style in STYLES.items())
    rules = [
        f":root{{{day}}}",
        f"@media screen and (prefers-color-scheme:dark){{:root{{{night}}}}}",
    ]
    for kind, style in STYLES.items():
        dashes = " ".join(f"{dash * _PIXELS:.1f}" for dash in style.dashes)
        width = f"{style.width * _PIXELS:.2f}px"
        rules.append(
            f".{_word(kind)}{{stroke:var(--{_word(kind)});stroke-width:{width}"
            + (f";stroke-dasharray:{dashes}" if dashes else "")
            + "}"
        )
    return "\n".join(rules) + "\n"


def _word(kind: str) -> str:
    return kind.replace(" ", "-")


def _drawing(leaf: Leaf, index: int, say: Tongue) -> str:
    """Return one sheet as SVG that is empty until the page's script draws it."""
    size = f"{leaf.program.width:.2f} {leaf.program.height:.2f}"
    name = escape(f"{say('Sheet {number}', number=leaf.sheet.number)}, {leaf.file}")
    return (
        f'<svg class="sheet" id="sheet-{index}" data-size="{size}" viewBox="0 0 {size}" '
        f'aria-label="{name}" hidden><g class="edges"></g><g class="over"></g></svg>'
    )
