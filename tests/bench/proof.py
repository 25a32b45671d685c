"""How long reading back takes beside writing: a sheet of 1,000,000 vertices, driver by driver.

python tests/bench/proof.py [--vertices 1000000] [--smoke]
"""

from __future__ import annotations

import time

import numpy as np
from asking import asked

from plotout import plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.model import Program, Run, Sheet
from plotout.proof import verify

EACH = 1000
BLADE = Tool("blade", 1, ToolKind.PEN, (Work.CUT,), 50.0, depth=1.0)


def program(driver: str, vertices: int) -> Program:
    """Return wavy closed curves, `EACH` vertices long, all over a table."""
    kind, step = ("router", 0.01) if driver == "gcode" else ("pen", 0.025)
    machine = Machine("table", "Table", kind, driver, Bed(1000, 800), (BLADE,), step=step)
    chance = np.random.default_rng(1)
    turn = np.linspace(0.0, 2.0 * np.pi, EACH)
    runs = []
    for nth in range(vertices // EACH):
        centre = chance.uniform((60.0, 60.0), (940.0, 740.0))
        radius = chance.uniform(5.0, 40.0) * (1.0 + 0.1 * np.sin(5.0 * turn + nth))
        points = centre + np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
        stroke = Stroke(points, Work.CUT, Mark.OUTLINE, "card")
        runs.append(Run(points, BLADE, stroke, 50.0, depth=1.0))
    return Program("bench", machine, 1000.0, 800.0, tuple(runs))


def main() -> None:
    vertices = asked(__doc__, "vertices", usual=1_000_000, smoke=20_000)
    sheet = Sheet("bench", 1, 1000.0, 800.0, ())
    for name in ("hpgl", "hpgl2", "gcode", "pdf-page", "svg"):
        made = program(name, vertices)
        reader = plugins.interpreter_for(name)
        assert reader is not None
        start = time.perf_counter()
        data = plugins.driver(name).emit(made, sheet)
        written = time.perf_counter()
        faults = verify(made, sheet, data, reader)
        read = time.perf_counter()
        share = (read - written) / (written - start)
        print(
            f"{name:9} {vertices} vertices, {len(data) / 1e6:.1f} MB: "
            f"written {written - start:.2f} s, read back and compared {read - written:.2f} s "
            f"({share:.2f} of writing), {len(faults)} faults"
        )


if __name__ == "__main__":
    main()
