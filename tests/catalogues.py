"""Bring the catalogues in step with the words in the code: `python tests/catalogues.py`.

What is new is added without a translation, which `tests/test_tongue.py` then asks for; what the
code no longer says is removed.
"""

from __future__ import annotations

import ast
import functools
import tomllib
from collections.abc import Iterator
from pathlib import Path

import polib

from plotout.machine.caution import KINDS
from plotout.proof.page.notes import NOTES, PARTS
from plotout.proof.page.words import SWITCHES, said_by

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "plotout" / "catalogues"
SHIPPED = ROOT / "plotout" / "machine" / "shipped"
PAGE = ROOT / "plotout" / "proof" / "page"


@functools.cache
def said() -> dict[str, str]:
    """Return every text that the code says on papers, to its plural, "" where it has none."""
    found: dict[str, str] = dict.fromkeys(SWITCHES, "")
    for path in sorted([*ROOT.glob("plotout/**/*.py"), *ROOT.glob("plugins/**/*.py")]):
        found |= dict(_in_code(ast.parse(path.read_text("utf-8"))))
    for path in PAGE.glob("*.*"):
        if path.suffix in (".js", ".html"):
            found |= dict.fromkeys(said_by(path.read_text("utf-8")), "")
    found |= dict.fromkeys((text for texts in KINDS.values() for text in texts), "")
    found |= dict.fromkeys((*NOTES, *(part for parts in PARTS.values() for part in parts)), "")
    for path in SHIPPED.glob("*.toml"):
        machine = tomllib.loads(path.read_text("utf-8"))
        found |= dict.fromkeys((machine["title"], *machine.get("cautions", ())), "")
    return {text: found[text] for text in sorted(found)}


def _in_code(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """Give what is handed to an object called `say` (or `something.say`), and to its `many`."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        constants = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
        texts = [text for text in constants if isinstance(text, str) and text]
        if _is_say(node.func) and texts:
            yield texts[0], ""
        elif (isinstance(node.func, ast.Attribute) and node.func.attr == "many"
              and _is_say(node.func.value) and len(texts) == 2):  # fmt: skip
            yield texts[0], texts[1]
        elif isinstance(node.func, ast.Name) and node.func.id == "self" and texts:
            yield texts[0], ""


def _is_say(node: ast.AST) -> bool:
    name = node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")
    return name == "say"


def update() -> None:
    """Write every catalogue anew, with what it has of what the code says."""
    wanted = said()
    for path in sorted(FOLDER.glob("*.po")):
        old = {entry.msgid: entry for entry in polib.pofile(str(path))}
        new = polib.POFile(wrapwidth=100)
        new.header = polib.pofile(str(path)).header
        new.metadata = polib.pofile(str(path)).metadata
        for text, plural in wanted.items():
            entry = old.get(text, polib.POEntry(msgid=text, msgid_plural=plural))
            if path.stem == "en":
                entry = polib.POEntry(msgid=text, msgid_plural=plural)
                entry.msgstr, entry.msgstr_plural = (
                    ("", {0: text, 1: plural}) if plural else (text, {})
                )
            new.append(entry)
        new.save(str(path))


if __name__ == "__main__":
    update()
