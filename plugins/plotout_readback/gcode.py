"""Reads RS-274/NGC (G-code).

Source: Kramer, Proctor, Messina, The NIST RS274NGC Interpreter, Version 3, NIST IR 6556 (2000).
Modal speed of a laser (M4) and S as power: common practice of small controllers.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterator, Mapping, Sequence

from plotout import Buffer, Machine, Reading
from plotout.kit import length
from plotout_readback import gcode_hazards
from plotout_readback.gcode_arcs import Bend
from plotout_readback.gcode_blocks import block_of
from plotout_readback.gcode_stretches import BURNT, LINE, PLAIN, TRAVEL
from plotout_readback.gcode_waits import Waits
from plotout_readback.tracing import PART, Trace, sheet_map

_APART = bytes.maketrans(b"XY\r\n", b"    ")
_STILL_G = {4.0, 17.0, 40.0, 49.0, 50.0, 54.0, 61.0, 61.1, 64.0, 80.0, 94.0, 91.1}
_STILL_M = {0.0, 1.0, 6.0, 7.0, 8.0, 9.0, 48.0, 49.0}
_LETTERS = frozenset("XYZIJRPFSTN")  # and the axis that turns a knife
_LONGEST = 64 << 10  # bytes of a line: no control takes so much
_ENGAGED = 1e-6
_UP = 5.0  # mm: of a profile that doesn't say
_LOW = 0.2  # mm: not above a sheet that isn't flat (from memory)
_ROUNDED = 1.0  # mm: 5 mm are 0.2 in


def read(data: bytes, machine: Machine) -> Reading:
    """Return what a machine obeying `data` would trace, in sheet mm."""
    ((_, whole),) = _parts(data, machine, sys.maxsize)
    return whole


def parts(data: Buffer, machine: Machine) -> Iterator[tuple[int, Reading]]:
    """Yield the same in parts, each with the number of bytes read so far."""
    yield from _parts(data, machine, PART)


def _parts(data: Buffer, machine: Machine, most: int) -> Iterator[tuple[int, Reading]]:
    """Yield a part after about `most` coordinates."""
    state, to_sheet = _Controller(machine), sheet_map(machine, 1.0)
    at = 0
    while at < len(data) and not state.ended:
        if state.plain and (found := PLAIN.match(data, at)) and state.feeds(found):
            state.straight(found[0], found["feed"])
        elif state.dark and (found := BURNT.match(data, at)):
            state.burn(found)
        elif found := TRAVEL.match(data, at):
            state.travel(found)
        else:
            found = LINE.match(data, at)
            assert found is not None  # the pattern matches anything
            if found.end() - at > _LONGEST:
                state.trace.unknown[f"a line of more than {_LONGEST >> 10} KiB"] += 1
            else:
                state.block(found[0])
        at = found.end()
        if state.trace.size >= most:
            yield at, state.trace.part(to_sheet)
    state.at_end()
    state.after_end(data, at)
    ends_safe = not state.engaged and not (state.spindle and state.kind == "laser")
    yield len(data), state.trace.reading(to_sheet, ends_safe=ends_safe)


class _Controller:
    """A controller's modal state."""

    def __init__(self, machine: Machine) -> None:
        self.trace = Trace()
        self.kind = machine.options.get("tool", "z")  # never guessed from what the file does
        self.rotary = str(machine.options.get("rotary", ""))
        self.letters = _LETTERS | {self.rotary}
        stated = machine.drop if "plunge" in machine.options else None
        self.plunge = stated.plunge if stated else math.inf  # mm/s
        up = machine.options.get("up", _UP)
        self.up = length(up) if isinstance(up, str) else float(up)  # mm
        self.full = float(machine.options.get("full", 1000.0))  # the S word of 100 %
        self.motion = -1.0
        self.unit = 1.0
        self.absolute = True
        self.centres_absolute = False
        self.z: float | None = None
        self.waits = Waits(machine)
        self.spindle = 0
        self.power = 0.0
        self.ended = False

    @property
    def engaged(self) -> bool:
        """Whether the tool works in a feed move."""
        if self.kind == "z":
            return self.z is not None and self.z <= _ENGAGED
        return self.spindle != 0 and (self.kind == "spindle" or self.power > 0.0)

    @property
    def plain(self) -> bool:
        """Whether straight feeds in mm can be read at once."""
        placed = self.kind != "z" or self.z is not None
        return self.absolute and self.unit == 1.0 and placed

    @property
    def dark(self) -> bool:
        """Whether it is a laser without a beam, and its straight feeds can be read at once."""
        return self.kind == "laser" and self.spindle == 0 and self.plain

    def feeds(self, found: re.Match[bytes]) -> bool:
        """Return whether a stretch of places is reached by feeds: by its own word, or as before."""
        return self.motion == 1.0 or found[0].startswith(b"G")

    def at_end(self) -> None:
        """Note a tool that ends hardly above the stock."""
        if self.kind == "z" and self.z is not None and _ENGAGED < self.z < _LOW:
            self.trace.unknown[f"it ends only {self.z:g} mm above the stock"] += 1

    def after_end(self, data: Buffer, at: int) -> None:
        """Note what follows the program's end: nobody has looked at it, and controls that are fed
        line by line go on with it.
        """
        some = False
        for found in LINE.finditer(data, at):
            line = found[0].strip(b"% \t\r\n\x00\x1a")  # the last: an old mark of a file's end
            if not line:
                continue
            block = block_of(line[:_LONGEST])
            if block.sound or block.unknown:
                self.trace.unsafe["work follows the program's end (M2 or M30)"] += 1
                return
            some = True
        if some:
            self.trace.notes["comments follow the program's end"] += 1

    def straight(self, text: bytes, feed: bytes | None) -> None:
        """Follow a stretch of straight feeds. feed: its F word's number, if there is one."""
        self.motion = 1.0
        if feed:
            self._feed({"F": float(feed)})
            text = text.replace(b"F" + feed, b"", 1)
        text = text.replace(b"G01", b"").replace(b"G1", b"")
        flat = list(map(float, text.translate(_APART).split()))
        self._feeds()
        self._engage(self.engaged)
        self._low_travel()
        self.trace.go(flat)

    def travel(self, found: re.Match[bytes]) -> None:
        """Follow a rapid move to a place."""
        self.motion = 0.0
        self._move({"X": float(found["x"]), "Y": float(found["y"])})

    def burn(self, found: re.Match[bytes]) -> None:
        """Follow a travel of a laser, and straight feeds with its beam on."""
        self.travel(found)
        self.power, self.spindle = float(found["power"]), 4
        self.straight(found["feeds"], found["feed"])
        self.spindle = 0
        self._engage(self.engaged)

    def block(self, line: bytes) -> None:
        """Obey one line."""
        block = block_of(line)
        if block.unknown:
            self.trace.unknown.update(block.unknown)
        if not block.sound:
            return
        words, gs = block.words, block.gs
        if words:
            self._settings(words)
        self._modes(gs)
        if words:
            self._feed(words)
        self._waits_for_somebody(6.0 in block.off, change=True)
        self._outputs(block.on)
        if 4.0 in gs:
            self._dwells(words.get("P", 0.0))
        self.trace.unknown.update(gcode_hazards.unused(words, gs, self.motion))
        if not words.keys().isdisjoint("XYZ"):
            self._move(words)
        elif self.motion in (2.0, 3.0) and not words.keys().isdisjoint("IJR"):
            self.trace.unknown["an arc that does not say where it ends"] += 1
        elif self.rotary in words:
            self._turn(words)
            if self.trace.down:
                self.trace.go(self.trace.at)
        self._waits_for_somebody(not {0.0, 1.0}.isdisjoint(block.off))
        self._outputs(block.off)

    @property
    def _beam(self) -> int:
        """3 or 4 for a beam that M3 or M4 has switched on, with power; else 0."""
        return self.spindle if self.kind == "laser" and self.engaged else 0

    def _waits_for_somebody(self, waits: bool, *, change: bool = False) -> None:
        """Note what can hurt whoever is waited for. change: of the tool, which comes before all
        else in a line; a stop comes last (NIST IR 6556, table 8).
        """
        down = self.trace.down or self._beam == 3 or (self.kind == "z" and self.engaged)
        spins = self.kind == "z" and self.spindle != 0
        if waits and (wrong := self.waits.for_somebody(change, down=down, spins=spins)):
            self.trace.unsafe[wrong] += 1

    def _dwells(self, seconds: float) -> None:
        self.trace.unknown.update(self.waits.unclear(seconds, self._beam, self.motion))
        if self._beam != 3:
            return
        self._engage(True)
        self.trace.wait(max(0.0, seconds))

    def _settings(self, words: Mapping[str, float]) -> None:
        for letter in words.keys() - self.letters:
            no_axis = ", an axis that its profile does not have" if letter in "ABC" else ""
            self.trace.unknown[f"the word {letter}{no_axis}"] += 1
        if "S" in words:
            self.power = words["S"]
            if self.kind == "z" and self.spindle and self.engaged:
                self._engage(True)
        if "T" in words:
            self._engage(False)
            self.trace.change(tool=int(words["T"]))

    def _feed(self, words: Mapping[str, float]) -> None:
        if self.rotary in words and words.keys().isdisjoint("XYZ"):
            return  # degrees a minute, of the knife's axis alone
        if "F" in words and not words["F"] > 0.0:
            self.trace.unknown[f"F{words['F']:g}: not a speed"] += 1
        elif "F" in words:
            self.trace.change(feed=words["F"] * self.unit / 60.0)

    def _feeds(self) -> None:
        """Note a feed move without a speed (error 22 of small controls, or an earlier job's), or
        with a beam that hardly moves.
        """
        if self.trace.feed is None:
            self.trace.unsafe["it moves by G1, G2 or G3 before a speed is set (F)"] += 1
        elif self.kind == "laser" and self.engaged:
            wrong = gcode_hazards.slow_burn(self.trace.feed)
            if wrong:
                self.trace.unsafe[wrong] += 1

    def _modes(self, gs: Sequence[float]) -> None:
        for g in gs:
            if g in (0.0, 1.0, 2.0, 3.0):
                self.motion = g
            elif g in (20.0, 21.0):
                self.unit = 25.4 if g == 20.0 else 1.0
            elif g in (90.0, 91.0):
                self.absolute = g == 90.0
            elif g in (90.1, 91.1):
                self.centres_absolute = g == 90.1
            elif g not in _STILL_G:
                self.trace.unknown[f"G{g:g}: not followed"] += 1

    def _outputs(self, ms: list[float]) -> None:
        for m in ms:
            if m in (3.0, 4.0, 5.0):
                deep = self.kind == "z" and self.z is not None and self.z < -_ENGAGED
                if deep and m not in (5.0, self.spindle):
                    self.trace.unknown["M3 or M4 with the tool in the stock"] += 1
                self.spindle = 0 if m == 5.0 else int(m)
                if self.kind == "spindle":
                    self._engage(self.engaged)
                elif not self.spindle:
                    self._engage(self.kind == "z" and self.engaged)
            elif m in (2.0, 30.0):
                self.ended = True
            elif m not in _STILL_M:
                self.trace.unknown[f"M{m:g}: not followed"] += 1

    def _move(self, words: Mapping[str, float]) -> None:
        target = self._target(words)
        if self.motion < 0.0:
            self.trace.unknown["a place without a motion"] += 1
            return
        if self.motion != 0.0:
            self._feeds()
        self._turn(words)
        path = list(target)
        if self.motion in (2.0, 3.0):
            path = self._arc(words, target)
        level = self.motion == 0.0 and self.kind == "laser"
        if "Z" in words:
            self._height(words["Z"], path)
            return
        if self.kind == "z" and self.z is None:
            self.trace.unknown["a move before any height is set"] += 1
        self._engage(self.engaged and not level)
        if self.motion == 0.0 and self.trace.down and self.kind != "spindle":
            self.trace.unsafe["it travels with the tool down"] += 1
        self._low_travel()
        self.trace.go(path)

    def _low_travel(self) -> None:
        """Note a tool that moves across hardly above the stock, by G0 or a feed."""
        if self.kind == "z" and self.z is not None and _ENGAGED < self.z < _LOW:
            self.trace.unknown[f"it travels only {self.z:g} mm above the stock"] += 1

    def _turn(self, words: Mapping[str, float]) -> None:
        """Set the knife's heading, in degrees whatever the unit of length."""
        if self.rotary in words:
            base = 0.0 if self.absolute or math.isnan(self.trace.heading) else self.trace.heading
            self.trace.heading = base + words[self.rotary]

    def _target(self, words: Mapping[str, float]) -> tuple[float, float]:
        x, y = self.trace.at
        base_x, base_y = (0.0, 0.0) if self.absolute else (x, y)
        return (
            base_x + words["X"] * self.unit if "X" in words else x,
            base_y + words["Y"] * self.unit if "Y" in words else y,
        )

    def _height(self, said: float, path: list[float]) -> None:
        """Move in Z, perhaps along a path too: it works if either end is in the stock."""
        z = said * self.unit + (0.0 if self.absolute or self.z is None else self.z)
        was, was_in = self.z, self.engaged
        moves = tuple(path[-2:]) != self.trace.at
        self.z = z
        if self.kind == "z" and z > self.up + _ROUNDED:
            self.trace.unknown[f"Z rises above 'up' in the profile, {self.up:g} mm"] += 1
        if self.kind != "z":
            self.trace.unknown["a move in Z, which its tool does not have"] += 1
            self._engage(self.engaged)
            self.trace.go(path)
            return
        if z < -_ENGAGED:
            self._plunge(math.inf if was is None else was - z, path)
        if not moves:
            self._engage(self.engaged)
            return
        if self.motion == 0.0 and (was_in or self.engaged):
            self.trace.unsafe["it travels with the tool down"] += 1
        if was_in or self.engaged:
            self._engage(True, deepest=z if was is None else min(was, z))
        self.trace.go(path)
        self._engage(self.engaged)

    def _plunge(self, fall: float, path: list[float]) -> None:
        """Note a tool that goes down into the stock faster than its profile allows."""
        feed = math.inf if self.motion == 0.0 else self.trace.feed or 0.0
        words = gcode_hazards.plunge(fall, path, self.trace.at, feed, self.plunge)
        if words:
            self.trace.unsafe[words] += 1

    def _engage(self, down: bool, deepest: float | None = None) -> None:
        """Lower or lift the tool. deepest: of the move that begins, where it isn't its end."""
        z = self.z if deepest is None else deepest
        if down:
            self.trace.change(
                power=100.0 * self.power / self.full if self.kind != "z" or self.spindle else None,
                depth=-z if self.kind == "z" and z is not None else None,
            )
            self.trace.lower()
        else:
            self.trace.lift()

    def _arc(self, words: Mapping[str, float], target: tuple[float, float]) -> list[float]:
        bend = Bend(
            sense=1.0 if self.motion == 3.0 else -1.0,
            radius=words["R"] * self.unit if "R" in words else None,
            i=words.get("I", 0.0) * self.unit,
            j=words.get("J", 0.0) * self.unit,
            absolute=self.centres_absolute,
        )
        path, unknown = bend.path(self.trace.at, target)
        if unknown:
            self.trace.unknown[unknown] += 1
        return path
