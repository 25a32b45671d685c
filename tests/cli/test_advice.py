"""What several lines of a review advise is read once. The angles are by hand: 10 mm in 200."""

from click.testing import CliRunner

from plotout.cli import plotout

SKIRT = """[[piece]]
name = "{name}"
points = [[0, {low}], [200, 0], [200, 300], [0, 300]]
edges = ["hem", "side", "waist", "centre"]
fold = "centre"
grain = {{ along = "centre", inset = 30 }}
cut = {{ cloth = "self", on-fold = true }}
{more}
"""


def checked(tmp_path, more=""):
    path = tmp_path / "set.toml"
    pieces = (SKIRT.format(name=name, low=low, more=more) for name, low in (("A", 10), ("B", -10)))
    path.write_text('[set]\nname = "Skirt"\nstyle = "SK-1"\n' + "".join(pieces))
    return CliRunner().invoke(plotout, ["check", str(path)]).output.splitlines()


def test_what_notes_advise_is_said_once_and_each_still_asks(tmp_path):
    notes = [line for line in checked(tmp_path) if "is it to be square?" in line]
    assert [line.split(":")[1].strip() for line in notes] == ["A", "B"]
    assert notes[0].endswith("is it to be square? [[piece.true]] makes it so")
    assert notes[1].endswith("is it to be square?")


def test_what_faults_advise_is_said_once_and_each_keeps_its_line(tmp_path):
    lines = checked(tmp_path, 'edge.centre.allowance = "10 mm"')
    faults = [line for line in lines if line.startswith("Fault: ")]
    problem = "'centre' lies on the fold, so it can have no allowance"
    advice = "Remove its allowance, or name another edge as the fold."
    assert faults[0].startswith(f"Fault: A: {problem}. {advice} (line ")
    assert faults[1].startswith(f"Fault: B: {problem} (line ")
