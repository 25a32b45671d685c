"""How true pricks are that are read off photographs: random scenes, rendered, the truth known.

    python tests/bench/photo.py KIND [--first SEED] [--scenes N] [--to FILE]
    python tests/bench/photo.py --table FILE...
    python tests/bench/photo.py --smoke

KIND: flat (one photo of flat paper), written (the same, with 20 words, numbers or arrows written by
hand 5 to 18 mm from pricks, some over them), lifted (one, paper that lifts by 0.3 mm), three (three
photos from clearly different sides, paper that lifts by 1 mm), scan (a sheet scanned at 300 dpi in
two parts), long (a flat sheet of 1.8 m in three photos side by side, tilted 3 to 18 degrees). Each
other photo is 12 megapixels on about 900 mm, tilted 0 to 35 degrees (three: 15 to 35),
on white, brown or dotted paper, with shadow, creases, dust, lettering and, in every other, a pencil
line. The renderer (tests/photo/render.py) shares no code with the reader.

A long run is made in pieces: --to adds a line of JSON per scene to a file, and --table sums up
such files. What is aimed at stands in ASKED.
"""

from __future__ import annotations

import argparse
import json
import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "photo"))

LIFT = {"flat": 0.0, "written": 0.0, "lifted": 0.3, "three": 1.0, "scan": 0.0, "long": 0.0}  # mm
WORDS = 20
ASKED = (
    ("95 of 100 pricks within, mm", "0.15 0.15 0.20 0.12 0.10"),
    ("the same, worst scene", ""),
    ("rms, mm", "three: 0.07"),
    ("within their expected error, %", "95"),
    ("expected error, median, mm", ""),
    ("pricks of runs found, %", "99"),
    ("false, %", "at most 1"),
    ("key points within 0.5 mm, %", "99"),
    ("runs and corners right, % of scenes", "95"),
    ("scale off, at most, %", "0.02"),
    ("scale off by more, scenes", "0"),
    ("CPU a photo, median, s", "2"),
    ("CPU a photo, most, s", "2"),
    ("memory, most, MiB", "1024"),
)


def photographed(kind: str, seed: int, folder: Path):
    """Render a scene's photographs. Returns the scene and the files."""
    import render

    if kind == "scan":
        return scanned(seed, folder)
    if kind == "long":
        return side_by_side(seed, folder)
    photos = 3 if kind == "three" else 1
    scene = replace(render.scene(seed, lift=LIFT[kind]), words=WORDS if kind == "written" else 0)
    rng = np.random.default_rng(seed + 5)
    azimuth, paths = rng.uniform(0, 360), []
    for nth in range(photos):
        tilt = rng.uniform(0, 35) if photos == 1 else rng.uniform(15, 35)
        camera = render.camera(
            rng, tilt=tilt, azimuth=azimuth + nth * 360 / photos + rng.uniform(-20, 20),
            aim=rng.uniform(-15, 15, 2), reach=rng.uniform(900, 960),
        )  # fmt: skip
        paths.append(folder / f"{kind}-{seed}-{nth}.jpg")
        paths[-1].write_bytes(render.photograph(scene, camera, blur=rng.uniform(0.6, 1.1)))
    return scene, paths


def scanned(seed: int, folder: Path):
    """Render a sheet's scan in two parts that share strips. Returns the scene and the files."""
    import render
    from PIL import Image

    scene = render.scene(seed, wide=300.0, tall=190.0)
    rng = np.random.default_rng(seed + 5)
    x, y = scene.paper.max(axis=0) + np.array([90.0, 85.0])
    paths = []
    for nth, box in enumerate(((-x, -y, 60.0, y), (-60.0, -y, x, y))):
        paths.append(folder / f"scan-{seed}-{nth}.png")
        part = render.scan(scene, 300.0, box, angle=rng.uniform(-1.0, 1.0))
        Image.fromarray(part).save(paths[-1], dpi=(300, 300), compress_level=1)
    return scene, paths


def side_by_side(seed: int, folder: Path):
    """Render three photographs of a long sheet. Returns the scene and the files."""
    import render

    rng = np.random.default_rng(seed + 5)
    wide, tall = 1710.0, 370.0
    x, y = np.array([wide, tall]) / 2.0 + 45.0  # the paper's edge
    along = np.linspace(130.0 - x, x - 130.0, 6)
    spots = [(at, side * (y + 42.0), 0.0) for side in (1, -1) for at in along]
    spots += [(side * (x + 42.0), 0.0, 90.0) for side in (1, -1)]
    strips = {}
    for number, (*middle, way) in enumerate(spots, start=1):
        angle = float(way + rng.uniform(-4.0, 4.0) + rng.choice([0.0, 180.0]))
        at = np.array(middle) + rng.uniform(-5.0, 5.0, 2)
        strips[number] = (angle, *(at - render._placed([[109.0, 11.0]], angle, 0.0, 0.0)[0]))
    scene, paths = render.scene(seed, wide=wide, tall=tall, strips=strips, bow=40.0), []
    for nth, aim in enumerate((-520.0, 0.0, 520.0)):
        camera = render.camera(
            rng, tilt=rng.uniform(3, 18), azimuth=rng.uniform(0, 360),
            aim=(aim, rng.uniform(-10, 10)), reach=rng.uniform(960, 1000),
        )  # fmt: skip
        paths.append(folder / f"long-{seed}-{nth}.jpg")
        paths[-1].write_bytes(render.photograph(scene, camera, blur=rng.uniform(0.6, 1.1)))
    return scene, paths


def measured(kind: str, seed: int, folder: Path) -> dict:
    """Render, read and compare one scene. Returns what --table sums up."""
    from against import score
    from plotout_photo.survey import survey

    from plotout import UserError

    scene, paths = photographed(kind, seed, folder)
    begun = time.process_time()
    told = {"kind": kind, "seed": seed, "paper": scene.kind, "pencil": bool(scene.pencil)}
    try:
        made = survey(paths)
    except UserError as fault:
        return {**told, "fault": str(fault)}
    cpu = (time.process_time() - begun) / len(paths)
    got = score(scene, made)
    return {
        **told,
        "off": got.off.round(4).tolist(),
        "expected": got.expected.round(4).tolist(),
        "found": got.found,
        "false": got.false,
        "count": got.count,
        "corners": got.corners,
        "right": got.runs_right,
        "scale": got.scale,
        "cpu": cpu,
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def line(row: dict) -> str:
    """Return a scene's figures in one line."""
    named = f"{row['kind']} {row['seed']} {row['paper']}{' pencil' if row['pencil'] else ''}"
    if "fault" in row:
        return f"{named}: {row['fault']}"
    off = np.array(row["off"])
    return (f"{named}: 95 % {np.percentile(off, 95):.3f} mm  rms {np.sqrt(np.mean(off**2)):.3f}  "
            f"found {100 * row['found']:.1f}  false {row['false']}  "
            f"key points {100 * row['corners']:.0f}  scale {100 * row['scale']:+.4f} %  "
            f"{row['cpu']:.1f} s{'' if row['right'] else '  RUNS WRONG'}")  # fmt: skip


def summed(rows: list[dict]) -> list[str]:
    """Return the figures over scenes of one kind, in the order of ASKED."""
    off, expected = (np.concatenate([row[name] for row in rows]) for name in ("off", "expected"))
    scale = 100 * np.abs([row["scale"] for row in rows])
    cpu = [row["cpu"] for row in rows]
    return [
        f"{np.percentile(off, 95):.3f}",
        f"{max(np.percentile(row['off'], 95) for row in rows):.3f}",
        f"{np.sqrt(np.mean(off**2)):.3f}",
        f"{100 * np.mean(off <= expected):.1f}",
        f"{np.median(expected):.3f}",
        f"{100 * np.mean([row['found'] for row in rows]):.1f}",
        f"{100 * sum(row['false'] for row in rows) / sum(row['count'] for row in rows):.2f}",
        f"{100 * np.mean([row['corners'] for row in rows]):.1f}",
        f"{100 * np.mean([row['right'] for row in rows]):.1f}",
        f"{scale.max():.4f}",
        f"{np.sum(scale > 0.02)}",
        f"{np.median(cpu):.2f}",
        f"{max(cpu):.2f}",
        f"{max(row['memory'] for row in rows):.0f}",
    ]


def table(rows: list[dict]) -> str:
    """Return the table over all kinds that are among the rows."""
    read = [row for row in rows if "fault" not in row]
    kinds = [kind for kind in LIFT if any(row["kind"] == kind for row in read)]
    columns = [summed([row for row in read if row["kind"] == kind]) for kind in kinds]
    lines = [f"{'':36}{'asked':>26}" + "".join(f"{kind:>8}" for kind in kinds)]
    scenes = [str(sum(row["kind"] == kind for row in read)) for kind in kinds]
    lines.append(f"{'scenes read':36}{'':>26}" + "".join(f"{count:>8}" for count in scenes))
    for nth, (name, asked) in enumerate(ASKED):
        figures = "".join(f"{column[nth]:>8}" for column in columns)
        lines.append(f"{name:36}{asked:>26}{figures}")
    lines += [f"not read: {line(row)}" for row in rows if "fault" in row]
    return "\n".join(lines)


def main() -> None:
    """Render, read, compare, print; or sum up."""
    as_written = argparse.RawDescriptionHelpFormatter
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=as_written)
    asked.add_argument("kind", nargs="?", default="flat", choices=LIFT)
    asked.add_argument("--first", type=int, default=0, help="seed of the first scene")
    asked.add_argument("--scenes", type=int, default=20)
    asked.add_argument("--to", type=Path, help="file to which a line of JSON per scene is added")
    asked.add_argument("--table", type=Path, nargs="+", help="files to sum up; nothing is rendered")
    asked.add_argument("--smoke", action="store_true", help="one scene")
    said = asked.parse_args()
    if said.table:
        print(table([json.loads(text) for path in said.table for text in path.open()]))
        return
    try:
        import cv2
        import plotout_photo.survey  # noqa: F401
    except ImportError as missing:
        print(f"left out: {missing}")
        return
    cv2.setNumThreads(1)
    rows = []
    with tempfile.TemporaryDirectory() as name:
        for seed in range(said.first, said.first + (1 if said.smoke else said.scenes)):
            rows.append(measured(said.kind, seed, Path(name)))
            print(line(rows[-1]), flush=True)
            if said.to:
                with said.to.open("a") as file:
                    file.write(json.dumps(rows[-1]) + "\n")
            for path in Path(name).iterdir():
                path.unlink()
    print(table(rows))


if __name__ == "__main__":
    main()
