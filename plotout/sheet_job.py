"""Makes one sheet: ordered, compiled, emitted and read back; long work on a roll in frames."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from plotout import plugins
from plotout.geometry.polyline import moved, placing
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.hookspecs import Driver
from plotout.machine import AUTOMATIC, Machine
from plotout.machine.calibration import corrected
from plotout.model import Advance, Placed, Program, Run, Sheet

if TYPE_CHECKING:
    from plotout.layout import LeftOver, StockSheet
    from plotout.layout.paper.frames import Frame
    from plotout.layout.paper.tiles import Tiled
    from plotout.route import Route

_START = (0.0, 0.0)
UNREAD = "no plugin reads its driver's files, so it was not compared with what was meant"


@dataclass(frozen=True, slots=True)
class Figures:
    """What is reported of the work on a sheet; mm, s. warnings: the program's."""

    strokes: int
    worked: float
    travel: float
    travel_as_read: float
    seconds: float
    seconds_by_tool: Mapping[str, float]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetResult:
    """A sheet with everything made from it. name: of its files, without a suffix.

    work: the machine's motion, None if only its files are kept; figures: what is reported of that.
    data: of its file. more: of the files of the frames after the first, if the roll is advanced by
    hand in between. pictures: by their suffixes, if drawn. read_back: False if no plugin reads the
    driver's files, so that they were not compared with what was meant. tiled: its division into
    pages, if any. left: the off-cut of a sheet that is cut up, if it was made for files.
    """

    name: str
    suffix: str
    sheet: Sheet
    work: Program | None
    figures: Figures
    data: bytes
    faults: tuple[str, ...]
    read_back: bool
    more: tuple[bytes, ...] = ()
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    tiled: tuple[Tiled, ...] = ()
    left: LeftOver | None = None

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the user should know of its work and its files."""
        unread = () if self.read_back else (f"{self.file} was not read back: {UNREAD}",)
        return (*self.figures.warnings, *unread)

    @property
    def program(self) -> Program:
        """The machine's motion, if that is kept."""
        assert self.work is not None, "only the files of this sheet are kept"
        return self.work

    @property
    def file(self) -> str:
        """Name of the machine's file, the first if there are several."""
        return next(iter(self.files))

    @property
    def files(self) -> dict[str, bytes]:
        """The machine's files by name; files that failed their proof have other names."""
        ending = self.suffix + (".refused" if self.faults else "")
        if not self.more:
            return {self.name + ending: self.data}
        every = (self.data, *self.more)
        wide = max(2, len(str(len(every))))  # so that they are listed in their order
        return {
            f"{self.name}-frame-{number:0{wide}}{ending}": data
            for number, data in enumerate(every, start=1)
        }


def make_sheet(
    sheet: Sheet, machine: Machine, stem: str, *, kind: StockSheet | None = None
) -> SheetResult:
    """Order, compile, emit and read back one sheet. kind: its kind of stock, if known.

    A roll longer than the machine's window is worked frame by frame.
    """
    from plotout import layout, proof

    driver = plugins.driver(machine.driver)
    name = f"{stem}-sheet-{sheet.number:02d}"
    if kind is not None and kind.window is not None:
        at = layout.joints(sheet, kind.window, even=kind.even)
        if at:
            return _in_frames(sheet, machine, driver, name, at, kind.window)
    rolled = kind is not None and kind.roll and machine.kind not in ("printer", "file")
    stages = layout.stages(sheet, sheet.height) if rolled else (sheet.strokes,)
    program, figures = _worked(sheet, stages, machine, driver)
    data = _emitted(program, sheet, driver)
    interpreter = plugins.interpreter_for(driver.name)
    faults = proof.verify(program, sheet, data, interpreter) if interpreter else ()
    tiled = tuple(driver.tiles(program, sheet)) if driver.tiles else ()
    return SheetResult(
        name, driver.suffix, sheet, program, figures, data, faults, interpreter is not None,
        tiled=tiled,
    )  # fmt: skip


def _worked(
    sheet: Sheet, stages: Sequence[Sequence[Stroke]], machine: Machine, driver: Driver
) -> tuple[Program, Figures]:
    """Return the work of a sheet, and what is reported of it. stages: strokes, done in turn."""
    from plotout import route

    if len(stages) > 1:
        ordered = _staged(stages, sheet, machine)
    else:
        ordered = route.order(stages[0], machine=machine)
    program = _compiled(sheet, ordered.strokes, machine, driver)
    return program, _figures(ordered, program)


def _figures(route: Route, program: Program) -> Figures:
    from plotout import tool

    return Figures(
        program.strokes, program.worked, route.travel, route.travel_as_read, program.seconds,
        program.seconds_by_tool, (*program.warnings, *tool.unsaid(program)),
    )  # fmt: skip


def with_pictures(result: SheetResult, *, travel: bool = False) -> SheetResult:
    """Return the result with pictures of the machine's work: SVG and PNG.

    travel: as in `picture.sheet_picture`.
    """
    from plotout.proof import picture

    scene = picture.sheet_picture(result.program, result.sheet, travel=travel)
    svg, png = picture.to_svg(scene).encode(), picture.to_png(scene)
    return replace(result, pictures={".svg": svg, ".png": png})


def load_stages() -> None:
    """Load what finishing, laying and making sheets needs, to have it loaded when it is needed.

    What is loaded before processes are forked is loaded only once.
    """
    import HersheyFonts  # noqa: F401
    import numpy.ma  # noqa: F401 which some of numpy's functions load

    from plotout import layout, proof, route, tool  # noqa: F401
    from plotout.finish import finish  # noqa: F401
    from plotout.layout.nesting import lay, lay_file, left_over  # noqa: F401
    from plotout.proof import picture  # noqa: F401
    from plotout.review.whole_set import review  # noqa: F401
    from plotout.route import group, search, trails  # noqa: F401


@cache
def make_ready(driver: str) -> None:
    """Load what making and drawing a sheet needs, by doing both with a small one.

    driver: whose files will be read back.
    """
    load_stages()
    plugins.interpreter_for(driver)
    from plotout.proof.rendering import to_png
    from plotout.proof.scene import SceneLine, scene
    from plotout.route import order

    rings = np.array([[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [0.0, 50.0], [0.0, 0.0]])
    strokes = [Stroke(rings + 60.0 * index, Work.CUT, Mark.OUTLINE) for index in range(12)]
    strokes += [Stroke(ring.points[:2], Work.DRAW, Mark.INTERNAL) for ring in strokes]
    order(strokes)
    to_png(scene("", [SceneLine(rings, "cut")]), 10)


def _staged(stages: Sequence[Sequence[Stroke]], sheet: Sheet, machine: Machine) -> Route:
    """Order every stage separately, from where the previous one ends."""
    from plotout import route

    strokes: list[Stroke] = []
    at = _START
    for stage in stages:
        strokes += route.order(stage, at, machine=machine).strokes
        at = (float(strokes[-1].points[-1, 0]), float(strokes[-1].points[-1, 1]))
    return _route(strokes, sheet)


def _route(strokes: Sequence[Stroke], sheet: Sheet) -> Route:
    from plotout import route
    from plotout.route.ordering import travel_of

    travels = travel_of(strokes, _START), travel_of(sheet.strokes, _START)
    return route.Route(tuple(strokes), (), *travels)


def _compiled(sheet: Sheet, strokes: Sequence[Stroke], machine: Machine, driver: Driver) -> Program:
    from plotout import tool

    true = corrected(strokes, machine.calibration)
    return tool.compile_sheet(sheet, true, machine, arcs=driver.arcs)


def _emitted(program: Program, sheet: Sheet, driver: Driver) -> bytes:
    return driver.emit(program, sheet)


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One frame's work, in the machine's window. origin: its beginning on the roll, mm as sent."""

    origin: float
    sheet: Sheet
    strokes: tuple[Stroke, ...]
    program: Program


def _in_frames(
    sheet: Sheet, machine: Machine, driver: Driver, name: str, at: Sequence[float], window: float
) -> SheetResult:
    """Work a sheet frame by frame. at: where the frames join; window: their greatest length; mm.

    Frames are divided in lengths as sent to the machine, in which its window is measured; they are
    a little more or less than what it makes.
    """
    from plotout import layout, proof, tool

    automatic = machine.bed.advance == AUTOMATIC
    spare = 0.0 if automatic else machine.reach
    scale = machine.calibration.scale_x
    ends = [x / scale for x in at]
    sent = corrected(sheet.strokes, machine.calibration)
    sent = tuple(tool.as_line(stroke, machine, ends) for stroke in sent)
    bed = replace(machine.bed, length=window / scale + 2.0 * spare)
    parts = [
        _part(sheet, frame, replace(machine, bed=bed), driver, spare)
        for frame in layout.frames(sent, ends)
        if frame.strokes or automatic
    ]
    whole = _whole(sheet, machine, parts)
    ordered = _route([stroke for part in parts for stroke in part.strokes], sheet)
    if automatic:
        pairs = [(whole, _emitted(whole, sheet, driver))]
    else:
        parts = [_named(part, number, len(parts)) for number, part in enumerate(parts, start=1)]
        pairs = [(part.program, _emitted(part.program, part.sheet, driver)) for part in parts]
    interpreter = plugins.interpreter_for(driver.name)
    faults = proof.verify_frames(whole, sheet, pairs, interpreter) if interpreter else ()
    first, *more = (data for _, data in pairs)
    read_back = interpreter is not None
    return SheetResult(
        name, driver.suffix, sheet, whole, _figures(ordered, whole), first, faults,
        read_back, tuple(more),
    )  # fmt: skip


def _part(sheet: Sheet, frame: Frame, machine: Machine, driver: Driver, spare: float) -> _Part:
    """Compile one frame, where it lies in the machine's window."""
    from plotout import route, tool

    bed = machine.bed
    origin = frame.start - spare if frame.start else 0.0
    if frame.start:  # the margin at the beginning of the roll is gone
        bed = replace(bed, margins=(0.0, *bed.margins[1:]))
    bed = replace(bed, margins=(*bed.margins[:2], 0.0, bed.margins[3]))
    back = placing(0.0, (-origin, 0.0))
    here = replace(
        sheet,
        width=bed.length,
        placed=tuple(_shifted(placed, -origin) for placed in sheet.placed),
        marks=tuple(stroke.moved(back) for stroke in sheet.marks),
    )
    strokes = route.order(frame.strokes, (frame.start, 0.0), machine=machine).strokes
    sent = [stroke.moved(back) for stroke in strokes]
    program = tool.compile_sheet(here, sent, replace(machine, bed=bed), arcs=driver.arcs)
    return _Part(origin, here, strokes, program)


def _shifted(placed: Placed, by: float) -> Placed:
    x, y = placed.shift
    return replace(placed, shift=(x + by, y))


def _named(part: _Part, index: int, of: int) -> _Part:
    """Return a part whose program records that others follow it."""
    name = f"{part.program.name}, frame {index} of {of}"
    return replace(part, program=replace(part.program, name=name, stays=index < of))


def _whole(sheet: Sheet, machine: Machine, parts: Sequence[_Part]) -> Program:
    """Return the whole roll's program from those of its frames."""
    from plotout import tool

    runs: list[Run] = []
    advances: list[Advance] = []
    before = 0.0
    for index, part in enumerate(parts):
        if index:
            advances.append(Advance(len(runs), part.origin - before))
        before = part.origin
        there = placing(0.0, (part.origin, 0.0))
        runs += [
            replace(run, points=moved(run.points, there), stroke=run.stroke.moved(there))
            for run in part.program.runs
        ]
    warnings = [text for part in parts for text in part.program.warnings]
    whole = Program(
        sheet.name,
        machine,
        sheet.width,
        sheet.height,
        tuple(runs),
        warnings=tuple(dict.fromkeys([*warnings, _advance_words(sheet, machine, advances)])),
        advances=tuple(advances),
    )
    seconds, by_tool = tool.timed_frames(whole)
    return replace(whole, seconds=seconds, seconds_by_tool=by_tool)


def _advance_words(sheet: Sheet, machine: Machine, advances: Sequence[Advance]) -> str:
    """Return in words how the roll is advanced."""
    by = [f"{advance.by * machine.calibration.scale_x:.1f} mm" for advance in advances]
    text = f"sheet {sheet.number} is worked in {len(by) + 1} frames"
    slip = "the marks across the joints show a slip"
    if machine.bed.advance == AUTOMATIC:
        return f"{text}: the machine advances the roll by {by[0]} between them; {slip}"
    if len(set(by)) == 1 < len(by):
        steps = f"by {by[0]} after every frame but the last"
    else:
        every = enumerate(by, start=1)
        steps = ", ".join(f"by {step} after frame {number}" for number, step in every)
    return f"{text}, with a file per frame: advance the roll {steps}; {slip}"
