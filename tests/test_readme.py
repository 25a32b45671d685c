"""What the README says is so."""

import re
import shlex
from pathlib import Path

import pytest
import running

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
BLOCKS = re.findall(r"```(\w*)\n(.*?)```", README, re.DOTALL)


def test_first_command_makes_the_sample(tmp_path):
    """The README's own words from `plotout` on; pip and venv are CI's part of it."""
    command = next(body for kind, body in BLOCKS if kind == "sh")
    words = shlex.split(command.split(".venv/bin/plotout ")[1])
    words[words.index("out")] = str(tmp_path)
    done = running.plotout(*words, "--seconds", "0")
    assert done.returncode == 0, done.stderr
    for sheet in (sheets := sorted(tmp_path.glob("*.plt"))):
        assert sheet.with_suffix(".png").exists()
    assert sheets


def test_smallest_set_works(tmp_path):
    """The set and the pricks that the README prints, made with nothing else."""
    toml = next(body for kind, body in BLOCKS if kind == "toml")
    csv = next(body for kind, body in BLOCKS if kind == "" and body.startswith("x,y,run"))
    (tmp_path / "apron.toml").write_text(toml)
    (tmp_path / "bib.csv").write_text(csv)
    done = running.plotout(
        "make", "apron.toml", "--machine", "home-a4", "--out", "out", "--seconds", "0", cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    assert list((tmp_path / "out").glob("*.pdf"))


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`plotout (\w+)", README))))
def test_every_command_has_help_with_an_example(name):
    done = running.plotout(name, "--help")
    assert done.returncode == 0, done.stderr
    assert "Example: plotout " in done.stdout


def test_picture_is_up_to_date(tmp_path):
    """The guide's own command draws it again; letters may fall a pixel otherwise elsewhere."""
    from PIL import Image, ImageChops, ImageStat

    guide = (ROOT / "samples" / "guides" / "sending.md").read_text()
    words = shlex.split(
        re.search(r"^    plotout (picture .*--stage sheet.*)$", guide, re.MULTILINE)[1]
    )
    words[words.index("pictures")] = str(tmp_path)
    done = running.plotout(*words)
    assert done.returncode == 0, done.stderr
    (drawn,) = tmp_path.glob("*.png")
    kept = Image.open(ROOT / "samples" / "beekeepers-smock" / "pictures" / "sheet.png")
    now = Image.open(drawn)
    assert now.size == kept.size
    off = ImageStat.Stat(ImageChops.difference(now.convert("L"), kept.convert("L"))).mean[0]
    assert off < 0.5


def test_paths_named_are_there():
    for path in re.findall(r"[`(]((?:samples|plotout|tests)/[\w./-]+)[`)]", README):
        assert (ROOT / path).exists(), path
