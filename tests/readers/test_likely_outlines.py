"""How surely truings of pricked edges are known: by simulated pieces whose true shape is known."""

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings

TRUINGS = {
    "square": '["hem", "side"]',
    "equal": '["side", "cf"]',
    "parallel": '["side", "cf"]',
    "on-grain": '["hem"]',
    "square top": '["top", "cf"]',
}


def true_lines(lean, rise):
    """Return a piece's edges, (n, 2) each: the side leans, the hem rises, the top is a parabola."""
    share = np.linspace(0.0, 1.0, 1001)[:, None]
    corners = np.array([[0.0, 0.0], [200.0, rise], [200.0 + lean, 250.0], [0.0, 260.0]])
    across = np.linspace(1.0, 0.0, 1001)
    top = np.column_stack([corners[2, 0] * across, 260.0 - 10.0 * across**2])
    straight = {"hem": (0, 1), "side": (1, 2), "cf": (3, 0)}
    lines = {n: corners[a] + (corners[b] - corners[a]) * share for n, (a, b) in straight.items()}
    return {name: top if name == "top" else lines[name] for name in ("hem", "side", "top", "cf")}


def by_hand(lines):
    """Return what is off each truing, mm, by the true lines' corners."""
    hem, side, cf = (line[-1] - line[0] for line in (lines["hem"], lines["side"], lines["cf"]))
    size = {name: np.hypot(*step) for name, step in (("hem", hem), ("side", side), ("cf", cf))}
    return {
        "square": abs(hem @ side) / size["side"],
        "equal": abs(size["side"] - size["cf"]),
        "parallel": abs(side[0] * cf[1] - side[1] * cf[0]) / size["cf"],
        "on-grain": abs(hem[1]),
        "square top": 0.0,
    }


def pricked(lines, seed, count, scatter):
    """Return the runs of a hand that pricks every edge so many times."""
    rng = np.random.default_rng(seed)
    runs = []
    for name, line in lines.items():
        reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        at = np.linspace(8.0, reached[-1] - 8.0, count)
        points = np.column_stack([np.interp(at, reached, axis) for axis in line.T])
        points += rng.normal(0.0, scatter, points.shape)
        kind = "curve" if name == "top" else "straight"
        runs.append(Pricks(name, kind, points, 1, tuple(range(count))))
    return Table(tuple(runs), ())


def trued(drawing, tmp_path, more="", kinds=tuple(TRUINGS)):
    path = tmp_path / "set.toml"
    asked = "".join(
        f"[[piece.true]]\n{kind.split()[0]} = {TRUINGS[kind]}\n{more}" for kind in kinds
    )
    path.write_text(
        '[set]\nname = "a"\nstyle = "a"\n[defaults]\ntolerance = 0.5\n[[piece]]\nname = "A"\n'
        f'from = {{ file = "a.csv" }}\n{asked}',
        "utf-8",
    )
    (tmp_path / "a.csv").touch()
    (piece,) = read_drawings(setfile.load(path), lambda _path, _pick: drawing).in_size().pieces
    return dict(zip(kinds, piece.trued, strict=True))


@pytest.mark.parametrize(
    ("count", "scatter"), [(6, 0.3), pytest.param(12, 0.5, marks=pytest.mark.thorough)]
)
def test_what_is_off_a_truing_is_known_as_well_as_is_told(tmp_path, count, scatter):
    """Two sigma hold 95 of a hundred, and are no wider than 2.5 times the errors' two sigma.

    Of 20 that each are held so, fewer than 16 are in 1 of 390 (binomial distribution).
    """
    off, told = [], []
    for seed in range(20):
        rng = np.random.default_rng([seed, 1])
        lines = true_lines(*rng.normal(0.0, 1.5, 2))
        found = trued(outline(pricked(lines, seed, count, scatter), Path("a.csv"), {}), tmp_path)
        off.append([found[kind].after - mm for kind, mm in by_hand(lines).items()])
        told.append([one.known_to for one in found.values()])
    within = (np.abs(off) <= told).mean(axis=0)
    assert within.mean() >= 0.95
    assert (within >= 16 / 20).all(), within
    widest = 2.5 * 2.0 * np.sqrt(np.mean(np.square(off), axis=0))
    assert (np.median(told, axis=0) < widest).all()


def test_a_piece_that_is_true_is_not_called_wrong_and_one_that_is_not_is(tmp_path):
    """Six pricks an edge, 0.5 mm off: a true piece, and one whose side leans by 6 mm."""
    wrong = {0.0: 0, 6.0: 0}
    for lean in wrong:
        for seed in range(12):
            table = pricked(true_lines(lean, 0.0), seed, 6, 0.5)
            found = trued(outline(table, Path("a.csv"), {}), tmp_path)
            wrong[lean] += found["square"].wrong + found["parallel"].wrong
    assert wrong[0.0] <= 1  # 12 pieces, 2 truings: one in twenty by chance
    assert wrong[6.0] >= 20


def test_a_put_right_that_the_pricks_do_not_show_to_be_needed_is_not_refused(tmp_path):
    """The first edge would move by more than the tolerance, but may be true: not sure, no fault."""
    kinds, more = ("square", "parallel", "on-grain"), "put-right = true\n"
    doubted = refused = 0
    for seed in range(12):
        table = pricked(true_lines(0.0, 0.0), seed, 6, 0.5)
        found = trued(outline(table, Path("a.csv"), {}), tmp_path, more, kinds)
        doubted += any(one.doubt for one in found.values())
        refused += any(one.refused for one in found.values())
    assert refused <= 1
    assert doubted >= 3
    table = pricked(true_lines(9.0, 0.0), 1, 6, 0.5)
    found = trued(outline(table, Path("a.csv"), {}), tmp_path, more, kinds)
    assert found["square"].refused
