"""`plotout frame` and `plotout pricks` from outside, and a photo that a set file names."""

from __future__ import annotations

import dataclasses
import json
import shutil

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from PIL.ImageColor import getrgb
from plotout_photo.pictures import CORNER, CURVE, STRAIGHT

from plotout import UserError
from plotout.cli import plotout


def run(*words):
    return CliRunner().invoke(plotout, [str(word) for word in words], catch_exceptions=True)


@pytest.fixture
def own(photo, tmp_path):
    shutil.copy(photo, tmp_path / "sheet.jpg")
    return tmp_path / "sheet.jpg"


@pytest.fixture
def once(monkeypatch, surveyed):
    """The picture is read once for all: what is asked here is what becomes of the reading."""
    import plotout_photo.pictures
    import plotout_photo.reader

    monkeypatch.setattr(plotout_photo.reader, "survey", lambda paths, **_: surveyed)
    monkeypatch.setattr(plotout_photo.pictures, "pictures_of", lambda *_: {})


def test_pricks_writes_table_and_pictures(own):
    done = run("pricks", own, "--json")
    assert done.exit_code == 0, done.output
    told = json.loads(done.output)
    table = own.with_name("sheet-pricks.csv")
    assert table.read_text().splitlines()[3].startswith("x,y,run,kind,number,sure,error")
    for ending in ("photo", "true", "error"):
        assert own.with_name(f"sheet-pricks-{ending}.png").read_bytes()[:4] == b"\x89PNG"
    drawn = Image.open(own.with_name("sheet-pricks-photo.png")).convert("RGB")
    for colour in (STRAIGHT, CURVE, CORNER):
        assert getrgb(colour) in {value for _, value in drawn.getcolors(10**8)}
    assert len(told["runs"]) == len(told["corners"])
    assert all(each["seen_by"] == 1 for each in told["pricks"])


def test_corrections_are_kept_when_the_photo_is_read_again(own, once):
    """By option, and by hand in the table: a place, a name, a kind, a line less and one more."""
    run("pricks", own)
    table = own.with_name("sheet-pricks.csv")
    done = run("pricks", own, "--drop", "14", "--json")
    assert json.loads(done.output)["dropped"] == [14]
    lines = table.read_text().splitlines()
    rows = [k for k, line in enumerate(lines) if line[:1].isdigit() and "+" not in line]
    gone = lines.pop(rows[3]).split(",")[4]
    x, y, *rest = lines[rows[5]].split(",")
    lines[rows[5]] = ",".join([f"{float(x) + 0.4:.4f}", y, *rest])
    first = rest[0]
    lines = [line.replace(f",{first},", ",side seam,") if not line.startswith("#") else line
             for line in lines]  # fmt: skip
    table.write_text("\n".join(lines) + "\n")
    for _ in range(2):
        done = run("pricks", own, "--json")
        assert done.exit_code == 0, done.output
        told = json.loads(done.output)
        assert told["dropped"] == sorted([14, int(gone)])
        assert told["runs"][0]["name"] == "side seam"
        again = table.read_text()
        assert f"\n{float(x) + 0.4:.4f},{y},side seam" in again


def saved_by_a_spreadsheet(table):
    """Save a table as a spreadsheet does where decimals have a comma: common practice."""
    lines = []
    for line in table.read_text().splitlines():
        if line.startswith("#"):
            lines.append(line.replace(",", ";") + ";" * 9)
        else:
            lines.append(";".join(cell.replace(".", ",") if cell[:1].isdigit() else cell
                                  for cell in line.split(",")))  # fmt: skip
    table.write_bytes("\ufeff".encode() + "\r\n".join(lines).encode())


def test_corrections_are_kept_in_a_table_that_a_spreadsheet_saved(own, once):
    run("pricks", own, "--drop", "14")
    table = own.with_name("sheet-pricks.csv")
    x, y, name, *rest = next(
        line for line in table.read_text().splitlines() if line[:1].isdigit() and "+" not in line
    ).split(",")
    moved = ",".join([f"{float(x) + 0.4:.4f}", y, name, *rest])
    table.write_text(table.read_text().replace(",".join([x, y, name, *rest]), moved))
    saved_by_a_spreadsheet(table)
    done = run("pricks", own, "--json")
    assert done.exit_code == 0, done.output
    assert json.loads(done.output)["dropped"] == [14]
    assert f"\n{float(x) + 0.4:.4f},{y},{name}," in table.read_text()


def test_every_remark_that_a_person_is_told_is_in_the_plain_data(own, once, surveyed):
    from plotout_photo.reader import find

    from plotout.hookspecs import PricksWanted

    run = max(surveyed.way.runs, key=lambda run: len(run.groups))
    inner = surveyed.way.groups[run.groups[len(run.groups) // 2]].members[0] + 1
    found = find([own], PricksWanted(drop=(inner,)))
    _, *lines = found.told
    remarks = [line for line in lines if line[:2] != "  " and "pixels rms" not in line]
    assert found.report["remarks"] == remarks
    assert any("seems to be missing there" in remark for remark in remarks)
    assert any(remark == f"Left out by your choice: {inner}." for remark in remarks)


def test_all_missing_pricks_are_in_the_plain_data_and_eight_in_words(own, once, surveyed):
    """Of a run's pricks every fourth but one is dropped: one is missing in each such place."""
    from plotout_photo.reader import find

    from plotout.hookspecs import PricksWanted

    drop = [
        surveyed.way.groups[run.groups[k]].members[0] + 1
        for run in surveyed.way.runs for k in range(2, len(run.groups) - 2, 4)
    ]  # fmt: skip
    found = find([own], PricksWanted(drop=tuple(drop)))
    words, data = ([line for line in lines if "missing there" in line]
                   for lines in (found.told, found.report["remarks"]))  # fmt: skip
    assert len(words) == 8 < len(data)
    assert words == data[:8]
    assert f"So in {len(data) - 8} more places." in found.told
    assert not any(line.startswith("So in") for line in found.report["remarks"])


def test_a_corner_that_is_said_is_a_corner(own, once):
    told = json.loads(run("pricks", own, "--json").output)
    inner = told["runs"][0]["numbers"][8]
    again = json.loads(run("pricks", own, "--corner", inner, "--json").output)
    assert len(again["corners"]) == len(told["corners"]) + 1
    assert json.loads(run("pricks", own, "--json").output)["corners"] == again["corners"]
    rows = [line.split(",") for line in own.with_name("sheet-pricks.csv").read_text().splitlines()]
    said = next(row for row in rows if row[4:5] == [str(inner)])
    was = next(prick for prick in told["pricks"] if prick["number"] == inner)
    place = [float(text) for text in said[:2]]
    assert place == pytest.approx([was["x_mm"], was["y_mm"]], abs=0.001)
    assert float(said[6]) == pytest.approx(was["error_mm"], abs=0.011)


def test_a_set_file_names_the_photo(own, once):
    (own.parent / "set.toml").write_text(
        '[set]\nname = "Smock"\nstyle = "S"\nsize = "one"\n[[piece]]\nname = "Body"\n'
        'from = { file = "sheet.jpg" }\ncut = [{ cloth = "self", count = 2 }]\n'
    )
    done = run("show", own.with_name("set.toml"), "--json")
    assert done.exit_code == 0, done.output
    piece = json.loads(done.output)["pieces"][0]
    assert len(piece["edges"]) == len(json.loads(run("pricks", own, "--json").output)["runs"])


def test_files_of_somebody_else_stay_unless_force(own, monkeypatch):
    """What must hold is the project's own promise; the finder only gives two files to write."""
    from plotout import plugins
    from plotout.hookspecs import PricksFinder, PricksFound

    earlier = []

    def find(_photos, wanted):
        earlier.append(wanted.earlier)
        return PricksFound(b"new\n", {"-photo.png": b"picture"}, (), {})

    finder = PricksFinder("photo", (".jpg",), lambda _numbers: (), find)
    monkeypatch.setattr(plugins, "pricks_finder", lambda: finder)
    picture, table = (own.with_name(f"sheet-pricks{end}") for end in ("-photo.png", ".csv"))
    picture.write_bytes(b"mine")
    done = run("pricks", own)
    assert isinstance(done.exception, UserError)
    assert "plotout did not write it" in str(done.exception)
    assert picture.read_bytes() == b"mine"
    assert not table.exists()
    table.write_bytes(b"somebody's table")
    assert run("pricks", own, "--force").exit_code == 0
    assert (picture.read_bytes(), table.read_bytes()) == (b"picture", b"new\n")
    table.write_bytes(b"new, corrected\n")
    assert run("pricks", own).exit_code == 0  # corrections are read, and go on
    assert run("pricks", own, "--force").exit_code == 0
    assert earlier == [None, None, table, table]
    picture.write_bytes(b"drawn on")
    done = run("pricks", own)
    assert "changed since" in str(done.exception)
    assert picture.read_bytes() == b"drawn on"


def test_without_opencv_one_clear_line(own, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "cv2", None)
    for words in (["pricks", own], ["frame", "--out", own.parent]):
        done = run(*words)
        assert isinstance(done.exception, UserError)
        assert "pip install 'plotout[photo]'" in str(done.exception)
        assert done.exception.exit_code == 2


def test_frame_prints_strips_that_are_read_back_at_their_size(tmp_path):
    """The PDF is drawn by poppler (pdftoppm), and its marks found by OpenCV."""
    import cv2
    import numpy as np

    if not shutil.which("pdftoppm"):
        pytest.skip("poppler is not here")
    import subprocess

    done = run("frame", "--strips", 2, "--first", 7, "--page", "letter", "--out", tmp_path)
    assert done.exit_code == 0, done.output
    assert "Print the PDF files" in done.output
    (pdf,) = tmp_path.glob("*.pdf")
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-png", pdf, tmp_path / "page"], check=True)
    (png,) = tmp_path.glob("page*.png")
    code = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    corners, numbers, _ = cv2.aruco.ArucoDetector(code).detectMarkers(cv2.imread(str(png), 0))
    assert sorted(numbers.ravel().tolist()) == list(range(36, 48))
    first = dict(zip(numbers.ravel().tolist(), corners, strict=True))
    span = np.hypot(*(first[41].mean(axis=(0, 1)) - first[36].mean(axis=(0, 1)))) * 25.4 / 200
    assert span == pytest.approx(5 * 38.0, abs=0.1)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["pricks", "there-is-none.jpg"], "No such file"),
        (["pricks", "text.pdf"], "not a picture that can be read"),
        (["frame", "--strips", "0", "--out", "x"], "0 strips: too few"),
        (["frame", "--first", "96", "--out", "x"], "no strip 103"),
        (["frame", "--machine", "home-a4", "--out", "x"], "is a printer"),
    ],
)
def test_what_is_wrong_is_said(words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run(*words)
    assert isinstance(done.exception, UserError), done.output
    assert told in str(done.exception)
    assert not list(tmp_path.iterdir())


def test_a_measured_distance_is_kept_with_the_table(own, monkeypatch, surveyed, once):
    """Else the photograph read again beside its table would give a piece of another size."""
    import plotout_photo.reader

    given = []

    def survey(_paths, known=(), **_more):
        given.append([one.distance for one in known])
        return surveyed

    monkeypatch.setattr(plotout_photo.reader, "survey", survey)
    run("pricks", own, "--measured", "1 left - 4  right = 81.25 cm")
    assert (
        "# measured: 1 left - 4 right = 81.25 cm" in own.with_name("sheet-pricks.csv").read_text()
    )
    run("pricks", own)
    plotout_photo.reader.read(own, {})
    run("pricks", own, "--measured", "1 left - 4 right = 813 mm")
    run("pricks", own)
    assert given == [[812.5], [812.5], [812.5], [813.0], [813.0]]


def test_the_strips_thickness_is_kept_with_the_table(own, monkeypatch, surveyed, once):
    import plotout_photo.reader

    given = []

    def survey(_paths, thickness=0.0, **_more):
        given.append(thickness)
        return surveyed

    monkeypatch.setattr(plotout_photo.reader, "survey", survey)
    run("pricks", own, "--thickness", "0.7 mm")
    run("pricks", own)
    plotout_photo.reader.read(own, {})
    run("pricks", own, "--thickness", "0 mm")
    done = run("pricks", own, "--thickness", "7 mm")
    assert given == [0.7, 0.7, 0.7, 0.0]
    assert "strips can't be 7 mm thick" in str(done.exception)


@pytest.mark.parametrize(("scale", "shift"), [(1.015, (0, 0)), (1.0, (12.3, -4)), (0.94, (3, 9))])
def test_a_table_of_another_scale_or_zero_is_found_again(surveyed, tmp_path, scale, shift):
    from plotout_photo.corrections import Corrections, corrections_in
    from plotout_photo.table import as_table, ordered

    as_found = ordered(surveyed, Corrections())
    table = tmp_path / "sheet-pricks.csv"
    text = as_table(surveyed, as_found, as_found, Corrections(), [tmp_path / "sheet.jpg"])
    text = text.replace(",straight,", ",curve,")
    table.write_text(text.replace("# What was", "40,50,run 1,curve,,,,,,\n# What was", 1))
    said = corrections_in(table, np.vstack([surveyed.at * scale + shift, [[-9, -7], [300, 1]]]))
    assert not said.drop
    assert not said.moved
    assert said.runs
    (added,) = said.added
    assert np.allclose(added.at, np.array([40, 50]) * scale + shift, atol=0.3)


@pytest.mark.parametrize("more", [False, True])
def test_a_dropped_stab_that_is_not_found_again_takes_no_other_along(surveyed, tmp_path, more):
    """The next stab of its corner lies nearer than a prick may be off in a new reading."""
    from plotout_photo.corrections import Corrections, corrections_in
    from plotout_photo.table import as_table, ordered

    at = surveyed.at
    stabs = [k for g in surveyed.way.groups if len(g.members) > 2 for k in g.members]
    apart = [np.partition(np.hypot(*(at - at[k]).T), 1)[1] for k in stabs]
    gone = stabs[int(np.argmin(apart))]
    assert min(apart) < 1.5  # so that this can fail
    dropped = Corrections(drop=frozenset({gone + 1}))
    table = tmp_path / "sheet-pricks.csv"
    as_found, now = ordered(surveyed, Corrections()), ordered(surveyed, dropped)
    table.write_text(as_table(surveyed, as_found, now, dropped, [tmp_path / "sheet.jpg"]))
    assert corrections_in(table, at).drop == {gone + 1}
    new = np.delete(at, gone, axis=0)
    new = np.vstack([[at.mean(axis=0)], new]) if more else new
    said = corrections_in(table, new)
    assert not said.drop
    assert not said.moved
    assert not said.corners


def test_a_prick_that_is_moved_or_made_a_corner_stays_though_it_is_not_found_again(
    surveyed, tmp_path
):
    """As one that the user added, in its run; what was only found is left out."""
    from plotout_photo.corrections import Corrections, corrections_in
    from plotout_photo.table import as_table, ordered

    run = surveyed.way.runs[0].groups[2:-2]
    moved, corner, plain = (surveyed.way.groups[run[k]].members[0] for k in (0, 3, 5))
    place = tuple(surveyed.at[moved] + [0.5, 0.2])
    said = Corrections(moved={moved + 1: place}, corners=frozenset({corner + 1}))
    table = tmp_path / "sheet-pricks.csv"
    as_found, now = ordered(surveyed, Corrections()), ordered(surveyed, said)
    table.write_text(as_table(surveyed, as_found, now, said, [tmp_path / "sheet.jpg"]))
    new = np.delete(surveyed.at, [moved, corner, plain], axis=0)
    kept = corrections_in(table, new)
    assert not kept.drop
    assert not kept.moved
    assert not kept.corners
    added = {one.corner: one for one in kept.added}
    assert len(kept.added) == 2
    assert np.allclose(added[False].at, place, atol=0.02)
    assert np.allclose(added[True].at, surveyed.at[corner], atol=0.3)
    assert added[False].run == "run 1"
    fewer = dataclasses.replace(
        surveyed,
        **{name: np.delete(getattr(surveyed, name), [moved, corner, plain], axis=0)
           for name in ("at", "sure", "error", "seen", "photo", "pixel", "outside")},
        lined=np.empty((0, 2), dtype=np.intp),
    )  # fmt: skip
    assert len(ordered(fewer, kept).way.runs) == len(now.way.runs)


def without_a_corner(surveyed):
    """Return a reading in which the stabs of one corner were not seen, and where that corner is."""
    from plotout_photo.runs import way_round
    from plotout_photo.survey import _numbered

    whole = next(g for g in surveyed.way.groups if g.corner and len(g.members) > 2)
    left = np.setdiff1d(np.arange(len(surveyed.at)), whole.members)
    picked = {name: getattr(surveyed, name)[left]
              for name in ("at", "sure", "error", "seen", "photo", "pixel", "outside")}  # fmt: skip
    way = way_round(picked["at"], sure=picked["sure"])
    return _numbered(dataclasses.replace(surveyed, way=way, **picked)), whole.at


def test_an_unseen_corner_is_told_and_may_be_moved_or_taken_out(own, monkeypatch, surveyed, once):
    import plotout_photo.reader

    made, corner = without_a_corner(surveyed)
    monkeypatch.setattr(plotout_photo.reader, "survey", lambda *_, **__: made)
    done = run("pricks", own)
    assert "No stabs are seen at" in done.output, done.output
    table = own.with_name("sheet-pricks.csv")
    rows = [line for line in table.read_text().splitlines() if ",unseen," in line]
    assert len(rows) == 2
    assert np.hypot(*(np.array(rows[0].split(",")[:2], dtype=float) - corner)) < 0.6
    before = table.read_text()
    assert run("pricks", own).output == done.output
    assert table.read_text() == before
    x, y = rows[0].split(",")[:2]
    one_line = before.replace(f"\n{x},{y},", f"\n{float(x) + 0.3:.4f},{y},", 1)
    moved = before.replace(f"\n{x},{y},", f"\n{float(x) + 0.3:.4f},{y},")
    for text in (one_line, None, moved, None):
        if text:
            table.write_text(text)
        told = json.loads(run("pricks", own, "--json").output)
        assert [float(x) + 0.3, float(y)] in [
            pytest.approx(one["at_mm"], abs=0.001) for one in told["corners"]
        ]
    corners = sum(1 for group in made.way.groups if group.corner)
    for gone in (rows, rows[:1], rows[1:]):  # both its lines, or one: the run goes on there
        table.write_text("\n".join(line for line in before.splitlines() if line not in gone))
        for _ in range(2):
            told = json.loads(run("pricks", own, "--json").output)
            assert len(told["corners"]) == corners - 1
        assert "# you said: no corner at" in table.read_text()


def test_what_was_added_far_from_its_run_is_told_with_the_run(own, once):
    run("pricks", own)
    table = own.with_name("sheet-pricks.csv")
    x, y, name = next(
        line for line in table.read_text().splitlines() if line[:1].isdigit() and "+" not in line
    ).split(",")[:3]
    table.write_text(f"{table.read_text()}{float(x) + 40:.3f},{float(y) + 50:.3f},{name},,,,,,,\n")
    assert f"What you added to {name} at {float(x) + 40:.1f}" in run("pricks", own).output


def test_a_distance_that_cannot_be_meant_is_refused(surveyed):
    from plotout_photo.reader import _known
    from plotout_photo.together import _check

    model, x = surveyed.solution.model, surveyed.solution.x
    there = model.strips[0]
    absent = next(number for number in range(1, 90) if number not in model.strips)
    with pytest.raises(UserError, match=f"strip {absent} is not in the pictures"):
        _check(model, x, _known(f"{there} left - {absent} right = 600 mm"))
    with pytest.raises(UserError, match="by the strips this distance is 240 mm, not 24 mm"):
        _check(model, x, _known(f"{there} left - {there} right = 24 mm"))  # in centimetres
    _check(model, x, _known(f"{there} left - {there} right = 241.5 mm"))


def test_a_distance_kept_in_the_table_is_of_no_use_once_strips_were_laid_anew(surveyed, tmp_path):
    """Of the same photograph read again it is kept; 1.6 mm more between the strips end that."""
    from plotout_photo.corrections import Corrections, measured_in
    from plotout_photo.reader import _known
    from plotout_photo.table import as_table, ordered
    from plotout_photo.together import _check

    solution = surveyed.solution
    one, other = solution.model.strips[:2]
    text = f"{one} left - {other} right = 600 mm"
    known = _known(text)
    x = solution.x.copy()
    distance = solution.model.distance(x, known)
    text = text.replace("600", f"{1.002 * distance:.2f}")
    model = dataclasses.replace(solution.model, known=[_known(text)])
    made = dataclasses.replace(surveyed, solution=dataclasses.replace(solution, model=model))
    table = tmp_path / "sheet-pricks.csv"
    as_found = ordered(made, Corrections())
    table.write_text(as_table(made, as_found, as_found, Corrections(), [table], [text]))
    ((again, nominal),) = measured_in(table)
    assert (again, nominal) == (text, pytest.approx(distance, abs=0.01))
    kept = _known(again, nominal)
    _check(model, x, kept)
    ends = [model.on_strip(x, s, np.array([at]))[0] for s, at in kept.ends]
    away = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    x[model.strip_at[other] + 1 : model.strip_at[other] + 3] += 1.6 * away
    with pytest.raises(UserError, match="lie otherwise than when the distance"):
        _check(model, x, kept)
