"""The sample put, changed, put again, compared, recut, and brought to another rack."""

import json

from click.testing import CliRunner

from plotout.cli.rack_command import rack as rack_command


def _run(tmp_path, *words, code=0, rack="rack.sqlite"):
    done = CliRunner().invoke(rack_command, ["--at", str(tmp_path / rack), *map(str, words)])
    assert done.exit_code == code, (done.output, done.exception)
    return done.output


def test_the_life_of_a_set(sample, tmp_path):
    _run(tmp_path, "put", sample, "--place", "hook 12", "--machine", "craft-cutter")
    text = sample.read_text()
    wider = text.replace('width = "45 mm"', 'width = "50 mm"')
    gone = wider.replace(
        'name = "Loop"\n', 'name = "Tab"\n'
    ).replace('allowance = "8 mm"', 'allowance = "9 mm"')  # fmt: skip
    sample.write_text(gone)
    told = _run(tmp_path, "put", sample, "--place", "hook 12", "--machine", "craft-cutter")
    assert "BK-01:M:2" in told
    assert "Loop: piece dropped" in told
    assert "Tab: piece added" in told
    assert "Elbow patch: allowance of 'edge': 8 mm is now 9 mm" in told

    changes = json.loads(
        _run(
            tmp_path, "compare", "BK-01:M:1", "BK-01:M:2", "--json", "--picture", tmp_path / "c.png"
        )
    )
    assert {c["what"] for c in changes} >= {"added", "dropped", "allowance"}
    assert (tmp_path / "c.png").read_bytes().startswith(b"\x89PNG")

    again = tmp_path / "again"
    _run(tmp_path, "recut", "BK-01:M:1", "--card", "gusset", "--out", again, "--seconds", "0")
    assert len(list(again.glob("*.plt"))) == 1
    shown = json.loads(_run(tmp_path, "show", "BK-01:M:1", "--json"))
    assert shown["cut"][0]["what"] == "files made for gusset"
    assert all(not seam["faults"] for seam in shown["seams"])

    _run(tmp_path, "export", "BK-01:M:2", "--out", tmp_path / "smock.zip")
    _run(tmp_path, "bring", tmp_path / "smock.zip", rack="other.sqlite")
    assert json.loads(_run(tmp_path, "check", "--json", rack="other.sqlite"))["good"]


def test_recut_gives_the_same_bytes(sample, tmp_path):
    _run(tmp_path, "put", sample, "--machine", "craft-cutter")
    for name in ("one", "two"):
        _run(tmp_path, "recut", "BK-01", "--out", tmp_path / name, "--seconds", "0")
    first = {p.name: p.read_bytes() for p in (tmp_path / "one").iterdir()}
    assert first == {p.name: p.read_bytes() for p in (tmp_path / "two").iterdir()}
    assert first
