"""Loops compiled with the package find what those compiled in a first run find."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from plotout.geometry import free_cells, nearest, sliding, trial_lays
from plotout.loops import ahead, cache, compiled
from plotout.route import signatures

ROOT = Path(ahead.__file__).parents[2]
PARTS = (signatures, free_cells, nearest, sliding, trial_lays)
LOOPS = [loop for part in PARTS for loop in part.loops()]
ORDERING = """
import json, sys
import numpy as np
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order
random = np.random.default_rng(4)
places = random.uniform(0.0, 300.0, (60, 2))
ring = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0], [0.0, 0.0]])
strokes = [Stroke(place + ring, Work.CUT, Mark.OUTLINE) for place in places]
strokes += [Stroke(place[None] + [[0.0, 0.0], [5.0, 1.0]], Work.DRAW, Mark.INTERNAL)
            for place in random.uniform(0.0, 300.0, (60, 2))]
done = order(strokes, steps=4000)
from plotout.layout import Stock, StockSheet, lay
from plotout.model import Card
box = 8.0 * ring
cards = [Card(f"c{n}", "c", "c", n, 1, box, (Stroke(box, Work.CUT, Mark.OUTLINE),))
         for n in range(1, 9)]
sheets = lay(cards, Stock((StockSheet("card", 300.0, 220.0),)), gap=3.0, seconds=0)
places = [[each.shift for each in sheet.placed] for sheet in sheets]
print(json.dumps([done.travel, done.sources, places, "numba" in sys.modules]))
"""


def ordered(folder: Path, **variables: str) -> list:
    """Return what ordering and laying find in a process that imports the package from a folder.

    variables: of its environment.
    """
    known = os.environ | {"PYTHONPATH": str(folder)} | variables
    started = [sys.executable, "-c", ORDERING]
    done = subprocess.run(started, env=known, cwd=folder, capture_output=True, check=True)
    return json.loads(done.stdout)


@pytest.mark.thorough  # compiling takes 15 s
@pytest.mark.skipif(not shutil.which("cc"), reason="there is no C compiler")
def test_the_order_and_the_lay_are_the_same_and_numba_is_not_loaded(tmp_path):
    shutil.copytree(ROOT / "plotout", tmp_path / "plotout")
    ahead.built(tmp_path / "plotout" / "loops", LOOPS)
    *found, loads_numba = ordered(tmp_path)
    *expected, compiles = ordered(ROOT)
    assert found == expected
    assert (loads_numba, compiles) == (False, True)


@pytest.mark.thorough  # compiling takes 10 s
def test_without_a_c_compiler_nothing_is_compiled_in_the_first_run(tmp_path):
    shutil.copytree(ROOT / "plotout", tmp_path / "plotout")
    folder = tmp_path / "plotout" / "loops" / cache.SHIPPED.name
    build = (
        "from pathlib import Path; from plotout.loops import ahead; import sys\n"
        "from plotout.geometry import free_cells, nearest, sliding, trial_lays\n"
        "from plotout.route import signatures\n"
        "parts = (signatures, free_cells, nearest, sliding, trial_lays)\n"
        "ahead.kept(Path(sys.argv[1]), [loop for part in parts for loop in part.loops()])"
    )
    known = os.environ | {"PYTHONPATH": str(tmp_path)}
    subprocess.run([sys.executable, "-c", build, str(folder)], env=known, cwd=tmp_path, check=True)
    caches = tmp_path / "caches"
    assert ordered(tmp_path, NUMBA_CACHE_DIR=str(caches)) == ordered(ROOT)
    assert not caches.exists()


def test_every_loop_has_a_name_of_its_own():
    """A built module holds them by their names: with two alike, a wheel is built without loops."""
    names = [loop.__name__ for loop, _ in LOOPS]
    assert sorted(set(names)) == sorted(names)


def test_arrays_that_are_not_contiguous_are_refused():
    """A built module reads an array's memory in C order whatever its strides are."""

    def total(numbers):
        return float(numbers.sum())

    called = compiled._with_whole_arrays(total, total)
    whole = np.arange(12.0).reshape(3, 4)
    assert called(whole) == 66.0
    with pytest.raises(TypeError, match="C order"):
        called(whole[:, ::2])
    with pytest.raises(TypeError, match="C order"):
        called((whole.T,))
