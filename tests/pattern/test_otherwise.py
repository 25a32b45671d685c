"""Seams of which a prick that strayed unseen would explain the mismatch.

The cap is an arc of 200 mm over 100 degrees: the piece's lengths are sums by hand.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.stats import norm

from plotout.cli import plotout
from plotout.geometry.sureness import LIKELY, Otherwise, likely_within, taken_together
from plotout.pattern.stretch import Stretch

RADIUS, HALF = 200.0, np.radians(50.0)
WIDTH = 2.0 * RADIUS * np.sin(HALF)
SIDE = float(np.hypot(30.0, 300.0))


def sleeve(cap_pricks: int, stray: float, seed: int) -> str:
    """Return pricks, 0.2 mm scattered; the cap's last one lies so many mm further out."""
    rng = np.random.default_rng(seed)

    def scattered(points: np.ndarray) -> np.ndarray:
        return points + rng.normal(0.0, 0.2, points.shape)

    def straight(start: list[float], end: list[float], count: int) -> np.ndarray:
        share = np.linspace(0.03, 0.97, count)[:, None]
        return scattered(np.array(start) + (np.array(end) - np.array(start)) * share)

    reach = HALF - 6.0 / RADIUS
    turn = np.linspace(reach, -reach, cap_pricks)
    centre = np.array([WIDTH / 2.0, -RADIUS * np.cos(HALF)])
    cap = scattered(centre + RADIUS * np.column_stack([np.sin(turn), np.cos(turn)]))
    cap[-1] += stray * (cap[-1] - centre) / np.hypot(*(cap[-1] - centre))
    runs = {
        "hem": straight([30.0, -300.0], [WIDTH - 30.0, -300.0], 6),
        "right": straight([WIDTH - 30.0, -300.0], [WIDTH, 0.0], 8),
        "cap": cap,
        "left": straight([0.0, 0.0], [30.0, -300.0], 8),
    }
    rows = [
        f"{x:.3f},{y:.3f},{name},{'curve' if name == 'cap' else 'straight'}"
        for name, points in runs.items()
        for x, y in points
    ]
    return "\n".join(["x,y,run,kind", *rows])


def set_of(folder: Path, pricks: str, other: float) -> Path:
    """Return a set whose seam joins the sleeve's left side to a typed edge of so many mm."""
    (folder / "sleeve.csv").write_text(pricks)
    path = folder / "set.toml"
    path.write_text(f"""
[set]
name = "Sleeve"
style = "S"
size = "M"
date = "2026-11-30"

[[piece]]
name = "Sleeve"
cut = [{{ cloth = "self" }}]
from = {{ file = "sleeve.csv" }}

[[piece]]
name = "Gusset"
cut = [{{ cloth = "self" }}]
rectangle = ["{other:.3f} mm", "100 mm"]

[[seam]]
name = "under"
first = {{ piece = "Sleeve", edges = ["left"] }}
second = {{ piece = "Gusset", edges = ["bottom"] }}
""")
    return path


def trued(path: Path, more: str = "") -> tuple[int, dict[str, object], str]:
    """Return what `check` reports if the sleeve's sides are to be equal."""
    drawing = 'from = { file = "sleeve.csv" }\n'
    asked = f'[[piece.true]]\nequal = ["left", "right"]\n{more}'
    path.write_text(path.read_text().replace(drawing, drawing + asked))
    done = CliRunner().invoke(plotout, ["check", str(path), "--json"])
    (result,) = json.loads(done.output)["truing"]
    return done.exit_code, result, CliRunner().invoke(plotout, ["check", str(path)]).output


def checked(path: Path) -> tuple[int, dict[str, object], str]:
    done = CliRunner().invoke(plotout, ["check", str(path), "--json"])
    report = json.loads(done.output)
    (seam,) = report["seams"]
    return done.exit_code, seam, CliRunner().invoke(plotout, ["check", str(path)]).output


def test_a_prick_that_strayed_unseen_is_named_and_no_fault_is_certain(tmp_path: Path) -> None:
    """Its corner moves along the side by 9 mm, of which plotout knows to 2.5 mm: it must be said
    what explains it, since the seam is right.
    """
    code, seam, said = checked(set_of(tmp_path, sleeve(7, -5.0, seed=3), SIDE))
    assert abs(seam["difference_mm"]) > seam["known_to_mm"] + 1.0  # type: ignore[operator, arg-type]
    assert (code, seam["sure"], seam["faults"]) == (0, False, [])
    assert seam["unless"] == ["prick 7 of 'cap' strayed in 'Sleeve'"]
    assert "NOT SURE" in said
    assert "mm too short" in said
    assert "or prick 7 of 'cap' strayed in 'Sleeve', which would not show" in said


@pytest.mark.parametrize(("stray", "seed"), [(-4.0, 2), (4.0, 0), (6.0, 1)])
def test_a_right_seam_beside_an_outermost_prick_that_strayed_is_no_certain_fault(
    tmp_path: Path, stray: float, seed: int
) -> None:
    """The cap is pricked each 67 mm, and led on so far without its last prick.

    By the length that is told then the seam is off as well, by more than its two sigma.
    """
    code, seam, _ = checked(set_of(tmp_path, sleeve(6, stray, seed), SIDE))
    assert abs(seam["difference_mm"]) > seam["known_to_mm"] + 1.0  # type: ignore[operator, arg-type]
    assert (code, seam["sure"], seam["faults"]) == (0, False, [])
    assert "prick 6 of 'cap' strayed in 'Sleeve'" in seam["unless"]  # type: ignore[operator]


@pytest.mark.parametrize("slip", [-6.0, 6.0])
def test_a_slip_that_no_prick_explains_stays_a_fault(tmp_path: Path, slip: float) -> None:
    code, seam, said = checked(set_of(tmp_path, sleeve(14, 0.0, seed=0), SIDE + slip))
    assert (code, seam["sure"], seam["unless"]) == (2, True, [])
    assert "Fault: seam 'under'" in said


STRAYED = "prick 7 of 'cap' strayed"


def test_a_truing_beside_a_prick_that_strayed_unseen_is_no_certain_fault(tmp_path: Path) -> None:
    """Both sides are as long, and one is told 9 mm shorter: by no scatter, but by that prick."""
    code, result, said = trued(set_of(tmp_path, sleeve(7, -5.0, seed=3), SIDE))
    assert result["after_mm"] - result["known_to_mm"] > 5.0  # type: ignore[operator]
    assert (code, result["sure"], result["good"]) == (0, False, False)
    assert result["unless"] == [STRAYED]
    assert f"mm off; or {STRAYED}, which would not show" in said


def test_no_truing_is_refused_for_a_prick_that_strayed_unseen(tmp_path: Path) -> None:
    """It would have to move by more than 0.5 mm; unless the prick strayed, by nothing."""
    code, result, said = trued(set_of(tmp_path, sleeve(7, -5.0, 3), SIDE), "put-right = true\n")
    assert (code, result["sure"], result["moved_mm"]) == (0, False, 0.0)
    assert f"more than the tolerance of 0.5 mm; or {STRAYED}" in said


def test_a_truing_put_right_says_what_would_have_explained_it(tmp_path: Path) -> None:
    more = "put-right = true\ntolerance = '4 mm'\n"
    code, result, said = trued(set_of(tmp_path, sleeve(7, -5.0, 3), SIDE), more)
    assert (code, result["good"], result["after_mm"]) == (0, True, 0.0)
    assert f"or {STRAYED}" in str(result["detail"])
    assert STRAYED in next(line for line in said.splitlines() if "put right to 0.00 mm" in line)


def test_a_truing_that_no_prick_explains_stays_a_fault(tmp_path: Path) -> None:
    """The right side's corner with the hem is 40 mm further down: it is longer by that."""
    rows = [row.split(",") for row in sleeve(14, 0.0, seed=0).split("\n")]
    for row in rows:
        if row[2] == "hem":  # it slopes down to the right
            row[1] = str(float(row[1]) - 40.0 * (float(row[0]) - 30.0) / (WIDTH - 60.0))
    text = "\n".join(",".join(row) for row in rows)
    code, result, _ = trued(set_of(tmp_path, text, SIDE))
    assert (code, result["sure"], result["unless"]) == (2, True, [])


def test_show_gives_the_lengths_by_other_explanations(tmp_path: Path) -> None:
    """By the right one the told length holds the true one, by the sum above."""
    path = set_of(tmp_path, sleeve(7, -5.0, seed=3), SIDE)
    shown = json.loads(CliRunner().invoke(plotout, ["show", str(path), "--json"]).output)
    edges = {edge["name"]: edge for edge in shown["pieces"][0]["edges"]}
    true = {"cap": 2.0 * HALF * RADIUS, "left": SIDE}
    for name, length in true.items():
        (one,) = [each for each in edges[name]["otherwise"] if each["why"].startswith("prick 7 ")]
        assert abs(edges[name]["length_mm"] - length) > edges[name]["known_to_mm"]
        assert one["length_mm"] == pytest.approx(length, abs=one["known_to_mm"])
    assert edges["hem"]["otherwise"] == []
    said = CliRunner().invoke(plotout, ["show", str(path)]).output
    assert "if prick 7 of 'cap' strayed, which its pricks don't show: " in said


def test_a_stretch_is_a_fault_unless_something_explains_it() -> None:
    """9 mm too long, known to 2: right if it is 8.5 mm shorter, not if 4 mm; sums by hand."""
    strayed = Otherwise("prick 1 strayed", -8.5, 1.0, 0.01)
    seam = Stretch("", "", 309.0, 300.0, (0.0, 0.0), 1.0, 2.0, (strayed,))
    assert (seam.sure, seam.explained) == (False, ("prick 1 strayed",))
    less = Stretch("", "", 309.0, 300.0, (0.0, 0.0), 1.0, 2.0, (strayed._replace(longer=-4.0),))
    assert (less.sure, less.explained) == (True, ())
    part = Stretch("", "", 306.0, 300.0, (0.0, 0.0), 1.0, 2.0, (strayed.in_part,))
    assert not part.sure  # a part may be longer by any of it
    right = Stretch("", "", 300.5, 300.0, (0.0, 0.0), 1.0, 0.2, (strayed,))
    assert right.sure  # a seam that matches speaks against the stray


def test_what_an_explanation_adds_to_the_doubt_may_be_three_sigma_off() -> None:
    """It is known to 5 mm (two sigma), of which 3 are scatter's: so 4 are added, and 6 are three
    sigma of them; with 2 mm otherwise that is the root of 40.
    """
    strayed = Otherwise("prick 1 strayed", -2.0, 5.0, 0.01, scatter=3.0)
    assert strayed.by(2.0) == pytest.approx(40.0**0.5)
    assert strayed.times(-2.0).by(0.0) == pytest.approx(12.0)
    for longer, sure in ((309.3, False), (309.4, True)):  # 1 mm is tolerated
        seam = Stretch("", "", longer, 300.0, (0.0, 0.0), 1.0, 2.0, (strayed,))
        assert seam.sure is sure


def test_an_explanation_that_is_hardly_likely_is_not_shown_where_nothing_is_wrong() -> None:
    hardly = Otherwise("prick 1 strayed", 5.0, 1.0, 0.0005)
    assert (hardly.is_told, hardly._replace(chance=0.002).is_told) == (False, True)
    assert hardly.is_another
    assert not Otherwise("prick 1 strayed", 0.2, 1.0, 0.1, scatter=0.8).is_another


def test_what_one_prick_does_to_several_edges_adds_up() -> None:
    one, other = Otherwise("a", 3.0, 1.0, 0.1), Otherwise("b", -1.0, 0.5, 0.2)
    assert taken_together([one, other, one.times(-2.0)]) == (
        other,
        Otherwise("a", -3.0, 3.0, 0.1),
    )


@pytest.mark.parametrize(("off", "chance"), [(4.2, 0.06), (4.2, 0.002), (1.0, 0.06), (3.0, 0.02)])
def test_a_stray_is_likely_where_it_alone_makes_a_seam_match(off: float, chance: float) -> None:
    """Of two explanations Bayes' rule gives the chance of each, with scipy's normal density.

    The seam is off by so much, known to 4 mm, half of it by other edges; by the stray 4.2 less,
    known to 1.5 mm instead of the 3.46 that scatter brings: hypot(2, 1.5) = 2.5 together.
    """
    strayed = Otherwise("prick 1 strayed", -4.2, 1.5, chance, scatter=12.0**0.5)
    by_stray = chance * norm.pdf(off - 4.2, scale=np.hypot(2.5, 0.5) / 2.0)
    by_none = (1.0 - chance) * norm.pdf(off, scale=np.hypot(4.0, 0.5) / 2.0)
    likely = bool(by_stray / (by_stray + by_none) >= LIKELY)
    assert likely_within(0.5, off, 4.0, [(strayed, off - 4.2)]) == (strayed,) * likely
    seam = Stretch("", "", 300.0 + off, 300.0, (0.0, 0.0), 0.5, 4.0, (strayed,))
    assert seam.suspected == (strayed.why,) * (likely and not seam.explained)
    assert ("it may be that prick 1 strayed: look there first" in seam.doubt(("A", "B"))) == bool(
        seam.suspected
    )


def test_what_is_off_by_any_explanation_names_none() -> None:
    strayed = Otherwise("prick 1 strayed", 1.0, 0.1, 0.06)
    assert likely_within(0.5, 900.0, 1.0, [(strayed, 901.0)]) == ()
    sure = Stretch("", "", 300.1, 300.0, (0.0, 0.0), 0.5, 0.2, (strayed,))
    assert sure.suspected == ()  # it surely matches


def test_an_end_that_strayed_is_named_in_the_doubt_about_its_seam(tmp_path: Path) -> None:
    """Of 14 pricks the last is 2.5 mm off, by 12 times the scatter: it explains what is off."""
    code, seam, said = checked(set_of(tmp_path, sleeve(14, 2.5, seed=1), SIDE))
    assert (code, seam["sure"], seam["faults"], seam["unless"]) == (0, False, [], [])
    assert "it may be that prick 14 of 'cap' strayed in 'Sleeve': look there first" in said
