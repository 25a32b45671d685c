"""Pages of a home printer that the sample takes, beside the least that they could be.

The bound shares no code with laying. However it lies, the largest card alone takes some pages at
least: counted on its cells of 2 mm for every place of the grid (a cell counts only where no
neighbour shows it). Those pages hang together, so each but the first shows a strip that another
shows too (it is much wider than what pages share). What is left of the area of all cards, each
with half the gap around it, needs more.

python tests/bench/page_count.py [--seconds 60]
"""

from __future__ import annotations

import argparse
import math
import time
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity

from plotout import job

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "beekeepers-smock" / "set.toml"
STEP = 2.0  # mm: cells of a card, and steps of the grid
SHARED = 10.0  # mm that pages overlap, as shipped: each shows half of it beyond its cell


def least_alone(card: shapely.Polygon, pitch: tuple[float, float]) -> int:
    """Return the fewest pages that a card takes by itself, in any place, upright or turned."""
    best = 10**6
    inner = SHARED / 2.0 + STEP  # so that rounding to cells never counts a page too many
    for angle in (0.0, 90.0):  # the rest are the same, mirrored
        turned = affinity.rotate(card, angle, origin=(0, 0))
        left, bottom, right, top = turned.bounds
        x, y = np.arange(left, right, STEP) + STEP / 2, np.arange(bottom, top, STEP) + STEP / 2
        filled = shapely.contains_xy(turned, *np.meshgrid(x, y, indexing="ij"))
        sums = np.zeros((len(x) + 1, len(y) + 1), dtype=np.int64)
        sums[1:, 1:] = filled.cumsum(axis=0).cumsum(axis=1)

        def bounds(size: int, pitch: float, shift: float) -> list[tuple[int, int]]:
            begins = np.arange(-shift, size * STEP, pitch)
            ends = [
                (math.ceil((b + inner) / STEP), int((b + pitch - inner) / STEP)) for b in begins
            ]
            return [(max(0, a), min(size, b)) for a, b in ends if min(size, b) > max(0, a)]

        rows = {shift: bounds(len(y), pitch[1], shift) for shift in np.arange(0, pitch[1], STEP)}
        for across in np.arange(0.0, pitch[0], STEP):
            columns = bounds(len(x), pitch[0], across)
            for row in rows.values():
                best = min(best, sum(
                    bool(sums[b, d] - sums[a, d] - sums[b, c] + sums[a, c])
                    for a, b in columns for c, d in row
                ))  # fmt: skip
    return best


def bound(cards: list[shapely.Polygon], page: tuple[float, float], gap: float) -> int:
    """Return the least number of pages for all cards. page: what one shows, mm."""
    largest = max(cards, key=lambda card: card.area)
    alone = least_alone(largest, (page[0] - SHARED, page[1] - SHARED))
    wide, tall = page[0] + gap, page[1] + gap
    together = alone * wide * tall - (alone - 1) * (SHARED + gap) * min(wide, tall)
    area = sum(card.buffer(gap / 2.0).area for card in cards)
    return alone + max(0, math.ceil((area - together) / (wide * tall)))


def main() -> None:
    """Lay the sample at once, and in the time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--smoke", action="store_true", help="at once, of a few cards")
    asked = parser.parse_args()
    machine = job.load_machine("home-a4")
    some = ("pocket", "gusset", "loop") if asked.smoke else ()
    for seconds in (0.0,) if asked.smoke else (0.0, asked.seconds):
        begun = time.perf_counter()
        made = job.plan(job.Request(job.read_set(SAMPLE), machine, seconds=seconds, cards=some))
        spent = time.perf_counter() - begun
        printed, faults = 0, []
        for result in made.results:
            faults += result.faults
            printed += sum(len(part.plan.printed) for part in result.tiled)
        tile = made.results[0].tiled[0].plan.tiles[0]
        cards = [shapely.Polygon(card.outline) for card in made.cards]
        least = bound(cards, (tile.width, tile.height), machine.gap)
        proved = "; ".join(faults) or "read back as meant"
        print(
            f"home-a4, {len(cards)} cards, {seconds:g} s for laying: {printed} pages, "
            f"at least {least}; {spent:.1f} s in all; {proved}",
            flush=True,
        )
        assert printed >= least
        assert not faults


if __name__ == "__main__":
    main()
