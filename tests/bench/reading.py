"""Prints how the time and memory of reading grow when a file is four times as long.

    python tests/bench/reading.py            all cases (about a minute)
    python tests/bench/reading.py --smoke    the same on short files, in seconds

Each case is read in two sizes, in a process of its own; the exponent is the logarithm to base 4 of
the ratio of their processor times: 1 is proportional. Some end in a refusal, which must be as
quick. What is read: outlines of many vertices, style sheets, TOML of many or deep keys.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import resource
import tempfile
import time
from pathlib import Path

import numpy as np

SET = '[set]\nname = "F"\nstyle = "F"\n[[piece]]\nname = "F"\n'
DRAWN = f'{SET}from = {{ file = "a.svg", outline = "#a" }}\n'


def ring(count):
    """Points on a wavy circle, (count, 2), mm: no curve is as smooth as to be shortened."""
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    far = 300.0 + 0.02 * np.sin(50.0 * turn)
    return np.column_stack([500.0 + far * np.cos(turn), 500.0 + far * np.sin(turn)])


def svg(path, style=""):
    head = 'xmlns="http://www.w3.org/2000/svg" width="1000mm" viewBox="0 0 1000 1000"'
    drawing = f'<svg {head}><style>{style}</style><path id="a" d="{path}"/></svg>'
    return {"set.toml": DRAWN, "a.svg": drawing}


def lines(points):
    return f"M{' '.join(f'{x:.4f},{y:.4f}' for x, y in points)}Z"


def a_path_of_lines(count):
    return svg(lines(ring(count)))


def a_path_of_curves(count):
    points = ring(count)
    middles = (points + np.roll(points, -1, axis=0)) / 2.0
    ends = np.roll(points, -1, axis=0)
    curves = (
        f"Q{a:.4f},{b:.4f} {x:.4f},{y:.4f}" for (a, b), (x, y) in zip(middles, ends, strict=True)
    )
    return svg(f"M{points[0, 0]:.4f},{points[0, 1]:.4f}{''.join(curves)}Z")


def a_style_sheet(count):
    return svg(lines(ring(100)), "a b{c:d}" * (count // 8))


def braces_in_a_style_sheet(count):
    return svg(lines(ring(100)), "{" * count)


def one_dotted_key(count):
    return {"set.toml": f"{'.'.join('a' * count)} = 1\n"}


def many_dotted_keys(count):
    return {"set.toml": "".join(f"a.b{index}.c.d = 1\n" for index in range(count))}


def many_wrong_pieces(count):
    rows = "".join(f"[[piece]]\nname = 'p{index}'\n" for index in range(count))
    return {"set.toml": f"[set]\nname = 'a'\nstyle = 'b'\n{rows}"}


CASES = (
    (a_path_of_lines, 10_000),
    (a_path_of_lines, 50_000),
    (a_path_of_curves, 10_000),
    (a_style_sheet, 20_000),
    (braces_in_a_style_sheet, 20_000),
    (one_dotted_key, 20_000),
    (many_dotted_keys, 5_000),
    (many_wrong_pieces, 2_500),
)


def measured(case, count):
    """Seconds of processor time, peak MiB and what came of it, in a process of its own."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measure, (case, count))


def _measure(case, count):
    from plotout import UserError, job

    with tempfile.TemporaryDirectory() as folder:
        _write(folder, a_path_of_lines(100))
        job.read_set(Path(folder) / "set.toml")  # what is imported once
        _write(folder, case(count))
        before = time.process_time()
        try:
            job.read_set(Path(folder) / "set.toml")
            came = "read"
        except UserError:
            came = "refused"
        seconds = time.process_time() - before
    return seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0, came


def _write(folder, files):
    for name, text in files.items():
        (Path(folder) / name).write_text(text, encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--smoke", action="store_true", help="short files, done in seconds")
    told = parser.parse_args()
    print(f"{'case':26} {'length':>16} {'seconds':>15} {'MiB':>5} exponent", flush=True)
    for case, count in CASES[:: 3 if told.smoke else 1]:
        small = count // 20 if told.smoke else count
        (few, _, _), (many, peak, came) = (measured(case, n) for n in (small, 4 * small))
        print(
            f"{case.__name__.replace('_', ' '):26} {small:7,} {4 * small:8,} "
            f"{few:7.2f} {many:7.2f} {peak:5.0f} {math.log(many / few, 4):+8.2f}  {came}",
            flush=True,
        )


if __name__ == "__main__":
    main()
