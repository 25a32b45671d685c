"""The whole way, as a user goes it: the sample for every machine that plotout ships."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
import running

from plotout.machine import profile
from plotout.review.common_warnings import card_warnings

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "samples" / "beekeepers-smock" / "set.toml"
MACHINES = sorted(path.stem for path in profile.shipped())


FEW = [f"--card={name}" for name in ("pocket", "neck-facing", "gusset", "contents")]


def run(*words, code=0):
    done = running.plotout(*words)
    assert done.returncode == code, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return done


def made(tmp_path, machine, *more):
    words = ("make", SAMPLE, "--machine", machine, "--out", tmp_path, "--seconds", 0, "--json")
    return json.loads(run(*words, *more).stdout)


OFTEN = ("craft-cutter", "dxf-file", "home-a4", "laser")  # of each kind, one


@pytest.mark.parametrize(
    "machine",
    [pytest.param(name, marks=[] if name in OFTEN else pytest.mark.thorough) for name in MACHINES],
)
def test_every_machine_is_served(tmp_path, machine):
    """A few cards; the whole sample goes to every machine in tests/bench/file_truth.py."""
    report = made(tmp_path, machine, *FEW)
    assert report["machine"] == machine
    assert {piece["name"] for piece in report["pieces"]} >= {"Neck facing", "Gusset", "Contents"}
    for sheet in report["sheets"]:
        assert not sheet["faults"]
        stem = sheet["file"].split(".")[0]
        for suffix in (".png", ".svg"):
            assert (tmp_path / (stem + suffix)).stat().st_size > 1000
        assert (tmp_path / sheet["file"]).stat().st_size > 1000
        assert sheet["travel_mm"] <= sheet["travel_as_read_mm"]
        assert sheet["seconds"] > 0
    assert 0 < report["use_percent"] < 100


def test_report_has_all_that_is_promised_and_same_input_gives_same_bytes(tmp_path):
    """The names that scripts rely on."""
    report, _ = (made(tmp_path / name, "roll-plotter", *FEW) for name in ("one", "two"))
    assert set(report) >= {"set", "machine", "pieces", "sheets", "use_percent", "notes"}
    assert set(report["pieces"][0]) >= {"name", "cards", "area_mm2", "perimeter_mm", "hole_mm"}
    assert set(report["sheets"][0]) >= {
        "file", "width_mm", "height_mm", "strokes", "work_mm", "travel_mm", "travel_as_read_mm",
        "seconds",
    }  # fmt: skip
    first = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    second = {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}
    assert first == second


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            ('edges = ["head"]', 'edges = ["haed"]'),
            ["set.toml, line", "haed", "Did you mean 'head'"],
        ),
        (('depth = "5 mm"', 'depth = "5 ells"'), ["set.toml, line", "ells"]),
        (("[[seam]]", "[[seem]]"), ["set.toml, line", "seem", "seam"]),
        (('file = "body.csv"', 'file = "bdy.csv"'), ["bdy.csv"]),
    ],
)
def test_slips_are_told_with_their_line(tmp_path, change, words):
    for path in SAMPLE.parent.iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    text = SAMPLE.read_text()
    assert change[0] in text
    (tmp_path / "set.toml").write_text(text.replace(*change, 1))
    out = tmp_path / "out"
    done = run("make", tmp_path / "set.toml", "--machine", "laser", "--out", out, code=2)
    for each in words:
        assert each in done.stderr
    assert not out.exists()


def test_unknown_machine_and_missing_set(tmp_path):
    done = run("make", SAMPLE, "--machine", "lasr", "--out", tmp_path, code=2)
    assert "Did you mean 'laser'" in done.stderr
    done = run("make", tmp_path / "no.toml", "--machine", "laser", "--out", tmp_path, code=2)
    assert "no.toml" in done.stderr


def test_a_card_by_itself_and_a_wrong_one(tmp_path):
    report = made(tmp_path, "laser", "--card", "gusset")
    assert [sheet["cards"] for sheet in report["sheets"]] == [["gusset"]]
    done = run("make", SAMPLE, "--machine", "laser", "--out", tmp_path, "--card", "guset", code=2)
    assert "Did you mean 'gusset'" in done.stderr


def test_a_folder_that_cannot_be_written(tmp_path):
    target = tmp_path / "file"
    target.write_text("in the way")
    words = ("make", SAMPLE, "--machine", "svg-file", "--out", target, "--seconds", 0)
    done = run(*words, code=2)
    assert "it is a file, not a folder" in done.stderr
    assert target.read_text() == "in the way"


SHORT = """
[[seam]]
name = "band"
first = { piece = "A", edges = ["foot"] }
second = { piece = "A", edges = ["right"] }
[[seam]]
name = "side"
first = { piece = "A", edges = ["top"] }
second = { piece = "A", edges = ["left"] }
"""


def test_make_says_what_check_knows_and_strict_refuses(tmp_path):
    """Two seams 50 mm too long, by hand: 200 to 150 mm."""
    ring = {"foot": (200, 0), "right": (200, 150), "top": (0, 150), "left": (0, 0)}
    rows, at = ["x,y,run,kind"], (0, 0)
    for name, to in ring.items():
        for share in (0.1, 0.9):
            x, y = (a + (b - a) * share for a, b in zip(at, to, strict=True))
            rows.append(f"{x},{y},{name},straight")
        at = to
    (tmp_path / "a.csv").write_text("\n".join(rows))
    source = tmp_path / "set.toml"
    source.write_text(
        '[set]\nname = "Apron"\nstyle = "AP-01"\n[[piece]]\nname = "A"\nfrom = { file = "a.csv" }\n'
        'cut = [{ cloth = "self" }]\n' + SHORT
    )
    told = [
        f"seam '{seam}': 50.0 mm too long: 200.0 mm of 'A' to 150.0 mm of 'A', ease at most 0 mm"
        for seam in ("band", "side")
    ]
    words = ("make", source, "--machine", "svg-file", "--seconds", 0, "--out")
    checked = run("check", source, code=2).stdout
    done = run(*words, tmp_path / "out").stdout
    for text in told:
        assert f"Fault: {text}" in checked
        assert f"Fault: {text}" in done
    assert "Note: A: it has no grain line" in done
    refused = run(*words, tmp_path / "no", "--strict", code=2).stderr
    assert all(text in refused for text in told)
    notes = [line for line in checked.splitlines() if line.startswith("Note: ")]
    assert notes
    assert set(notes) <= set(refused.splitlines())
    report = json.loads(run(*words, tmp_path / "no", "--strict", "--json", code=2).stdout)
    assert report["notes"] == [line.removeprefix("Note: ") for line in notes]
    assert not (tmp_path / "no").exists()


def test_a_set_that_cannot_be_made_is_refused_with_its_notes(tmp_path):
    """Two holes in one place can't be cut; that the other piece has no grain line is said too."""
    piece = '[[piece]]\nname = "{}"\nrectangle = ["120 mm", "90 mm"]\n'
    piece += 'cut = [{{ cloth = "self" }}]\n'
    holes = "[[piece.drill]]\nat = [50, 50]\n[[piece.drill]]\nat = [52, 50]\n"
    sizes = '[sizes]\nbase = "M"\nrange = ["S", "M"]\n'
    head = '[set]\nname = "Apron"\nstyle = "AP-01"\n'
    note = "B: it has no grain line: write grain = { along = EDGE }, or give two points"
    for more in ("", sizes):
        source = tmp_path / "set.toml"
        source.write_text(head + more + piece.format("A") + holes + piece.format("B"))
        size = ("--size", "all", "--together") if more else ()
        make = ("make", source, "--machine", "svg-file", "--out", tmp_path / "no", *size)
        cloth = ("cloth", source, "--width", "140 cm")
        for words in (make, (*make, "--strict"), cloth):
            told = run(*words, code=2).stderr
            assert f"Note: {note}\n" in told
            assert "drill hole" in told
            assert told.index("Note: ") < told.index("plotout: ")
            report = json.loads(run(*words, "--json", code=2).stdout)
            assert note in report["notes"]


def test_papers_of_a_set_say_what_check_knows(tmp_path):
    """A seam of 200 to 150 mm, an order on a missing fold: as put into the set file by hand."""
    pieces = (
        '[[piece]]\nname = "{}"\nrectangle = ["{} mm", "90 mm"]\ngrain = {{ along = "left" }}\n'
        'cut = [{{ cloth = "self"{} }}]\n'
    )
    seam = 'first = { piece = "A", edges = "top" }\nsecond = { piece = "B", edges = "bottom" }\n'
    seam = '[[seam]]\nname = "band"\n' + seam
    head = '[set]\nname = "Apron"\nstyle = "AP-01"\n'
    source = tmp_path / "set.toml"
    source.write_text(head + pieces.format("A", 200, "") + pieces.format("B", 150, "") + seam)
    told = "seam 'band': 50.0 mm too long: 200.0 mm of 'A' to 150.0 mm of 'B', ease at most 0 mm"
    cloth = ("cloth", source, "--width", "140 cm", "--seconds", 0)
    commands = (cloth, ("chart", source, "--out", tmp_path / "chart"))
    for command in commands:
        assert f"Fault: {told}" in run(*command).stdout
        assert json.loads(run(*command, "--json").stdout)["faults"] == [told]
    no_fold = pieces.format("A", 200, ", on-fold = true")
    source.write_text(head + no_fold + pieces.format("B", 150, "") + seam)
    for command in commands:
        refused = run(*command, code=2).stderr
        assert "no edge of the piece lies on the fold" in refused
        assert told in refused


def test_what_several_cards_have_in_common_is_told_once():
    cards = [SimpleNamespace(title=title, warnings=("a", f"b {title}")) for title in ("Bib", "Tie")]
    assert card_warnings(cards) == ["Bib; Tie: a", "Bib: b Bib", "Tie: b Tie"]
    more = SimpleNamespace(title="Cap", warnings=("a",))
    assert card_warnings([*cards, more])[0] == "every card: a"
