"""Drawings of public suites, read by plotout and by a general library, compared point for point.

The suites come with packages and are fetched where that can be done; nothing of them is kept here:
librsvg2-tests of Debian (with the W3C's SVG 1.1 suite), and the sources of ezdxf.

    python tests/bench/suites.py [--folder FOLDER] [--smoke]

The reference for SVG is svgelements. A shape is what lies on the page; text, pictures and what
plotout refuses in words are counted, not compared. Prints the files that differ by more than 0.02
mm, with the reason where one is known, and why others were refused. For DXF there is no second
opinion: it tells how many were read, refused, or failed.
"""

from __future__ import annotations

import argparse
import contextlib
import re
import subprocess
import sys
import tarfile
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import shapely

from plotout import PlotoutError, UserError

SAME = 0.02  # mm
_MARKER = "the reference draws the marker by itself, where it is declared (SVG 1.1, 11.6)"
_MASK = "the reference draws what is in a mask, which is never rendered (SVG 1.1, 14.4)"
EXPLAINED = {
    "761871-reset-reflection-points.svg": "the reference reflects the control point of a curve of "
    "another kind (SVG 1.1, 8.3.6); the file draws every curve twice, and plotout reads both alike",
    "coords-trans-08-t.svg": "the reference skews an ellipse as if its axes stayed square to one "
    "another; the exact width of the left one, 43.071 mm, is plotout's",
    "718-rect-negative-rx-ry.svg": "the reference has no rounded corners where one radius is below "
    "0; as in the suite's own picture, plotout takes the other (SVG 2, 7.5)",
    "763386-marker-coincident.svg": _MARKER,
    "776297-marker-on-non-path-elements.svg": _MARKER,
    "painting-marker-02-f.svg": _MARKER,
    "593-mask-empty-bbox.svg": _MASK,
    "masking-mask-01-b.svg": _MASK,
    "mask-and-opacity.svg": _MASK,
    "struct-cond-01-t.svg": "the reference draws every child of a switch (SVG 1.1, 5.8.2)",
    "struct-group-03-t.svg": "the reference doesn't inherit visibility (SVG 1.1, 11.5)",
    "struct-symbol-01-b.svg": "the reference draws symbols that nothing uses (SVG 1.1, 5.5)",
}
"""Files of the suites in which the reference is another, and who is right, by the standard."""
MM = 25.4 / 96  # a px of CSS
_HEAD = re.compile(rb"<svg\b[^>]*>")
_SIDE = re.compile(rb"\s(width|height)\s*=\s*[\"'][\d.eE+-]+[\"']")
_PERCENT = re.compile(rb"\s(width|height)\s*=\s*[\"'][\d.]+%[\"']")
_BOX = re.compile(
    rb"viewBox\s*=\s*[\"'][\d.eE+-]+[\s,]+[\d.eE+-]+[\s,]+([\d.eE+-]+)[\s,]+([\d.eE+-]+)"
)


def main() -> None:
    """Fetch, read, compare, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--folder", type=Path, help="with drawings to read, instead of fetching")
    asked.add_argument("--smoke", action="store_true", help="the samples alone")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = told.folder or Path(made)
        if told.smoke:
            folder = Path(__file__).parents[2] / "samples"
        elif told.folder is None:
            fetch(folder)
        svg = sorted(folder.rglob("*.svg"))
        print(f"SVG: {len(svg)} files")
        report(svg_files(svg))
        dxf = sorted(folder.rglob("*.dxf"))
        print(f"DXF: {len(dxf)} files")
        report(dxf_files(dxf))


def fetch(folder: Path) -> None:
    """Bring what can be had; a machine without apt or pip has less."""
    with contextlib.suppress(OSError, subprocess.CalledProcessError):
        subprocess.run(["apt-get", "download", "-q", "librsvg2-tests"], cwd=folder, check=True)
        for package in folder.glob("*.deb"):
            subprocess.run(["dpkg-deb", "-x", package, folder / "svg"], check=True)
    with contextlib.suppress(OSError, subprocess.CalledProcessError):
        words = ["download", "-q", "--no-deps", "--no-binary", ":all:", "--no-build-isolation"]
        subprocess.run([sys.executable, "-m", "pip", *words, "ezdxf"], cwd=folder, check=True)
        for packed in folder.glob("*.tar.gz"):
            with tarfile.open(packed) as tar:
                tar.extractall(folder / "dxf", filter="data")


def report(found: Iterator[tuple[str, str]]) -> None:
    """Print how many there are of each outcome, and each that is not as it should be."""
    counts: Counter[str] = Counter()
    reasons: Counter[str] = Counter()
    for outcome, line in found:
        counts[outcome] += 1
        if outcome in ("FAILED", "differs", "differs, explained", "slow"):
            print(f"  {outcome}: {line}", flush=True)
        if outcome == "refused in words":
            reasons[re.sub(r"'[^']*'", "'...'", line.partition(": ")[2])[:80]] += 1
    for outcome, many in counts.most_common():
        print(f"  {many:5} {outcome}")
    for reason, many in reasons.most_common():
        print(f"        {many:5} refused: {reason}")


def svg_files(paths: list[Path]) -> Iterator[tuple[str, str]]:
    """Give the outcome of each file, and a line on it."""
    for path in paths:
        begun = time.process_time()
        try:
            ours = ours_of(path)
        except UserError as fault:
            yield "refused in words", f"{path.name}: {fault.problem}"
            continue
        except Exception as fault:
            yield "FAILED", f"{path}: {type(fault).__name__}: {fault}"
            continue
        if (took := time.process_time() - begun) > 5.0:
            yield "slow", f"{path.name}: {took:.1f} s"
        try:
            theirs = theirs_of(path)
        except Exception as fault:
            yield "the reference fails", f"{path.name}: {fault}"
            continue
        if not ours and not theirs:
            yield "nothing drawn, by both", path.name
            continue
        off = apart(ours, theirs)
        line = f"{path.name}: {off:.3f} mm, {len(ours)} lines, {len(theirs)} by the reference"
        reason = EXPLAINED.get(path.name)
        if off <= SAME:
            yield "the same", line
        elif reason is not None:
            yield "differs, explained", f"{line}: {reason}"
        else:
            yield "differs", line


def ours_of(path: Path) -> list[np.ndarray]:
    """Return all lines of a file, mm, by plotout."""
    from plotout_svg.document import load
    from plotout_svg.page import number
    from plotout_svg.shapes import polylines
    from plotout_svg.tree import drawn

    with _sized(path) as sized:
        document = load(sized, {})
    shapes, _ = drawn(document)
    lines = [
        line
        for shape in shapes
        for line in polylines(shape.element, shape.matrix, document.place(shape.element))
    ]
    side = document.root.get("height")
    height = document.matrix[1, 2]
    if side is not None:  # a viewBox of another shape than the page may lie lower on it
        height = number(side, 0.0, document.place(document.root)) * MM
    return [line * [1, -1] + [0, height] for line in lines]  # y down, from the page's upper edge


@contextlib.contextmanager
def _sized(path: Path) -> Iterator[Path]:
    """Give a copy of a drawing whose page is in px, where it names no unit: as browsers have it.

    plotout itself asks how large a unit is meant to be. A page in per cent, or without a size, is
    as large as its viewBox.
    """
    data = path.read_bytes()
    head = _HEAD.search(data)
    if head is None:
        yield path
        return
    box = _BOX.search(head[0])
    made = _PERCENT.sub(b"", head[0]) if box else head[0]
    made = _SIDE.sub(lambda side: side[0][:-1] + b"px" + side[0][-1:], made)
    sized = set(re.findall(rb"\s(width|height)\s*=", made))
    if not sized:
        wide, high = (box[1], box[2]) if box else (b"1000", b"1000")
        made = made[:4] + b' width="%spx" height="%spx"' % (wide, high) + made[4:]
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(data[: head.start()] + made + data[head.end() :])
        yield copy


def theirs_of(path: Path) -> list[np.ndarray]:
    """Return all lines of a file, mm, by svgelements."""
    import svgelements as se

    lines = []
    for each in se.SVG.parse(str(path), ppi=96.0, reify=True).elements():
        if not isinstance(each, se.Shape) or each.values.get("visibility") == "hidden":
            continue
        lines += [line * MM for line in _parts(se, abs(se.Path(each)))]
    return lines


def _parts(se, path) -> Iterator[np.ndarray]:
    points: list[tuple[float, float]] = []
    for each in path:
        if isinstance(each, se.Move) or each.start is None:
            if len(points) > 1:
                yield np.array(points)
            points = [tuple(each.end)] if each.end is not None else []
            continue
        if isinstance(each, se.Line | se.Close):
            if each.end is not None:
                points.append(tuple(each.end))
            continue
        points += [tuple(each.point(t)) for t in np.linspace(0.0, 1.0, 200)[1:]]
    if len(points) > 1:
        yield np.array(points)


def apart(ours: list[np.ndarray], theirs: list[np.ndarray]) -> float:
    """Return how far, in mm, any point of either lies from the other; infinite for one alone."""
    ours = [line for line in ours if np.ptp(line, axis=0).max() > 0.0]
    theirs = [line for line in theirs if np.ptp(line, axis=0).max() > 0.0]
    if not ours or not theirs:
        return 0.0 if not ours and not theirs else float("inf")
    return max(_farthest(ours, theirs), _farthest(theirs, ours))


def _farthest(lines: list[np.ndarray], others: list[np.ndarray]) -> float:
    """Return how far any point of these lines lies from the others, mm."""
    pairs = np.vstack([np.stack([line[:-1], line[1:]], axis=1) for line in others])
    tree = shapely.STRtree(shapely.linestrings(pairs))
    points = shapely.points(np.vstack(lines))
    _, far = tree.query_nearest(points, return_distance=True, all_matches=False)
    return float(far.max())


def dxf_files(paths: list[Path]) -> Iterator[tuple[str, str]]:
    """Give the outcome of reading every layer of each file as lines."""
    from plotout_dxf.curves import entities, flattened
    from plotout_dxf.document import load

    for path in paths:
        begun = time.process_time()
        try:
            document, _ = load(path)
            found = entities(document.modelspace(), path)
            lines = [line for each in found for line in flattened(each, 1.0, path)]
            yield "read", f"{path.name}: {len(lines)} lines"
        except PlotoutError as fault:
            yield "refused in words", f"{path.name}: {fault.problem}"
        except Exception as fault:
            yield "FAILED", f"{path}: {type(fault).__name__}: {fault}"
        if (took := time.process_time() - begun) > 5.0:
            yield "slow", f"{path.name}: {took:.1f} s"


if __name__ == "__main__":
    main()
