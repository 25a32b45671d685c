"""The table of a language's methods in DEVELOPERS.md, from the class itself:

python tests/drivers/guide_tables.py
"""

from __future__ import annotations

import inspect
import re
from pathlib import Path

from plotout.language import Language

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"
_TABLE = re.compile(r"(<!-- methods of a language -->\n).*?(<!-- end -->)", re.DOTALL)


def guide() -> str:
    """Return the guide with its table as the class has it."""
    rows = ["| method | what it does |", "|---|---|"]
    for name, method in vars(Language).items():
        if name.startswith("_") or not callable(method):
            continue
        signature = str(inspect.signature(method)).replace("'", "").replace("(self, ", "(")
        first = re.sub(r"\s+", " ", (method.__doc__ or "").split("\n\n")[0].strip())
        needed = " **Needed.**" if name in Language.__abstractmethods__ else ""
        cell = f"{first}{needed}".replace("|", "\\|")
        rows.append(f"| `{name}{signature.replace(' | ', ' or ')}` | {cell} |")
    table = "\n".join(rows) + "\n"
    return _TABLE.sub(lambda found: found[1] + table + found[2], GUIDE.read_text("utf-8"))


if __name__ == "__main__":
    GUIDE.write_text(guide(), "utf-8")
