"""Profiles: what is shipped loads; what is wrong is refused with its line and the reason."""

from __future__ import annotations

import pytest

from plotout import job
from plotout.errors import UserError
from plotout.geometry.strokes import Work
from plotout.machine import ToolKind, caution, profile

GOOD = """title = "Cutter"
kind = "knife"
driver = "hpgl"
gap = "4 mm"
[bed]
length = "24 in"
width = "12 in"
[motion]
travel-speed = "25 cm/s"
[[tools]]
name = "pen"
number = 1
kind = "pen"
does = ["draw"]
speed = 100
[[tools]]
name = "blade"
number = 2
kind = "trailing blade"
does = ["cut"]
speed = "3 m/min"
force = "2 N"
swivel-force = "60 gf"
offset = "0.45 mm"
"""


def wrong(tmp_path, old, new):
    assert old in GOOD
    file = tmp_path / "mine.toml"
    file.write_text(GOOD.replace(old, new))
    with pytest.raises(UserError) as caught:
        profile.load(file)
    return caught.value


def test_every_shipped_profile_loads_and_has_its_cautions():
    names = {path.stem for path in profile.shipped()}
    assert names == {"craft-cutter", "roll-plotter", "gantry-knife", "laser", "router", "home-a4",
                     "home-letter", "copy-shop", "svg-file", "dxf-file"}  # fmt: skip
    for name in names:
        machine = profile.load(name)
        assert machine.tool_for(Work.DRAW) is not None
        assert machine.tool_for(Work.CUT) is not None
        if machine.kind in ("knife", "laser", "router", "pen"):
            first = caution(machine)[0]
            assert all(word in first for word in ("manual", "local rules", "licensed practice"))


def test_the_beds_that_their_names_promise():
    """1 in = 25.4 mm (international yard and pound agreement, 1959)."""
    assert profile.load("craft-cutter").bed.length == pytest.approx(24 * 25.4)
    assert profile.load("craft-cutter").bed.width == pytest.approx(12 * 25.4)
    assert profile.load("roll-plotter").bed.width == pytest.approx(36 * 25.4)


def test_units(tmp_path):
    """A newton is 101.97 grams-force: standard gravity, 9.80665 m/s2 (CGPM 1901)."""
    file = tmp_path / "mine.toml"
    file.write_text(GOOD)
    machine = profile.load(file)
    blade = machine.tool_for(Work.CUT)
    assert machine.motion.travel_speed == pytest.approx(250.0)
    assert blade.speed == pytest.approx(50.0)
    assert blade.force == pytest.approx(203.943, abs=0.001)
    assert blade.kind is ToolKind.TRAILING_BLADE
    assert machine.bed.length == pytest.approx(609.6)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('offset = "0.45 mm"', 'offset = "12 mm"', 24, ["12 mm", "1.5 mm"]),
        ('force = "2 N"', 'force = "-20 gf"', 22, ["negative"]),
        ('speed = "3 m/min"', "speed = 600", 21, ["more than the axes' speed", "250"]),
        ("speed = 100", 'speed = "100 mm"', 15, ["'mm' is not a unit"]),
        ("speed = 100", "sped = 100", 15, ["sped", "speed"]),
        ('kind = "trailing blade"', 'kind = "trailing blad"', 19, ["mean 'trailing blade'"]),
        ('does = ["cut"]', 'does = ["cuts"]', 20, ["Did you mean 'cut'"]),
        ('kind = "knife"', 'kind = "knive"', 2, ["Did you mean 'knife'"]),
        ("travel-speed", "travel-sped", 9, ["Did you mean 'travel-speed'"]),
        ('length = "24 in"', 'length = "24 inchs"', 6, ["inchs"]),
        ('length = "24 in"', "length = 0", 6, ["more than 0"]),
        ('width = "12 in"', 'width = "12 in"\nmargins = "200 mm"', 8, ["nothing of the bed"]),
        ('offset = "0.45 mm"', 'overcut = "1 mm"', 16, ["needs its offset"]),
        ('swivel-force = "60 gf"', 'swivel-force = "600 gf"', 23, ["more than the force"]),
        ('name = "blade"', 'name = "pen"', 17, ["two tools"]),
        ("speed = 100", 'speed = 100\nkerf = "0.2 mm"', 16, ["no width"]),
        ('offset = "0.45 mm"', 'offset = "0.45 mm"\ncorner-overcut = "3 mm"', 25, ["gap of 4 mm"]),
        ('offset = "0.45 mm"', 'offset = "0.45 mm"\ncorner-overcut = "1 mm"\ntabs = 3', 25,
         ["held by tabs is cut in stretches"]),
        ("number = 1", "number = 1.5", 12, ["whole number"]),
        ('title = "Cutter"', "", None, ["'title' is missing"]),
        ("speed = 100", "speed = nan", 15, ["not a finite number"]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused_with_line_and_reason(tmp_path, old, new, line, words):
    fault = wrong(tmp_path, old, new)
    if line is not None:
        assert fault.place.line == line
    for word in words:
        assert word in str(fault)


def test_not_toml_not_there_and_unknown(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text("title = ")
    with pytest.raises(UserError, match="not TOML"):
        profile.load(file)
    with pytest.raises(UserError, match="can't read"):
        profile.load(tmp_path / "other.toml")
    with pytest.raises(UserError, match="Did you mean 'laser'"):
        profile.load("lazer")


def test_the_users_own_come_first(tmp_path, monkeypatch):
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path))
    (tmp_path / "laser.toml").write_text(GOOD)
    assert profile.load("laser").title == "Cutter"
    monkeypatch.setenv("PLOTOUT_MACHINES", str(tmp_path / "none"))
    assert profile.load("laser").title != "Cutter"


@pytest.mark.parametrize(
    ("name", "key", "meant"),
    [("laser", "unit", "units"), ("router", "plunges", "plunge"), ("home-a4", "bycard", "by-card"),
     ("craft-cutter", "polyline", "polylines"), ("copy-shop", "bands", "band")],
)  # fmt: skip
def test_an_option_that_the_driver_does_not_know_is_refused(tmp_path, name, key, meant):
    text = profile.find(name).read_text()
    if "[options]" not in text:
        text += "\n[options]\n"
    file = tmp_path / "mine.toml"
    file.write_text(text.replace("[options]", f'[options]\n{key} = "mm"'))
    with pytest.raises(UserError, match=f"no field '{key}'") as caught:
        job.load_machine(str(file))
    assert meant in caught.value.fix
