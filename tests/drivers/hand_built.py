"""Programs built by hand for the tests of drivers."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from plotout import Mark, Program, Run, Sheet, Stroke, Tool, ToolKind, Work
from plotout.machine import Bed, Machine

PEN = Tool("pen", 1, ToolKind.PEN, (Work.DRAW,), 250.0, power=20.0)
BLADE = Tool(
    "blade", 2, ToolKind.TRAILING_BLADE, (Work.CUT,), 35.0, force=120.0, power=60.0, depth=1.2
)
WIDTH, HEIGHT = 600.0, 300.0

# names that are commands, or end a label, comment, string or element early, in some format
HOSTILE = (
    'PU;SP9;"',
    "\x03PD9,9;",
    "a)\nM3 S1000\nG1 X1 (b",
    "%0A\x1b%0A\x1b.K",
    ";LBx\x03",
    "</title><script>x</script>",
    "]]>&amp;&#0;",
    ") Tj ET (",
    "\\) endobj %%EOF",
    "0\nEOF\n  0\nSECTION",
    "%%c ^J \\U+0041 \\P{}",
    "! ~ ? $X\x18\x85",
    "Łódź 裁断 \u202e\ud7ff\ufffe",
)


def machine(options: Mapping[str, Any] | None = None, **changes: Any) -> Machine:
    said: dict[str, Any] = {
        "name": "test",
        "title": "Test",
        "kind": "knife",
        "driver": "none",
        "bed": Bed(WIDTH, HEIGHT),
        "tools": (PEN, BLADE),
        "options": dict(options or {}),
    }
    return Machine(**(said | changes))


def run(points: Sequence[Sequence[float]] | np.ndarray, tool: Tool = PEN, **changes: Any) -> Run:
    line = np.array(points, dtype=float)
    mark = changes.pop("mark", Mark.OUTLINE)
    card = changes.pop("card", "")
    stroke = Stroke(line, tool.does[0], mark, card)
    said = {"feed": tool.speed, "force": tool.force, "power": tool.power, "depth": tool.depth}
    return Run(line, tool, **({"stroke": stroke} | said | changes))


def scattered(count: int = 40, seed: int = 7) -> tuple[Run, ...]:
    """Lines of 2 to 60 points all over the bed; every third goes on with the tool down."""
    rng = np.random.default_rng(seed)
    runs: list[Run] = []
    for nth in range(count):
        start = rng.uniform((50, 50), (WIDTH - 50, HEIGHT - 50))
        steps = rng.normal(0.0, 3.0, (int(rng.integers(2, 60)), 2))
        tool = PEN if nth < count // 2 else BLADE
        follows = nth % 3 == 2 and runs[-1].tool is tool
        line = (runs[-1].points[-1] if follows else start) + np.cumsum(steps, axis=0) - steps[0]
        line = np.clip(line, 0.0, (WIDTH, HEIGHT))
        force = None if tool.force is None else tool.force + nth
        runs.append(run(line, tool, follows=follows, force=force))
    return tuple(runs)


def program(runs: Sequence[Run], of: Machine | None = None, name: str = "sheet 1") -> Program:
    return Program(name, of or machine(), WIDTH, HEIGHT, tuple(runs))


def sheet(**changes: Any) -> Sheet:
    return Sheet(**({"name": "sheet 1", "number": 1, "width": WIDTH, "height": HEIGHT,
                     "placed": ()} | changes))  # fmt: skip


def chains(runs: Sequence[Run]) -> list[np.ndarray]:
    """What is worked without a lift, one array each."""
    found: list[np.ndarray] = []
    for each in runs:
        if each.follows:
            found[-1] = np.vstack([found[-1], each.points[1:]])
        else:
            found.append(each.points)
    return found
