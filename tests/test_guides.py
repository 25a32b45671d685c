"""What the guides under samples/ say is so: their commands run, in the order of the page."""

import re
import shlex
from pathlib import Path

import pytest
import running

ROOT = Path(__file__).parents[1]
GUIDES = sorted((ROOT / "samples" / "guides").glob("*.md"))
LONG = [
    "make samples/beekeepers-smock/set.toml --machine laser --size S --size XL --seconds 0 "
    "--out out-sizes",
    "make samples/beekeepers-smock/set.toml --machine gantry-knife --stock stock.toml --seconds 2 "
    "--out out-stock",
    "nest samples/beekeepers-smock/set.toml --machine copy-shop --piece Body --piece Sleeve "
    '--piece "Veil collar" --out nests',
]
"""Commands that take ten seconds to half a minute."""
_SAVED = re.compile(r"```toml\n((?:(?!```).)*)```\n+Save it as `([\w.-]+)`", re.DOTALL)


def _commands(text):
    return re.findall(r"^    plotout (.*)$", text, re.MULTILINE)


@pytest.mark.parametrize("guide", GUIDES, ids=lambda path: path.stem)
def test_commands_of_a_guide_run(guide, tmp_path):
    _run(guide, tmp_path, [])


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["sizes", "stock"])
def test_the_long_commands_of_a_guide_run(name, tmp_path):
    _run(ROOT / "samples" / "guides" / f"{name}.md", tmp_path, LONG)


def test_the_long_commands_stand_in_the_guides():
    assert set(LONG) <= {words for guide in GUIDES for words in _commands(guide.read_text())}


def _run(guide, tmp_path, only):
    text = guide.read_text()
    (tmp_path / "samples").symlink_to(ROOT / "samples")
    for body, name in _SAVED.findall(text):
        (tmp_path / name).write_text(body)
    env = {
        "PLOTOUT_RACK": str(tmp_path / "rack"),
        "PLOTOUT_JOBS": str(tmp_path / "jobs"),
        "PLOTOUT_MACHINES": str(tmp_path / "machines"),
    }
    for words in _commands(text):
        if (words in LONG) != bool(only):
            continue
        laid = words.split()[0] in ("make", "page", "picture") and "--seconds" not in words
        quick = ["--seconds", "0"] if laid else []
        typed = words if only else re.sub(r"--seconds \d+", "--seconds 0", words)
        done = running.plotout(*shlex.split(typed), *quick, cwd=tmp_path, env=env)
        assert done.returncode == 0, f"plotout {words}\n{done.stderr}"


@pytest.mark.parametrize("guide", GUIDES, ids=lambda path: path.stem)
def test_every_command_that_a_guide_names_has_help(guide):
    for name in sorted(set(re.findall(r"`plotout (\w+)", guide.read_text()))):
        done = running.plotout(name, "--help")
        assert done.returncode == 0, done.stderr
        assert "Example: plotout " in done.stdout


def test_pages_and_pictures_that_are_named_are_there():
    for page in [ROOT / "README.md", ROOT / "DEVELOPERS.md", *GUIDES]:
        for path in re.findall(r"\]\(([\w./-]+)\)", page.read_text()):
            assert (page.parent / path).exists(), f"{page.name} names {path}"
