"""Laying: length of roll, sheets and time, beside the engine alone and the bound by area.

The shapes are our own: garment-like pieces with bays and points; and full strips cut up by lines at
random, whose best is therefore known to be 100 %. With --data DIR, those of DIR/laying, in the JSON
of arXiv 2509.13329, too, beside the shortest published there. Each is laid from several seeds; what
is told is the median, beside the engine's alone.
Sheets: sets of 20 to 60 cards, at once and in 10 s, beside the bound by area; every lay is checked
by GEOS. At the end: the CPU of a first lay of 100 and 1,000 cards, and whether a time for those is
kept.

Run: python tests/bench/laying.py [--seconds 30] [--data DIR] [--only strips|sheets|growth]
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import statistics
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import shapely
import spyrrow
from shapely import affinity
from shapely.geometry.polygon import orient
from shapely.ops import split

from plotout import Card, Mark, Stroke, Work
from plotout.layout import Stock, StockSheet, lay

WIDTH = 610.0
MAT = StockSheet("mat", 609.6, 304.8, margins=(3.0,) * 4)
GAP = 4.0
SHORTEST = {"shirts": 59.393, "trousers": 235.172, "marques": 75.176}  # arXiv 2509.13329


def card(ring: np.ndarray, number: int) -> Card:
    """Return a card with this outline."""
    closed = np.vstack([ring, ring[:1]])
    strokes = (Stroke(closed, Work.CUT, Mark.OUTLINE),)
    return Card(f"c{number}", f"c{number}", f"Card {number}", number, 1, closed, strokes)


def wavy(count: int, seed: int) -> list[Card]:
    """Return garment-like shapes: longer than wide, with bays."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(1, count + 1):
        angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        waves = 1.0 + 0.2 * np.sin(rng.integers(2, 6) * angle + rng.uniform(0, 6))
        sides = rng.uniform(30, 90), rng.uniform(60, 220)
        made.append(card(np.column_stack([np.cos(angle), np.sin(angle)]) * sides * waves[:, None],
                         number))  # fmt: skip
    return made


def jigsaw(pieces: int, seed: int) -> tuple[list[Card], float]:
    """Return a full strip cut up by straight cuts at random, and its length."""
    rng = np.random.default_rng(seed)
    long = 1200.0
    parts = [shapely.box(0, 0, long, WIDTH)]
    while len(parts) < pieces:
        parts.sort(key=lambda part: part.area)
        whole = parts.pop()
        x, y = np.array(whole.centroid.coords[0]) + rng.uniform(-30, 30, 2)
        way = rng.uniform(0, np.pi)
        reach = 3000.0 * np.array([np.cos(way), np.sin(way)])
        side = shapely.LineString([(x - reach[0], y - reach[1]), (x + reach[0], y + reach[1])])
        parts += [p for p in split(whole, side).geoms if p.area > 1.0]
    turned = [affinity.rotate(part, 90.0 * rng.integers(4)) for part in parts]
    rings = [np.asarray(orient(p).exterior.coords)[:-1] for p in turned]
    return [card(ring, n) for n, ring in enumerate(rings, start=1)], long


def area(cards: Sequence[Card]) -> float:
    """Return the cards' area in mm2."""
    return float(sum(shapely.Polygon(each.outline).area for each in cards))


def alone(
    cards: Sequence[Card], kind: StockSheet, seconds: int, gap: float, seed: int = 1
) -> float:
    """Return the length that the engine alone comes to, by its own way of keeping a gap."""
    items = [
        spyrrow.Item(each.id, [(float(x), float(y)) for x, y in each.outline[:-1]], 1,
                     list(kind.angles))
        for each in cards
    ]  # fmt: skip
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds, seed=seed, min_items_separation=gap or None
    )
    return float(spyrrow.StripPackingInstance("bench", kind.width, items).solve(config).width)


ROLL = StockSheet("roll", 50_000.0, WIDTH, roll=True)


def published(file: Path) -> tuple[list[Card], StockSheet]:
    """Return the cards of an instance, ten times as large, and its strip."""
    data = json.loads(file.read_text())
    shapes = [(item["shape"]["data"], item) for item in data["items"]]
    rings = [10.0 * np.asarray(ring) for ring, item in shapes for _ in range(item["demand"])]
    rings = [ring[:-1] if np.array_equal(ring[0], ring[-1]) else ring for ring in rings]
    turns = {tuple(item["allowed_orientations"]) for _, item in shapes}
    grain = {(0.0, 180.0): "width", (0.0, 90.0, 180.0, 270.0): ""}[turns.pop()]
    cards = [card(ring, number) for number, ring in enumerate(rings, start=1)]
    return cards, StockSheet("strip", 50_000.0, 10.0 * data["strip_height"], roll=True,
                             grain=grain)  # fmt: skip


def roll(
    name: str, cards: Sequence[Card], seconds: int, gap: float, seeds: Sequence[int],
    kind: StockSheet = ROLL,
) -> None:  # fmt: skip
    """Lay on a roll: at once, in the time, and by the engine alone; the last two from each seed."""
    stock = Stock((kind,))
    told: dict[str, list[tuple[float, float]]] = {}
    shared: list[float] = []

    def note(what: str, work: Callable[[], float]) -> None:
        begun = time.perf_counter()
        used = work()
        told.setdefault(what, []).append((used, time.perf_counter() - begun))

    def laid(budget: int, seed: int) -> float:
        made = lay(cards, stock, gap=gap, seconds=budget, seed=seed)
        shapes = [shapely.Polygon(placed.outline) for placed in made[0].placed]
        shared.append(sum(one.intersection(other).area
                          for one, other in itertools.combinations(shapes, 2)))  # fmt: skip
        return float(max(placed.outline[:, 0].max() for placed in made[0].placed))

    note("at once", lambda: laid(0, 1))
    for seed in seeds:
        note(f"in {seconds} s", lambda seed=seed: laid(seconds, seed))  # type: ignore[misc]
        note("engine alone", lambda seed=seed: alone(cards, kind, seconds, gap, seed))  # type: ignore[misc]
    full = area(cards) / kind.width
    for what, each in told.items():
        used, spent = (statistics.median(pair) for pair in zip(*each, strict=True))
        every = ", ".join(f"{100 * full / length:.1f}" for length, _ in each)
        print(f"{name:22} gap {gap:g}  {what:13} {used:8.1f} mm  {100 * full / used:5.1f} %  "
              f"{spent:5.2f} s  ({every})")  # fmt: skip
    print(f"{name:22} gap {gap:g}  overlap {max(shared):.2g} mm2   wanted 0")
    pairs = zip(told[f"in {seconds} s"], told["engine alone"], strict=True)
    more = [100.0 * (full / ours - full / alone) for (ours, _), (alone, _) in pairs]
    print(f"{name:22} density beside the engine alone: {statistics.mean(more):+.2f} % on average, "
          f"{min(more):+.2f} % at worst   wanted >= 1 %, >= -0.2 %", flush=True)  # fmt: skip


def sets(count: int, seconds: int) -> None:
    """Lay random sets on mats, at once and in a time."""
    totals = np.zeros(3, dtype=int)
    for seed in range(1, count + 1):
        cards = wavy(20 + seed * 7 % 41, seed)
        room = (MAT.room[0] + GAP) * (MAT.room[1] + GAP)
        grown = [shapely.Polygon(each.outline).buffer(GAP / 2.0) for each in cards]
        bound = math.ceil(sum(each.area for each in grown) / room)
        lays = [lay(cards, Stock((MAT,)), gap=GAP, seconds=each) for each in (0, seconds)]
        for sheet in (sheet for made in lays for sheet in made):
            shapes = [shapely.Polygon(placed.outline) for placed in sheet.placed]
            assert all(a.distance(b) > GAP - 0.01 for a, b in itertools.combinations(shapes, 2))
        found = [len(made) for made in lays]
        print(f"set {seed:2}, {len(cards)} cards: {found[0]:3} sheets at once, {found[1]:3} in "
              f"{seconds} s, bound by area {bound:3}", flush=True)  # fmt: skip
        totals += [*found, bound]
    print(f"{count} sets: {totals[0]} sheets at once, {totals[1]} in {seconds} s each, bound by "
          f"area {totals[2]}")  # fmt: skip


def growth(few: int, many: int, seconds: int) -> None:
    """Lay ever more cards at once, and many in a time: how it grows, and how it is kept."""
    stock = Stock((MAT,))
    cards, took = wavy(many, 6), []
    for count in (few, many):
        begun = time.process_time()
        lay(cards[:count], stock, gap=4, seconds=0)
        took.append(time.process_time() - begun)
    exponent = math.log(took[1] / took[0]) / math.log(many / few)
    print(f"first lay, {few} and {many} cards: {took[0]:.1f} and {took[1]:.1f} s of CPU, exponent "
          f"{exponent:.2f}   wanted <= 15 s for 1,000, <= 1.2")  # fmt: skip
    begun = time.perf_counter()
    laid = lay(cards, stock, gap=4, seconds=seconds)
    spent = time.perf_counter() - begun
    print(f"{many} cards in {seconds} s: {spent:.1f} s by the clock, {len(laid)} sheets   "
          f"wanted within 10 %")  # fmt: skip


def main() -> None:
    """Run all."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=int, default=30)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--data", type=Path, help="folder that holds laying/*.json")
    parser.add_argument("--only", choices=("strips", "sheets", "growth"))
    parser.add_argument("--smoke", action="store_true", help="only that it runs")
    asked = parser.parse_args()
    seconds = 1 if asked.smoke else asked.seconds
    seeds = range(1, 2 if asked.smoke else asked.seeds + 1)
    lay(wavy(2, 1), Stock((StockSheet("warm", 900.0, 600.0),)), gap=1, seconds=0)  # imports
    if asked.only in (None, "strips"):
        strips(asked.data, seconds, seeds, pieces=(16,) if asked.smoke else (16, 32))
    if asked.only in (None, "sheets"):
        sets(*(1, 1) if asked.smoke else (30, 10))
    if asked.only in (None, "growth"):
        growth(*(6, 24) if asked.smoke else (100, 1_000), seconds)


def strips(data: Path | None, seconds: int, seeds: Sequence[int], pieces: Sequence[int]) -> None:
    """Lay all strips."""
    roll("garment-like, 20", wavy(20, 1), seconds, 4.0, seeds)
    for count in pieces:
        puzzle, long = jigsaw(count, 2)
        print(f"{f'jigsaw, {count}':22} best known: {long:.0f} mm, 100 %")
        roll(f"jigsaw, {count}", puzzle, seconds, 0.0, seeds)
    files = sorted(data.glob("laying/*.json")) if data else []
    if not files:
        print("no published instances are read: --data names no folder with laying/*.json")
    for file in files:
        cards, strip = published(file)
        best = 10.0 * SHORTEST[file.stem]
        dense = 100.0 * area(cards) / strip.width / best
        print(f"{file.stem:22} shortest published: {best:.1f} mm, {dense:.1f} %")
        roll(file.stem, cards, seconds, 0.0, seeds, strip)


if __name__ == "__main__":
    main()
