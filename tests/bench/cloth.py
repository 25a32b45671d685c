"""Cloth for the sample set beside the bound by area and the engine alone.

Published strip-packing instances of garments are shipped by no package that could be had: the
pieces are the sample's own. The engine alone gets the same polygons, turns, gap and time.
Run: python tests/bench/cloth.py [--seconds 10]
"""

import argparse
import time
from pathlib import Path

import spyrrow

from plotout import job
from plotout.rack.cloth import need
from plotout.rack.cloth_pieces import Cloth

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"


def alone(found, seconds):
    """Length, mm, that the engine alone comes to."""
    turns = [0.0] if found.cloth.nap else [0.0, 180.0]
    items = [
        spyrrow.Item(each.card.id, [tuple(map(float, p)) for p in each.outline[:-1]], 1, turns)
        for each in found.sheet.placed
    ]
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds, seed=1, min_items_separation=found.cloth.gap
    )
    return spyrrow.StripPackingInstance("cloth", found.cloth.width, items).solve(config).width


def main(seconds):
    """Print a line for each cloth: at once, in the time, the engine alone, the bound."""
    pattern_set = job.read_set(SAMPLE)
    cloths = [
        Cloth("self", 1400.0),
        Cloth("self", 1100.0),
        Cloth("self", 1400.0, nap=True),
        Cloth("self", 380.0),
    ]
    for cloth in cloths:
        start = time.perf_counter()
        quick = need(pattern_set, cloth, seconds=0)
        spent = time.perf_counter() - start
        best = need(pattern_set, cloth, seconds=seconds)
        engine = alone(best, seconds)
        print(
            f"{cloth.title}{', nap' if cloth.nap else ''}, {best.pieces} pieces: "
            f"at once {quick.length:.0f} mm in {spent:.2f} s; "
            f"in {seconds} s {best.length:.0f} mm ({best.used:.1f} %); "
            f"engine alone {engine:.0f} mm; by area at least {best.bound:.0f} mm"
        )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=int, default=10)
    parser.add_argument("--smoke", action="store_true", help="A small run: does it work at all?")
    asked = parser.parse_args()
    main(1 if asked.smoke else asked.seconds)
