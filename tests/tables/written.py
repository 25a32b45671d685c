"""Write the schemas and the guides' tables anew, after a change of a model:

python tests/tables/written.py
"""

from __future__ import annotations

import json
import re
from pathlib import Path

from plotout import explained
from plotout.tables.explain import as_markdown

ROOT = Path(__file__).parents[2]
SCHEMAS = ROOT / "plotout" / "schemas"
GUIDES = ROOT / "samples" / "guides"
_TABLES = re.compile(r"(<!-- explain ([\w.-]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def schema_files() -> dict[Path, str]:
    """Return what the shipped schemas should hold."""
    return {
        SCHEMAS / f"{name}.schema.json": json.dumps(schema, indent=1) + "\n"
        for name, schema in explained.schemas().items()
    }


def guide_files() -> dict[Path, str]:
    """Return the guides with their tables as the models have them."""
    return {path: _filled(path.read_text()) for path in sorted(GUIDES.glob("*.md"))}


def _filled(text: str) -> str:
    def table(found: re.Match[str]) -> str:
        name = found[2]
        topics = [each for each in explained.topics() if f"{each.name}.".startswith(f"{name}.")]
        assert topics, f"a guide asks for '{name}'"
        return found[1] + "\n".join(map(as_markdown, topics)) + found[3]

    return _TABLES.sub(table, text)


if __name__ == "__main__":
    for path, text in (schema_files() | guide_files()).items():
        path.write_text(text)
        print(path.relative_to(ROOT))
