"""check and show, as a person calls them, on sets made wrong on purpose."""

from __future__ import annotations

import functools
import json
import re
import sys
from pathlib import Path

import numpy as np
import plotout_dxf
import plotout_pricks
import plotout_svg
import pytest
from click.testing import CliRunner

from plotout import plugins
from plotout.cli import main, plotout
from plotout.errors import UserError

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"


@pytest.fixture(autouse=True)
def _readers(monkeypatch: pytest.MonkeyPatch) -> None:
    """The readers of the tree, whether or not the package is installed."""
    modules = (plotout_pricks, plotout_svg, plotout_dxf)
    found = tuple(reader for module in modules for reader in module.plotout_readers())
    monkeypatch.setattr(plugins, "readers", lambda: found)


def run(*words: object):  # type: ignore[no-untyped-def]
    return CliRunner().invoke(plotout, [str(word) for word in words])


@functools.cache
def of_sample(command: str, *words: object):  # type: ignore[no-untyped-def]
    """Run a command that changes nothing on the sample: once for all tests that look at it."""
    return run(command, SAMPLE, *words)


def exit_code(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    """The exit code of the real `plotout` command."""
    monkeypatch.setattr(sys, "argv", ["plotout", *map(str, words)])
    with pytest.raises(SystemExit) as left:
        main()
    return int(left.value.code or 0)


def body(neck_tilt: float = 0.0, stray: float = 0.0) -> str:
    """Pricks of a front, 200 x 300, with a quarter-circle neck of radius 80 at its upper left."""
    rows = ["x,y,run,kind"]

    def straight(name: str, start: tuple[float, float], end: tuple[float, float]) -> None:
        for share in np.linspace(0.02, 0.98, 9):
            x, y = np.array(start) + share * (np.array(end) - start)
            rows.append(f"{x:.3f},{y:.3f},{name},straight")

    straight("hem", (0, 0), (200, 0))
    straight("side", (200, 0), (200, 300))
    straight("shoulder", (200, 300), (80 + 80 * np.sin(np.radians(neck_tilt)), 300))
    # a circle of radius 80 about (80 sin tilt, 300) meets x = 0 just `neck_tilt` degrees off square
    across = 80 * np.sin(np.radians(neck_tilt))
    for nth, angle in enumerate(np.radians(np.linspace(0.0, 90.0 + neck_tilt, 15))):
        x, y = across + 80 * np.cos(angle), 300 - 80 * np.sin(angle)
        rows.append(f"{x:.3f},{y + stray * (nth == 7):.3f},neck,curve")
    low = 300 - 80 * np.cos(np.radians(neck_tilt))
    straight("centre", (0, low), (0, 0))
    return "\n".join(rows) + "\n"


def written(tmp_path: Path, text: str, **drawings: str) -> Path:
    for name, rows in drawings.items():
        (tmp_path / f"{name}.csv").write_text(rows)
    path = tmp_path / "set.toml"
    path.write_text('[set]\nname = "Trial"\nstyle = "T-1"\n' + text)
    return path


BODY = (
    '[[piece]]\nname = "Body"\nfrom = { file = "body.csv" }\n'
    '[[piece.true]]\nsquare = ["neck", "centre"]\n'
)


def test_the_sample_matches() -> None:
    done = of_sample("check", "--json")
    assert done.exit_code == 0, done.output
    report = json.loads(done.output)
    assert report["good"]
    assert not report["faults"]
    assert len(report["seams"]) >= 8


def test_a_neck_that_is_not_square_is_named_with_its_size(tmp_path: Path) -> None:
    assert run("check", written(tmp_path, BODY, body=body())).exit_code == 0
    path = written(tmp_path, BODY, body=body(neck_tilt=6.0))
    done = run("check", path)
    assert done.exit_code == 2
    assert "Fault: Body: square: neck and centre" in done.output
    truing = json.loads(run("check", path, "--json").output)["truing"][0]
    assert not truing["good"]
    # 6 degrees over 25 mm, as near as a curve fitted through 15 pricks gives it
    assert truing["before_mm"] == pytest.approx(25 * np.sin(np.radians(6.0)), abs=0.25)


def test_the_command_itself_exits_with_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert exit_code(monkeypatch, "check", written(tmp_path, BODY, body=body())) == 0
    assert exit_code(monkeypatch, "check", written(tmp_path, BODY, body=body(neck_tilt=6.0))) == 2
    assert exit_code(monkeypatch, "check", tmp_path / "none.toml") == 2
    assert "can't read the set file" in capsys.readouterr().err


def test_a_stray_prick_is_named_with_its_size(tmp_path: Path) -> None:
    done = run("check", written(tmp_path, BODY, body=body(stray=4.0)))
    assert "prick" in done.output
    assert "'neck'" in done.output
    assert "left out" in done.output


def test_how_sure_a_length_is_stands_beside_it(tmp_path: Path) -> None:
    """Blank for what was drawn, mm for what was pricked; and what a seam needs is told."""
    shown = json.loads(of_sample("show", "--json").output)["pieces"]
    known = {
        f"{piece['name']} {edge['name']}": edge["known_to_mm"]
        for piece in shown
        for edge in piece["edges"]
    }
    assert 0.2 < known["Body neck"] < 1.5
    assert known["Sleeve head"] == 0.0
    assert "±" in of_sample("show", "--piece", "Body").output
    assert "±" not in of_sample("show", "--piece", "Sleeve").output
    seam = (
        '[[piece]]\nname = "Other"\nfrom = { file = "body.csv" }\n'
        '[[seam]]\nname = "side"\nfirst = { piece = "Body", edges = ["neck"] }\n'
        'second = { piece = "Other", edges = ["neck"] }\n[defaults]\ntolerance = 0.1\n'
    )
    path = written(tmp_path, BODY + seam, body=body(stray=0.6))  # 0.6 mm is scatter
    told = run("check", path).output
    assert "NOT SURE" in told
    assert "can't show to 0.1 mm whether it matches" in told
    assert "Everything that was checked matches" not in told
    report = json.loads(run("check", path, "--json").output)["seams"][0]
    assert (report["good"], report["sure"]) == (False, False)
    assert report["known_to_mm"] > 0.1


def test_a_sample_with_a_short_band_fails(tmp_path: Path) -> None:
    for drawing in filter(Path.is_file, SAMPLE.parent.iterdir()):
        (tmp_path / drawing.name).write_bytes(drawing.read_bytes())
    text = SAMPLE.read_text()
    head, seam = text.split('name = "neck"', 1)
    seam = seam.replace('ease = ["-2 mm", "3 mm"]', 'ease = ["-12 mm", "-8 mm"]', 1)
    (tmp_path / "set.toml").write_text(head + 'name = "neck"' + seam)
    done = run("check", tmp_path / "set.toml", "--size", "M")
    assert done.exit_code == 2
    assert "Fault: seam 'neck': " in done.output
    assert "mm too long: " in done.output
    assert "ease at most -8 mm" in done.output


def test_show_lists_edges_with_lengths_and_ends() -> None:
    report = json.loads(of_sample("show", "--json").output)
    pocket = next(piece for piece in report["pieces"] if piece["name"] == "Pocket")
    foot = pocket["edges"][0]
    assert (foot["name"], foot["length_mm"]) == ("foot", 120.0)
    assert (foot["from_mm"], foot["to_mm"]) == ([30.0, 0.0], [150.0, 0.0])
    facing = next(piece for piece in report["pieces"] if piece["name"] == "Neck facing")
    assert facing["parent"] == "Body"
    assert "Pocket" in of_sample("show", "--piece", "Pocket").output
    shown = of_sample("show", "--piece", "Body").output
    assert "grain line from 60.0, 837.9 to 60.0, 1333.8" in shown
    assert "drill hole of 3 mm at 200.0, 330.0" in shown  # as set.toml has it
    shown = of_sample("show", "--piece", "Sleeve").output
    assert "internal line 'sleeve-elbow', 174.0 mm, from 20.0, 180.0 to 20.0, 310.0" in shown
    with pytest.raises(UserError, match="Pocket"):
        CliRunner().invoke(
            plotout, ["show", str(SAMPLE), "--piece", "Poket"], catch_exceptions=False
        )


def test_show_numbers_edges_that_have_no_names_yet(tmp_path: Path) -> None:
    text = SAMPLE.read_text()
    piece = text[text.index('[[piece]]\nname = "Gusset"') : text.index('[[piece]]\nname = "Neck b')]
    lines = [line for line in piece.splitlines() if not line.startswith("edges")]
    (tmp_path / "bands.dxf").write_bytes((SAMPLE.parent / "bands.dxf").read_bytes())
    report = json.loads(run("show", written(tmp_path, "\n".join(lines)), "--json").output)
    assert [edge["name"] for edge in report["pieces"][0]["edges"]] == ["1", "2", "3", "4"]


@pytest.mark.parametrize("command", ["check", "show"])
def test_help_has_an_example(command: str) -> None:
    assert f"Example: plotout {command} samples/" in run(command, "--help").output


BAND = (
    BODY.replace("{", "{{").replace("}", "}}") + '[[piece.notch]]\nedge = "hem"\nat = "60 mm"\n'
    '[[piece]]\nname = "Band"\nfrom = {{ file = "band.csv" }}\n'
    '[[piece.notch]]\nedge = "upper"\nat = "{notch} mm"\nfrom = "end"\n'
    '[[seam]]\nname = "hem"\nfirst = {{ piece = "Band", edges = ["-upper"] }}\n'
    'second = {{ piece = "Body", edges = ["hem"] }}\n'
)


def band(size: float) -> str:
    corners = {"lower": (0, 0), "end": (size, 0), "upper": (size, 50), "start": (0, 50)}
    rows, ends = ["x,y,run,kind"], list(corners.values())
    for nth, name in enumerate(corners):
        for share in (0.1, 0.5, 0.9):
            x, y = np.array(ends[nth]) * (1 - share) + np.array(ends[(nth + 1) % 4]) * share
            rows.append(f"{x:.3f},{y:.3f},{name},straight")
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("size", "notch", "told"),
    [
        (200.0, 60.0, ""),
        (194.0, 60.0, "6.0 mm too short: 194.0 mm of 'Band' to 200.0 mm of 'Body'"),
        (200.0, 64.0, "notch 4.0 mm off: at 64.0 mm of 'Band', at 60.0 mm of 'Body'"),
    ],
)
def test_a_short_band_and_a_notch_out_of_place_are_named_with_their_size(
    tmp_path: Path, size: float, notch: float, told: str
) -> None:
    """Sets made wrong on purpose: a band 6 mm short, a notch 4 mm off."""
    done = run("check", written(tmp_path, BAND.format(notch=notch), body=body(), band=band(size)))
    assert done.exit_code == (2 if told else 0), done.output
    assert (f"Fault: seam 'hem': {told}" if told else "Everything that was checked") in done.output


def test_a_seam_that_a_note_asks_about_is_not_called_good(tmp_path: Path) -> None:
    """Two of one piece to one of the other, by hand: the lengths match, the numbers are asked."""
    text = "".join(
        f'[[piece]]\nname = "{name}"\nrectangle = ["200 mm", "100 mm"]\n'
        f'cut = [{{ cloth = "self", count = {count}, pair = {pair} }}]\n'
        for name, count, pair in (("Front", 1, "false"), ("Back", 1, "true"))
    )
    text += (
        '[[seam]]\nname = "hem"\nfirst = { piece = "Front", edges = ["-bottom"] }\n'
        'second = { piece = "Back", edges = ["bottom"] }\n'
    )
    done = run("check", written(tmp_path, text))
    assert re.search(r"hem .* see note\n", done.output), done.output
    assert "matches; the notes ask about: hem." in done.output
    assert done.exit_code == 0


def test_a_stray_of_3_1_mm_is_named_with_its_size(tmp_path: Path) -> None:
    up = 3.1 * np.sqrt(2.0)  # the neck runs at 45 degrees there: 3.1 mm off it
    done = run("check", written(tmp_path, BODY, body=body(stray=up)))
    told = re.search(r"Note: Body: prick 8 of 'neck' lies ([\d.]+) mm off; left out", done.output)
    assert told
    assert float(told[1]) == pytest.approx(3.1, abs=0.15)


def test_all_sizes_may_be_asked_for_by_name(tmp_path: Path) -> None:
    """As other commands take `--size all`."""
    text = (
        '[sizes]\nbase = "M"\nrange = ["M", "L"]\n[sizes.measure]\nlength = "15 mm"\n'
        + BODY
        + '[[seam]]\nname = "shoulder"\nfirst = { piece = "Body", edges = ["shoulder"] }\n'
        'second = { piece = "Body", edges = ["shoulder"] }\n'
    )
    path = written(tmp_path, text, body=body())
    usual, named = run("check", path), run("check", path, "--size", "all")
    assert (named.exit_code, named.output) == (usual.exit_code, usual.output)
    assert "Seams by size" in named.output
