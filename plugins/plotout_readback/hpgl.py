"""Reads HP-GL and HP-GL/2.

Sources: Hewlett-Packard, 7550A Graphics Plotter Interfacing and Programming Manual (HP-GL, device
control by ESC .); HP-GL/2 and HP RTL Reference Guide. A plotter counts in units: 0.025 mm by the
manual, or the step of its profile. FR advances a roll by a frame, whose length PS sets, and
coordinates begin anew in every frame (from memory).
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import accumulate

import numpy as np

from plotout import Buffer, Machine, Reading
from plotout_readback.encoded import read_polyline
from plotout_readback.tracing import PART, Trace, arc, sheet_map

_TOKEN = re.compile(
    rb"\x1b%-12345X(?:@PJL[^\n]*\n)*"  # leave the language; job lines
    rb"|\x1b\.[^0-9;:]?(?:[0-9; ]*:)?"  # device control
    rb"|\x1b%-?[0-9]*[AB]|\x1bE"  # change of language, reset
    rb"|[\s;\x03]+"
    rb"|(?P<name>[A-Za-z][ \t\r\n]*[A-Za-z])(?P<rest>[^A-Za-z;\x1b]*);?",
    re.DOTALL,
)
_SAID = re.compile(rb"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+))")
_FRAME = re.compile(rb"[Ff]\s*[Rr]")
_PAIRS = re.compile(rb"(?:[^,]*,[^,]*,){1,20000}")
_FARTHEST = 1e9  # plotter units
_LONG = 1 << 18  # bytes of a list of pairs: a longer one is read piece by piece
_LONGEST = 8 << 20  # bytes of an instruction: more could not be read in bounded memory
_MOVES = (b"PU", b"PD", b"PA", b"PR")
_STILL = {"IN", "DF", "PS", "PW", "LT", "NP", "WU", "QL", "TR", "PC", "CR", "BP", "EC"}
_STILL |= {"SS", "SM", "PG", "VN", "AS", "CA", "CS", "SI", "SR", "SL", "DI", "DR", "LA", "ST"}
_STILL |= {"LM", "MT", "NR", "PT", "AC", "IM"}
_WORKS = {"PD", "PE", "AA", "AR", "CI", "LB"}


def read(data: bytes, machine: Machine) -> Reading:
    """Return what a plotter obeying `data` would trace, in sheet mm."""
    *some, last = (part for _, part in _parts(data, machine, sys.maxsize))
    whole = [*some, last]
    travels = [part.travels for part in whole if part.travels is not None]
    traced = tuple(traced for part in whole for traced in part.traced)
    return replace(last, traced=traced, travels=np.vstack(travels))


def parts(data: Buffer, machine: Machine) -> Iterator[tuple[int, Reading]]:
    """Yield the same in parts, each with the number of bytes read so far."""
    yield from _parts(data, machine, PART)


def _parts(data: Buffer, machine: Machine, most: int) -> Iterator[tuple[int, Reading]]:
    """Yield a part after about `most` coordinates, and after every frame of a roll; the frames are
    placed end to end.
    """
    unit, window = machine.step, machine.bed.window
    length = machine.bed.length if window is None else window
    if window is not None and _advances(data, unit):
        machine = replace(machine, bed=replace(machine.bed, length=window))
    to_sheet = sheet_map(machine, unit)
    state, frames = _Plotter(unit), 0
    for at in _obeyed(state, data):
        if state.trace.size >= most or state.frames > frames:
            yield at, _along(state.trace.part(to_sheet), frames * length)
            frames = state.frames
    if frames and window is None:
        state.trace.unknown["FR: the machine's profile has no window"] += 1
    elif frames and state.size and min(abs(size * unit - length) for size in state.size) > unit:
        state.trace.unknown[
            "PS: a frame that differs from the window of the machine's profile"
        ] += 1
    ends_safe = not state.trace.down
    yield len(data), _along(state.trace.reading(to_sheet, ends_safe=ends_safe), frames * length)


def _obeyed(state: _Plotter, data: Buffer) -> Iterator[int]:
    """Obey instruction by instruction; yield where each ends."""
    at = 0
    while at < len(data):
        found = _TOKEN.match(data, at)
        if not found or found.end() == at:
            state.trace.unknown[f"a byte {data[at]} that does not begin an instruction"] += 1
            at += 1
            continue
        at = found.end()
        if at - found.start() > _LONGEST and found["name"].upper() not in _MOVES:
            state.trace.unknown[f"an instruction of more than {_LONGEST >> 20} MiB"] += 1
        elif found["name"]:
            name = found["name"].translate(None, b" \r\n\t").decode("ascii").upper()
            state.sheet(name)
            at = state.obey(name, found, data)
            yield at


def _advances(data: Buffer, unit: float) -> bool:
    """Return whether a file advances a roll, so that its coordinates refer to a frame."""
    if not _FRAME.search(data):
        return False
    state = _Plotter(unit)
    for _ in _obeyed(state, data):
        if state.frames:
            return True
        if state.trace.size > PART:
            state.trace.part(np.eye(2, 3))
    return False


def _along(part: Reading, by: float) -> Reading:
    """Return a part moved along the roll, mm."""
    if not by or part.travels is None:
        return part
    shift = np.array([by, 0.0])
    traced = tuple(replace(line, points=line.points + shift) for line in part.traced)
    return replace(part, traced=traced, travels=part.travels + shift)


class _Plotter:
    """A plotter's state beyond what Trace holds. unit: mm that its coordinates count."""

    def __init__(self, unit: float) -> None:
        self.unit = unit
        self.trace = Trace()
        self.relative = False
        self.terminator = b"\x03"
        self.speeds: dict[int, float] = {}
        self.forces: dict[int, float] = {}
        self.frames = 0
        self.size: list[float] = []
        self.worked = self.ejected = False

    def sheet(self, name: str) -> None:
        """Note an instruction that works on another sheet than those before it."""
        if name == "PG":
            self.ejected = self.worked
        elif name in _WORKS:
            if self.ejected:
                self.trace.unknown["PG: it changes the sheet, and works on"] += 1
            self.worked, self.ejected = True, False

    def obey(self, name: str, found: re.Match[bytes], data: Buffer) -> int:
        """Obey one instruction; return where in `data` the next one begins."""
        if name in ("LB", "PE", "CO", "DT", "SM"):
            return self._worded(name, found.start("rest"), data)
        if name in ("PU", "PD", "PA", "PR"):
            self._moves(name, data, *found.span("rest"))
            return found.end()
        numbers = self._numbers(name, found["rest"])
        if name == "SP":
            self.trace.lift()
            self._take(int(numbers[0]) if numbers else 0)
        elif name in ("VS", "FS"):
            self._limit(self.speeds if name == "VS" else self.forces, numbers)
        elif name in ("AA", "AR", "CI"):
            self._arc(name, numbers)
        elif name == "FR":
            self._frame()
        elif name in _STILL:
            if name in ("IN", "DF"):
                self._initialise(name)
            elif name == "PS":
                self.size = numbers
        elif name in ("IP", "SC", "IW", "RO", "IR", "MC") and not any(numbers):
            pass  # back to what is in force anyway
        else:
            self.trace.unknown[f"{name}: not followed"] += 1
        return found.end()

    def _worded(self, name: str, start: int, data: Buffer) -> int:
        """Obey an instruction with parameters other than numbers."""
        if name == "DT":
            mode = re.compile(rb"(.)(?:,[01])?;?|;", re.DOTALL).match(data, start)
            self.terminator = (mode[1] if mode and mode[1] else None) or b"\x03"
            return mode.end() if mode else start
        if name == "SM":
            if data[start : start + 1].strip(b"; \r\n"):
                self.trace.unknown["SM: the machine's own sign at every point"] += 1
            return min(start + 1, len(data))
        if name == "CO":
            quoted = re.compile(rb'\s*"[^"]*"\s*;?').match(data, start)
            return quoted.end() if quoted else start
        end = data.find(self.terminator if name == "LB" else b";", start)
        end = len(data) if end < 0 else end
        if end - start > _LONGEST:
            self.trace.unknown[f"{name}: more than {_LONGEST >> 20} MiB"] += 1
            return end + 1
        if name == "LB":
            self.trace.unknown["LB: the machine's own lettering"] += 1
        else:
            read_polyline(
                data[start:end],
                self.trace.at,
                move=self._encoded,
                select=self._take,
                wrong=self._wrong,
            )
        return end + 1

    def _encoded(self, flat: list[float], down: bool) -> None:
        if down:
            self.trace.lower()
        else:
            self.trace.lift()
        self.trace.go(flat)

    def _wrong(self, words: str) -> None:
        self.trace.unknown[words] += 1

    def _numbers(self, name: str, rest: bytes) -> list[float]:
        values = self._floats(name, rest)
        if values and not max(map(abs, values)) < _FARTHEST:
            self.trace.unknown[f"{name}: a number too large"] += 1
            return []
        return values

    def _floats(self, name: str, rest: bytes) -> list[float]:
        try:
            return list(map(float, rest.split(b","))) if rest.strip() else []
        except ValueError:
            pass
        values, at = [], 0
        while said := _SAID.match(rest, at):
            values.append(float(said[1]))
            at = said.end()
        if rest[at:].strip(b" ,\r\n\t"):
            self.trace.unknown[f"{name}: {rest[at : at + 12].decode('latin-1')!r}"] += 1
        return values

    def _moves(self, name: str, data: Buffer, at: int, end: int) -> None:
        if name in ("PU", "PD"):
            self.trace.lift() if name == "PU" else self.trace.lower()
        else:
            self.relative = name == "PR"
        while end - at > _LONG and (pairs := _PAIRS.match(data, at, end)):
            self._move(name, self._numbers(name, pairs[0][:-1]))
            at = pairs.end()
        self._move(name, self._numbers(name, data[at:end]))

    def _move(self, name: str, numbers: list[float]) -> None:
        if len(numbers) % 2:
            self.trace.unknown[f"{name}: half a pair of coordinates"] += 1
            numbers = numbers[:-1]
        if self.relative and numbers:
            x = list(accumulate(numbers[::2], initial=self.trace.at[0]))[1:]
            y = list(accumulate(numbers[1::2], initial=self.trace.at[1]))[1:]
            numbers[::2], numbers[1::2] = x, y
        self.trace.go(numbers)

    def _take(self, pen: int) -> None:
        self.trace.change(
            tool=pen or None,
            feed=self.speeds.get(pen, self.speeds.get(0)),
            force=self.forces.get(pen, self.forces.get(0)),
        )

    def _limit(self, limits: dict[int, float], numbers: list[float]) -> None:
        """Set VS in cm/s, or FS in the machine's units, for one pen or for all."""
        scale = 10.0 if limits is self.speeds else 1.0
        if numbers and not numbers[0] > 0.0:
            name = "VS" if limits is self.speeds else "FS"
            self.trace.unknown[f"{name}{numbers[0]:g}: not more than 0"] += 1
            return
        if not numbers:
            limits.clear()
        elif len(numbers) > 1:
            limits[int(numbers[1])] = numbers[0] * scale
        else:
            limits.clear()
            limits[0] = numbers[0] * scale
        self._take(int(self.trace.tool or 0))

    def _arc(self, name: str, numbers: list[float]) -> None:
        tolerance = 0.005 / self.unit
        x, y = self.trace.at
        if name == "CI" and numbers:
            was_down = self.trace.down
            self.trace.lift()
            self.trace.go([x + numbers[0], y])
            self.trace.lower()
            self.trace.go(arc((x + numbers[0], y), (x, y), 2.0 * math.pi, tolerance))
            self.trace.lift()
            self.trace.go([x, y])
            if was_down:
                self.trace.lower()
        elif len(numbers) >= 3:
            shift = (x, y) if name == "AR" else (0.0, 0.0)
            centre = (numbers[0] + shift[0], numbers[1] + shift[1])
            sweep = numbers[2]
            if abs(sweep) > 360.0:
                self.trace.unknown[f"{name}: an arc of more than a full turn"] += 1
                sweep = math.copysign(360.0, sweep)
            self.trace.go(arc((x, y), centre, math.radians(sweep), tolerance))
        else:
            self.trace.unknown[f"{name}: too few numbers"] += 1

    def _frame(self) -> None:
        if self.trace.down:
            self.trace.unknown["FR: the roll is advanced with the pen down"] += 1
            self.trace.lift()
        self.frames += 1

    def _initialise(self, name: str) -> None:
        self.relative = False
        self.terminator = b"\x03"
        if name == "IN":
            self.trace.lift()
            self.speeds.clear()
            self.forces.clear()
