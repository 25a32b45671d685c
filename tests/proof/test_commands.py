"""page, picture and proof as a user runs them, on the sample."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from plotout.cli.page_command import page
from plotout.cli.picture_command import picture
from plotout.cli.proof_command import proof
from plotout.errors import UserError

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"


def _run(command, *words):
    done = CliRunner().invoke(command, [str(word) for word in words])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def test_page_is_one_small_file(tmp_path):
    target = tmp_path / "proof.html"
    _run(page, SAMPLE, "--machine", "craft-cutter", "--out", target, "--seconds", 0)
    text = target.read_text()
    assert target.stat().st_size < 3_000_000
    assert "Beekeeper" in text
    for outside in ("http://", "https://", "src=", "@import"):
        assert outside not in text.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize(
    ("stage", "of"), [("piece", "Pocket"), ("card", "gusset"), ("sheet", "1"), ("program", "1")]
)
def test_a_picture_of_every_stage(tmp_path, stage, of):
    words = ("--stage", stage, "--of", of, "--out", tmp_path, "--format", "both", "--seconds", 0)
    more = ("--machine", "svg-file") if stage in ("sheet", "program") else ()
    _run(picture, SAMPLE, *words, *more)
    (png,) = tmp_path.glob("*.png")
    (svg,) = tmp_path.glob("*.svg")
    assert png.read_bytes().startswith(b"\x89PNG")
    assert svg.read_text().startswith(("<svg", "<?xml"))


def test_what_a_picture_is_not_of(tmp_path):
    with pytest.raises(UserError, match="Pokket"):
        _run(picture, SAMPLE, "--stage", "piece", "--of", "Pokket", "--out", tmp_path)


def test_a_summary_of_a_file_from_elsewhere(tmp_path):
    """A 40 mm line at 20 mm/s, written by hand from the HP 7550A manual's instructions."""
    path = tmp_path / "elsewhere.plt"
    path.write_bytes(b"IN;SP1;VS2;PU400,400;PD2000,400;PU;SP0;")
    told = json.loads(_run(proof, path, "--machine", "craft-cutter", "--json").output)
    assert told["work_mm"] == pytest.approx(40.0)
    assert "unknown" in told
