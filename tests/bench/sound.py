"""Whether sets that are right are called right: random garments with all their seams.

    python tests/bench/sound.py [--seeds 100] [--smoke]

A skirt, a bodice with sleeves, trousers, a bag and an apron for each seed, drawn here from random
measurements: curves are Bezier curves, sides that are sewn together are the same curve or are
solved to the same length (scipy's brentq), and every seam is listed, with notches. `plotout check`
must then find no fault, and its notes must ask nothing: they may only say what was chosen where a
card has little room (words left out, a hole or a notch placed otherwise). Printed: how many sets of
each garment were blamed, asked about, and had such a note; each fault and note, and how often.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
from asking import asked
from click.testing import CliRunner
from scipy.optimize import brentq

from plotout.cli import plotout

STEPS = np.linspace(0.0, 1.0, 201)[:, None]


def bezier(*ends):
    """Return points, (201, 2), of a cubic Bezier curve."""
    a, b, c, d = (np.asarray(end, dtype=float) for end in ends)
    return (
        a * (1 - STEPS) ** 3
        + 3 * b * STEPS * (1 - STEPS) ** 2
        + 3 * c * STEPS**2 * (1 - STEPS)
        + d * STEPS**3
    )


def line(*ends):
    """Return a straight line's ends, (2, 2)."""
    return np.asarray(ends, dtype=float)


def size(points):
    """Return a line's length, mm."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def over(points, width):
    """Return a line mirrored in x, and turned, so that a piece's other half goes on with it."""
    return (np.asarray(points) * [-1.0, 1.0] + [width, 0.0])[::-1]


class Garment:
    """A set being written: pieces as drawings, seams as words."""

    def __init__(self, name, rng):
        self.name, self.rng = name, rng
        self.text = [
            f'[set]\nname = "{name}"\nstyle = "S-1"\nsize = "one"\n[defaults]\n'
            f'allowance = "{rng.choice([6, 10, 12.7, 15])} mm"\n'
        ]
        self.drawings = {}

    def piece(self, name, edges, cut, more="", hem=0):
        """Add a piece of named lines, counter-clockwise, each from where the last ends."""
        ring = np.vstack([points[:-1] for points in edges.values()])
        low, high = ring.min(axis=0), ring.max(axis=0)
        placed = np.column_stack([ring[:, 0] - low[0], high[1] - ring[:, 1]]) + 10.0
        wide, tall = high - low + 20.0
        path = " L ".join(f"{x:.6f},{y:.6f}" for x, y in placed)
        file = f"p{len(self.drawings)}.svg"
        self.drawings[file] = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
            f'viewBox="0 0 {wide:.3f} {tall:.3f}"><path id="o" d="M {path} Z"/></svg>'
        )
        start = next(iter(edges.values()))[0] - low
        x, y = start + 10.0
        names = ", ".join(f'"{edge}"' for edge in edges)
        hems = f'edge = {{ hem = {{ allowance = "{hem} mm", corner = "turned back" }} }}\n'
        self.text.append(
            f'[[piece]]\nname = "{name}"\nedges = [{names}]\nstart = [{x:.3f}, {y:.3f}]\n'
            f'turn-angle = 12\nfrom = {{ file = "{file}", outline = "#o" }}\n'
            f"cut = [{{ {cut} }}]\n{more}{hems if hem else ''}"
        )

    def seam(self, name, first, second, ease=(0.0, 0.0), notches=()):
        """Add a seam. first, second: [(piece, edge, ...), ...], edges with "-" walked backwards."""

        def side(links):
            told = []
            for piece, *edges in links:
                names = ", ".join(f'"{edge}"' for edge in edges)
                told.append(f'{{ piece = "{piece}", edges = [{names}] }}')
            return told[0] if len(told) == 1 else f"[{', '.join(told)}]"

        self.text.append(
            f'[[seam]]\nname = "{name}"\nfirst = {side(first)}\nsecond = {side(second)}\n'
            f'ease = ["{ease[0]:.3f} mm", "{ease[1]:.3f} mm"]\n'
        )
        self.text += [f"[[seam.notch]]\n{notch}\n" for notch in notches]

    def checked(self, folder):
        """Return the faults and the notes of `plotout check`."""
        for file, drawing in self.drawings.items():
            (folder / file).write_text(drawing, "utf-8")
        path = folder / "set.toml"
        path.write_text("\n".join(self.text), "utf-8")
        done = CliRunner().invoke(plotout, ["check", str(path), "--json"])
        told = json.loads(done.stdout)
        if "errors" in told:
            return [error["problem"] for error in told["errors"]], []
        return told["faults"], told["notes"]


FOLD = 'cloth = "self", on-fold = true'
PAIR = 'cloth = "self", pair = true'


def grain(edge, inset):
    """Return the grain line along an edge, in the set file's words."""
    return f'grain = {{ along = "{edge}", inset = "{inset:.0f} mm" }}\n'


def skirt(rng):
    """A skirt: half a front on the fold, a pair of backs, half a waistband on the fold."""
    made = Garment("Skirt", rng)
    waist, hip, tall = rng.uniform(150, 210), rng.uniform(15, 45), rng.uniform(350, 800)
    dip, flare = rng.uniform(5, 15), rng.uniform(0, 60)
    foot = waist + hip + flare
    sizes = {}
    for name, less in (("Front", 0.0), ("Back", rng.uniform(-10, 20))):
        top = np.array([waist - less, tall + dip])
        low = np.array([foot - less, dip * 0.8])
        side = bezier(low, [foot - less - flare * 0.3, tall * 0.5], [top[0] + hip, tall * 0.8], top)
        edge = bezier(top, [top[0] * 0.6, tall], [top[0] * 0.3, tall], [0.0, tall])
        hem = bezier([0.0, 0.0], [low[0] * 0.3, 0.0], [low[0] * 0.7, 0.0], low)
        centre = line([0.0, tall], [0.0, 0.0])
        sizes[name] = size(edge)
        last = {"Front": "centre front", "Back": "centre back"}[name]
        fold = f'fold = "{last}"\n' if name == "Front" else ""
        made.piece(name, {"hem": hem, "side": side, "waist": edge, last: centre},
                   FOLD if fold else PAIR, fold + grain(last, 40))  # fmt: skip
    long, wide = sizes["Front"] + sizes["Back"], rng.uniform(50, 90)
    made.piece("Band", {"sewn": line([0, 0], [long, 0]), "end": line([long, 0], [long, wide]),
                        "free": line([long, wide], [0, wide]), "fold": line([0, wide], [0, 0])},
               FOLD, 'fold = "fold"\n' + grain("fold", 60))  # fmt: skip
    at = f'at = "{rng.uniform(100, 250):.1f} mm"'
    made.seam("side", [("Front", "side")], [("Back", "side")], notches=[at])
    made.seam("centre back", [("Back", "centre back")], [("Back", "centre back")],
              notches=[f'at = "{rng.uniform(120, 200):.1f} mm"\ncount = 2'])  # fmt: skip
    joint = f'at = "{sizes["Front"]:.4f} mm"'
    made.seam("waist", [("Band", "sewn")], [("Front", "-waist"), ("Back", "waist")],
              notches=[joint] if rng.random() < 0.5 else [])  # fmt: skip
    return made


def bodice(rng):
    """A bodice: half a front on the fold, a pair of backs, a pair of sleeves, half a collar."""
    made = Garment("Bodice", rng)
    chest, tall = rng.uniform(210, 300), rng.uniform(380, 640)
    deep, slope = rng.uniform(190, 240), rng.uniform(30, 50)
    neck, across = rng.uniform(65, 85), chest * rng.uniform(0.68, 0.78)
    holes, necks = {}, {}
    for name, drop, last in (("Front", rng.uniform(70, 100), "centre front"),
                             ("Back", rng.uniform(18, 30), "centre back")):  # fmt: skip
        low, tip = [chest, tall - deep], [across + 20.0, tall - slope]
        shoulder = line(tip, [neck, tall])
        side = line([chest + 10.0, 0.0], low)
        hole = bezier(low, [across - 5.0, low[1]], [across - 10.0, low[1] + 60.0], tip)
        curve = bezier([neck, tall], [neck - 8.0, tall - drop * 0.6],
                       [neck * 0.6, tall - drop], [0.0, tall - drop])  # fmt: skip
        fold = f'fold = "{last}"\n' if name == "Front" else ""
        made.piece(name, {"hem": line([0, 0], [chest + 10.0, 0]), "side": side, "armhole": hole,
                          "shoulder": shoulder, "neck": curve,
                          last: line([0, tall - drop], [0, 0])},
                   FOLD if fold else PAIR, fold + grain(last, 60), hem=25)  # fmt: skip
        holes[name], necks[name] = size(hole), size(curve)
    ease, half = rng.uniform(5, 25), chest * rng.uniform(0.62, 0.72)
    whole = holes["Front"] + holes["Back"] + ease
    half = min(half, 0.48 * whole)  # wider, its cap would be longer than the armhole even if flat
    long, wrist = rng.uniform(150, 480), half * rng.uniform(0.7, 0.95)

    def cap(high):
        back = bezier([half, 0], [half * 0.6, 5.0], [half * 0.5, high], [0, high])
        return np.vstack([back, over(back, 0.0)[1:]])

    high = brentq(lambda tried: size(cap(tried)) - whole, 1.0, 400.0)
    made.piece("Sleeve", {"hem": line([-wrist, -long], [wrist, -long]),
                          "back seam": line([wrist, -long], [half, 0.0]), "cap": cap(high),
                          "front seam": line([-half, 0.0], [-wrist, -long])},
               PAIR, f"grain = {{ from = [{half:.0f}, 60], to = [{half:.0f}, {long:.0f}] }}\n",
               hem=25)  # fmt: skip
    band, wide = necks["Front"] + necks["Back"], rng.uniform(30, 60)
    made.piece("Collar", {"sewn": line([0, 0], [band, 0]), "end": line([band, 0], [band, wide]),
                          "free": line([band, wide], [0, wide]), "fold": line([0, wide], [0, 0])},
               FOLD + ", count = 2", 'fold = "fold"\n' + grain("fold", 40))  # fmt: skip
    made.seam("shoulder", [("Back", "shoulder")], [("Front", "shoulder")])
    made.seam("side", [("Front", "side")], [("Back", "side")], notches=['at = "40 %"'])
    made.seam("underarm", [("Sleeve", "-front seam")], [("Sleeve", "back seam")])
    made.seam("centre back", [("Back", "centre back")], [("Back", "centre back")],
              notches=['at = "120 mm"'])  # fmt: skip
    notches = [f'at = "{rng.uniform(60, 90):.1f} mm"\ncount = 2',
               f'at = "{holes["Back"]:.4f} mm"\nease = "{ease / 2:.4f} mm"']  # fmt: skip
    made.seam("armhole", [("Sleeve", "cap")], [("Back", "armhole"), ("Front", "-armhole")],
              ease=(0.0, ease + 0.2), notches=notches)  # fmt: skip
    made.seam("neck", [("Collar", "sewn")], [("Front", "-neck"), ("Back", "neck")],
              notches=[f'at = "{necks["Front"]:.4f} mm"'])  # fmt: skip
    return made


def trousers(rng):
    """Trousers: pairs of fronts and backs, crotch seams of each with itself, a pair of bands."""
    made = Garment("Trousers", rng)
    tall, rise = rng.uniform(700, 1000), rng.uniform(220, 280)
    waist, fork = rng.uniform(190, 240), rng.uniform(35, 55)
    hem = waist * rng.uniform(0.7, 0.95)
    waists = {}
    inner = bezier(
        [0.0, 0.0], [-5.0, 200.0], [-fork * 0.2, tall - rise - 150], [-fork, tall - rise]
    )
    for name, in_by, wide in (("Front", 0.0, 0.0), ("Back", rng.uniform(10, 40), 20.0)):
        top_end = [12.0 + in_by, tall + wide / 2]
        pull = [10.0, tall - rise + 40.0 + wide]
        crotch = bezier([-fork, tall - rise], [0.0, tall - rise + 5.0], pull, top_end)
        out = bezier([hem, 0.0], [hem + 10, 250.0], [waist + 30.0, tall * 0.6], [waist, tall])
        top = line([waist, tall], crotch[-1])
        made.piece(name, {"hem": line([0, 0], [hem, 0]), "outseam": out, "waist": top,
                          "crotch": crotch[::-1], "inseam": inner[::-1]},
                   PAIR, f"grain = {{ from = [{waist * 0.6:.0f}, 120], "
                   f"to = [{waist * 0.6:.0f}, {tall - 150:.0f}] }}\n", hem=30)  # fmt: skip
        waists[name] = size(top)
    long, high = waists["Front"] + waists["Back"], rng.uniform(35, 60)
    made.piece("Band", {"sewn": line([0, 0], [long, 0]), "back": line([long, 0], [long, high]),
                        "free": line([long, high], [0, high]), "front": line([0, high], [0, 0])},
               PAIR + ", count = 2" if rng.random() < 0.5 else PAIR, grain("sewn", 15))  # fmt: skip
    made.seam("outseam", [("Front", "outseam")], [("Back", "outseam")], notches=['at = "35 %"'])
    made.seam("inseam", [("Front", "inseam")], [("Back", "inseam")], notches=['at = "50 %"'])
    if rng.random() < 0.5:
        made.seam("front crotch", [("Front", "crotch")], [("Front", "crotch")])
        made.seam("back crotch", [("Back", "crotch")], [("Back", "crotch")],
                  notches=['at = "70 mm"\ncount = 2'])  # fmt: skip
    else:
        side = [("Front", "crotch"), ("Back", "-crotch")]
        made.seam("crotch", side, side, notches=['at = "90 mm"'])
    made.seam("waist", [("Band", "sewn")], [("Front", "-waist"), ("Back", "waist")],
              notches=[f'at = "{waists["Front"]:.4f} mm"'])  # fmt: skip
    made.seam("band, back", [("Band", "back")], [("Band", "back")])
    return made


def bag(rng):
    """A bag: two panels that are the same turned over, and a strip round three of their sides."""
    made = Garment("Bag", rng)
    wide, tall, deep = rng.uniform(150, 400), rng.uniform(150, 400), rng.uniform(40, 120)
    high = rng.uniform(20, 60)
    base = bezier([0, high], [wide * 0.1, 0], [wide * 0.9, 0], [wide, high])
    made.piece("Panel", {"base": base, "right": line([wide, high], [wide, tall + high]),
                         "top": line([wide, tall + high], [0, tall + high]),
                         "left": line([0, tall + high], [0, high])},
               'cloth = "self", count = 2', grain("left", 50))  # fmt: skip
    round_ = size(base) + 2 * tall
    made.piece("Strip", {"one": line([0, 0], [round_, 0]), "end": line([round_, 0], [round_, deep]),
                         "two": line([round_, deep], [0, deep]), "start": line([0, deep], [0, 0])},
               'cloth = "self", count = 1', grain("one", 20))  # fmt: skip
    notches = [f'at = "{tall:.4f} mm"', f'at = "{tall:.4f} mm"\nfrom = "end"']
    for name, edge in (("front", "one"), ("back", "-two")):
        made.seam(name, [("Strip", edge)], [("Panel", "left", "base", "right")], notches=notches)
    return made


def apron(rng):
    """An apron: a gore on the fold between a pair of panels, or two that are unlike."""
    made = Garment("Apron", rng)
    tall, deep = rng.uniform(350, 800), rng.uniform(40, 80)
    top, flare = rng.uniform(60, 110), rng.uniform(10, 90)
    side = bezier([top + flare, 0], [top + flare * 0.6, tall * 0.4], [top, tall * 0.6], [top, tall])
    made.piece("Gore", {"hem": line([0, 0], side[0]), "side": side,
                        "waist": line(side[-1], [0, tall]), "centre": line([0, tall], [0, 0])},
               FOLD, 'fold = "centre"\n' + grain("centre", top / 2), hem=25)  # fmt: skip
    left, right = rng.uniform(150, 220, 2)
    paired = rng.random() < 0.5
    inner = side * [-1.0, 1.0] + [left + top, 0.0]
    made.piece("Left", {"hem": line([0, 0], inner[0]), "inner": inner,
                        "waist": line([left, tall], [0, tall]), "outer": line([0, tall], [0, 0])},
               PAIR if paired else 'cloth = "self"', grain("outer", 50), hem=25)  # fmt: skip
    made.seam("side", [("Gore", "side")], [("Left", "inner")], notches=['at = "40 %"'])
    other = ("Left", "waist")
    if not paired:
        inner, other = side[::-1] - [top, 0.0], ("Right", "-waist")
        made.piece("Right", {"hem": line(inner[-1], [right, 0]),
                             "outer": line([right, 0], [right, tall]),
                             "waist": line([right, tall], [0, tall]), "inner": inner},
                   'cloth = "self"', grain("outer", 50), hem=25)  # fmt: skip
        made.seam("right side", [("Gore", "side")], [("Right", "-inner")], notches=['at = "40 %"'])
    long = left + 2.0 * top + (left if paired else right)
    made.piece("Band", {"sewn": line([0, 0], [long, 0]), "end": line([long, 0], [long, deep]),
                        "free": line([long, deep], [0, deep]), "start": line([0, deep], [0, 0])},
               'cloth = "self"', grain("sewn", 20))  # fmt: skip
    made.seam("waist", [("Band", "sewn")],
              [("Left", "-waist"), ("Gore", "waist", "-waist"), other],
              notches=[f'at = "{left + by:.4f} mm"' for by in (0.0, top, 2.0 * top)])  # fmt: skip
    return made


CHOSEN = ("it has no room", "mm deep, not", "the hanging hole is", "is cut as half a V")
GARMENTS = (skirt, bodice, trousers, bag, apron)


def _chosen(note):
    """Return whether a note says what was chosen, and asks nothing."""
    return any(words in note for words in CHOSEN)


def main():
    """Print how many sets were blamed, and for what."""
    seeds = asked(__doc__, "seeds", usual=100, smoke=2)
    said: Counter[str] = Counter()
    for number, garment in enumerate(GARMENTS):
        faulty = asked_about = chose = 0
        for seed in range(seeds):
            with tempfile.TemporaryDirectory() as folder:
                made = garment(np.random.default_rng([seed, number]))
                faults, notes = made.checked(Path(folder))
            faulty += bool(faults)
            asked_about += not all(_chosen(note) for note in notes)
            chose += any(map(_chosen, notes))
            for kind, words in [("fault", f) for f in faults] + [("note", n) for n in notes]:
                said[f"{garment.__name__}, {kind}: {re.sub(r'[0-9.]+', '#', words)}"] += 1
        print(f"{garment.__name__}: {seeds} sound sets, {faulty} with faults, "
              f"{asked_about} asked about, {chose} with little room", flush=True)  # fmt: skip
    for words, often in said.most_common():
        print(f"{often:4d}  {words}")


if __name__ == "__main__":
    main()
