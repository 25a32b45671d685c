"""What the largest jobs take: CPU, wall time and memory, beside what is wanted of each.

    python tests/bench/large.py [--smoke] [--only CASE]

- page: the proof page of 300 pieces, those of tests/bench/many.py.
- outline: `make` of a piece whose outline, a wavy oval, has 200,000 vertices rounded to 0.0001 mm,
  as a scan's or a drawing program's are.
- holes, dashes, star: `check` of a piece with 10,000 drill holes, with a line of as many dashes to
  score, or with as many lines from one place, a path with a name, each beside a tenth of it: 16
  times as much CPU is an exponent of 1.2.
- winding: `make` of a piece with ten lines to score, 1 mm of noise on each, which cross themselves,
  with as many vertices in all; also beside a tenth.
- notches: `check` of a strip with 1,000 notches on an edge; seam: of a band with as many pieces
  sewn to it. Both also beside a tenth.
- within: `make` of a piece with 3,000 drawn squares, each within the one before; also beside a
  tenth.
- dots: 1,000,000 dots ordered; crossing: 100,000 strokes ordered that cross one another. Both
  are those of tests/bench/growth.py, in a process that does nothing else.
- card: a card with 300,000 dots taken from its strokes to its file for a laser, and read back.
  comb: one with 30,000 slits that stand on a long one, and run together by the kerf. Both also
  beside a tenth.

With --smoke the same on a hundredth.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import numpy as np
from growth import crossing, dots, measured
from many import taken, written

from plotout.geometry.strokes import FloatArray

Taken = tuple[float, float, float]
SET = """
[set]
name = "Long"
style = "LO-01"
size = "one size"

[[piece]]
name = "Long"
from = { file = "long.svg", outline = "#outline" }
cut = [{ cloth = "self", count = 1 }]
"""


def page(pieces: int) -> Taken:
    """Make the proof page of so many pieces."""
    with tempfile.TemporaryDirectory() as name:
        set_file = written(Path(name), pieces)
        words = ("page", set_file, "--machine", "laser", "--seconds", "0", "--out", "page.html")
        return taken(Path(name), words)


def marked(
    marks: Iterable[str], wanted: str, words: Sequence[str] = ("check",), side: int = 1000
) -> Taken:
    """Check a square piece, a metre wide, with such marks, or take it through another command.

    wanted: what else its `from` names.
    """
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm" '
        f'viewBox="0 0 {side} {side}"><rect id="outline" width="{side}" height="{side}"/>'
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "long.svg").write_text("\n".join([drawing, *marks, "</svg>"]))
        (folder / "set.toml").write_text(SET.replace('"#outline"', f'"#outline", {wanted}'))
        return taken(folder, (words[0], "set.toml", *words[1:]))


def holes(count: int) -> Taken:
    """Check a piece with so many drill holes, in rows that are not quite straight."""
    rows = int(np.ceil(np.sqrt(count)))
    step = 920.0 / rows
    nth = np.arange(count)
    places = 40.0 + step * np.column_stack([nth % rows + 0.5, nth // rows + 0.5])
    places += np.random.default_rng(77).uniform(-0.1, 0.1, (count, 2)) * step
    circles = (f'<circle class="d" cx="{x:.2f}" cy="{y:.2f}" r="0.5"/>' for x, y in places)
    return marked(circles, 'drill = ".d"')


def dashes(count: int) -> Taken:
    """Check a piece with so many dashes in a row."""
    step = 980.0 / count
    begins = 10.0 + step * np.arange(count)
    lines = (f'<path class="s" d="M{x:.4f} 500H{x + 0.6 * step:.4f}"/>' for x in begins)
    return marked(lines, 'score = ".s"')


def star(count: int) -> Taken:
    """Check a piece with so many lines that begin at one place."""
    turn = np.linspace(0.0, np.pi, count)
    ends = np.column_stack([450.0 * np.cos(turn), 450.0 * np.sin(turn)])
    rays = " ".join(f"M500 500l{x:.3f} {y:.3f}" for x, y in ends.tolist())
    return marked([f'<path id="ray" d="{rays}"/>'], 'internal = "#ray"')


def winding(vertices: int) -> Taken:
    """Make a piece with so many vertices in ten noisy lines."""
    rng = np.random.default_rng(77)
    along = np.linspace(0.0, 1.0, max(vertices // 10, 2))
    lines = []
    for number in range(10):
        up = 50.0 + 90.0 * number + 30.0 * np.sin(400.0 * along + number)
        points = np.column_stack([20.0 + 960.0 * along, up + rng.normal(0.0, 1.0, len(along))])
        data = " L".join(f"{x:.3f} {y:.3f}" for x, y in points.tolist())
        lines.append(f'<path class="s" d="M{data}"/>')
    words = ("make", "--machine", "roll-plotter", "--seconds", "0", "--out", "out")
    return marked(lines, 'score = ".s"', words)


def notches(count: int) -> Taken:
    """Check a strip with so many notches on an edge, 10 mm apart."""
    asked = (f'[[piece.notch]]\nedge = "top"\nat = "{10 * nth} mm"' for nth in range(1, count + 1))
    return checked([rectangle("Strip", 10.0 * (count + 2), 300.0), *asked])


def seam(count: int) -> Taken:
    """Check a band to which so many pieces are sewn, one beside the other."""
    pieces = [rectangle(f"Piece {nth}", 18.0, 200.0) for nth in range(count)]
    sewn = ", ".join(f'{{ piece = "Piece {nth}", edges = "top" }}' for nth in range(count))
    band = rectangle("Band", 18.0 * count, 60.0)
    first = 'first = { piece = "Band", edges = "bottom" }'
    return checked([band, *pieces, f'[[seam]]\nname = "band"\n{first}\nsecond = [{sewn}]'])


def rectangle(name: str, width: float, height: float) -> str:
    """Return a rectangle as a set file has it."""
    return (
        f'[[piece]]\nname = "{name}"\nrectangle = ["{width} mm", "{height} mm"]\n'
        'edges = ["top", "right", "bottom", "left"]\ngrain = { along = "left" }\n'
        'cut = [{ cloth = "self" }]'
    )


def checked(parts: Iterable[str]) -> Taken:
    """Check a set of such pieces and seams."""
    head = SET.split("[[piece]]", maxsplit=1)[0]
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "set.toml").write_text("\n".join([head, *parts]))
        return taken(Path(name), ("check", "set.toml"))


def within(count: int) -> Taken:
    """Make a piece with so many squares, each within the one before."""
    insets = (10.0 + 160.0 * np.arange(count) / count).tolist()
    squares = (
        f'<path class="s" d="M{near:.4f} {near:.4f}H{360.0 - near:.4f}V{360.0 - near:.4f}'
        f'H{near:.4f}Z"/>'
        for near in insets
    )
    words = ("make", "--machine", "roll-plotter", "--seconds", "0", "--out", "out")
    return marked(squares, 'internal = ".s"', words, side=360)


def outline(vertices: int) -> Taken:
    """Make a piece with so many vertices."""
    turn = np.linspace(0.0, 2.0 * np.pi, vertices, endpoint=False)
    far = 120.0 + 6.0 * np.sin(9.0 * turn)
    places = np.column_stack([150.0 + far * np.cos(turn), 150.0 + 0.8 * far * np.sin(turn)])
    data = " L".join(f"{x:.4f} {y:.4f}" for x, y in places.tolist())
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "long.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" '
            f'viewBox="0 0 300 300"><path id="outline" d="M{data} Z"/></svg>'
        )
        (folder / "set.toml").write_text(SET)
        words = ("make", "set.toml", "--machine", "laser", "--seconds", "0", "--out", "out")
        return taken(folder, words)


def ordered(case: Callable[..., object], count: int) -> Taken:
    """Order so many strokes."""
    seconds, peak = measured(case, count, 1)
    return seconds, float("nan"), peak


def card(work: str, lines: Iterable[FloatArray]) -> Taken:
    """Make a card, 360 mm square, with such lines to work."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_made, (work, list(lines)))


def scattered(count: int) -> Taken:
    """Make a card with so many dots."""
    places = np.random.default_rng(77).uniform(5.0, 355.0, (count, 1, 2))
    return card("draw", places)


def comb(count: int) -> Taken:
    """Make a card with so many slits that stand on one."""
    across = np.linspace(20.0, 340.0, count)
    teeth = [np.array([[x, 100.0], [x, 300.0]]) for x in across.tolist()]
    return card("cut", [np.array([[10.0, 100.0], [350.0, 100.0]]), *teeth])


def _made(work: str, lines: Sequence[FloatArray]) -> Taken:
    from plotout import job
    from plotout.geometry.strokes import Mark, Stroke, Work
    from plotout.model import Card, Placed, Sheet
    from plotout.sheet_job import make_ready, make_sheet

    machine = job.load_machine("laser")
    make_ready(machine.driver)
    ring = 360.0 * np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.0, 0.0]])
    strokes = [Stroke(line, Work(work), Mark.INTERNAL, "card") for line in lines]
    strokes.append(Stroke(ring, Work.CUT, Mark.OUTLINE, "card"))
    whole = Card("card", "card", "Card", 1, 1, ring, tuple(strokes))
    sheet = Sheet("Card", 1, 400.0, 400.0, (Placed(whole, 0.0, (20.0, 20.0)),))
    begun = time.process_time(), time.perf_counter()
    assert make_sheet(sheet, machine, "card").faults == ()
    cpu, wall = time.process_time() - begun[0], time.perf_counter() - begun[1]
    return cpu, wall, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


CASES: dict[str, tuple[Callable[[int], Taken], int, str]] = {
    "page": (page, 300, "30 s of CPU"),
    "outline": (outline, 200_000, "5 s wall"),
    "holes/10": (holes, 1_000, ""),
    "holes": (holes, 10_000, "16 times as much"),
    "dashes/10": (dashes, 1_000, ""),
    "dashes": (dashes, 10_000, "16 times as much"),
    "star/10": (star, 1_000, ""),
    "star": (star, 10_000, "16 times as much"),
    "winding/10": (winding, 10_000, ""),
    "winding": (winding, 100_000, "16 times as much"),
    "notches/10": (notches, 100, ""),
    "notches": (notches, 1_000, "16 times as much"),
    "seam/10": (seam, 80, ""),
    "seam": (seam, 800, "16 times as much"),
    "within/10": (within, 300, ""),
    "within": (within, 3_000, "16 times as much"),
    "dots": (lambda count: ordered(dots, count), 1_000_000, "2,048 MiB"),
    "crossing": (lambda count: ordered(crossing, count), 100_000, "2,048 MiB"),
    "card/10": (scattered, 30_000, ""),
    "card": (scattered, 300_000, "16 times as much; 2,048 MiB for 1,000,000"),
    "comb/10": (comb, 3_000, ""),
    "comb": (comb, 30_000, "16 times as much"),
}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--smoke", action="store_true", help="a hundredth of each, in seconds")
    parser.add_argument("--only", choices=CASES)
    told = parser.parse_args()
    print(f"{'case':10} {'of':>9} {'CPU, s':>8} {'wall, s':>8} {'MiB':>6}  wanted", flush=True)
    for name, (measure, count, wanted) in CASES.items():
        if told.only in (None, name):
            many = max(count // 100, 3) if told.smoke else count
            cpu, wall, peak = measure(many)
            print(f"{name:10} {many:9,} {cpu:8.1f} {wall:8.1f} {peak:6.0f}  {wanted}", flush=True)


if __name__ == "__main__":
    main()
