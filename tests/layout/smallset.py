"""A small set on disk: four plain pieces, so that a whole job takes a moment."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result

from plotout.cli.make_command import make

PIECES = {"Front": (180, 240), "Back": (170, 230), "Collar": (150, 60), "Tab": (60, 60)}


def small_set(folder: Path, pieces: dict[str, tuple[int, int]] | None = None) -> Path:
    """Write the set; return its set file's path."""
    folder.mkdir(parents=True, exist_ok=True)
    text = '[set]\nname = "Apron"\nstyle = "AP-1"\nsize = "M"\n'
    for name, (wide, tall) in (pieces or PIECES).items():
        drawn = f'<path id="a" d="M0 0H{wide}V{tall}H0Z"/>'
        (folder / f"{name}.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{tall}mm" '
            f'viewBox="0 0 {wide} {tall}">{drawn}</svg>'
        )
        text += (
            f'[[piece]]\nname = "{name}"\nfrom = {{ file = "{name}.svg", outline = "#a" }}\n'
            'line = "cutting"\nedges = ["foot", "right", "top", "left"]\n'
            'cut = [{ cloth = "self", count = 1 }]\n'
        )
    path = folder / "set.toml"
    path.write_text(text)
    return path


def run(set_file: Path, *words: object) -> Result:
    """Run `plotout make` on a set, quick; errors come out as they are."""
    words = ("--seconds", 0, *words)
    return CliRunner().invoke(make, [str(set_file), *map(str, words)], catch_exceptions=False)


def made(set_file: Path, *words: object) -> dict[str, object]:
    """Run `plotout make` and return its report."""
    done = run(set_file, *words, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.output)
