"""Resumed at any stroke, a program of any style works as it would have: random programs, followed
by an interpreter of this file alone.

Source: NIST IR 6556, table 4 (modal groups), 3.5 to 3.7; G4 and S on one line, and a beam that
laser mode switches off in G0: the interface notes of small controls. Seconds of dwells add up.
"""

import random
import re

import pytest

from plotout import plugins
from plotout.sending.cutfile import cut_file

GROUPS = [
    "G20 G21",
    "G90.1 G91.1",
    "G17 G18",
    "G54 G55 G59.3",
    "G61 G64",
    "M48 M49",
]
GROUP = {word: index for index, words in enumerate(GROUPS) for word in words.split()}
AFTER_RESET = ["G21", "G91.1", "G17", "G54", "G64", "M48"]
WORD = re.compile(r"([A-Z])(-?\d+(?:\.\d+)?)")


class Follower:
    """Obeys a program. work: what each feed in the stock was done with. loads: tools that M6 put
    in, and what a stop by hand was for. waited: s since the spindle, and the air, was switched on;
    needs: the same at the first work after that.
    """

    def __init__(self, beam):
        self.beam = beam
        self.modes = list(AFTER_RESET)
        self.at = {"X": 0.0, "Y": 0.0, "Z": 50.0}
        self.motion, self.feed, self.speed, self.spindle = "G0", "", "S0", "M5"
        self.selected = self.loaded = self.comment = ""
        self.air, self.loads, self.work = set(), [], []
        self.waited, self.needs = {"spindle": 0.0, "air": 0.0}, {}

    def obey(self, text):
        for line in text.splitlines():
            self.comment = (re.findall(r"\((.*?)\)", line) or [self.comment])[-1]
            words = ["".join(found) for found in WORD.findall(re.sub(r"\(.*?\)", "", line))]
            self._line(words)
        return self

    def _line(self, words):
        before = dict(self.at)
        for word in words:
            if word in GROUP:
                self.modes[GROUP[word]] = word
            elif word[0] == "F":
                self.feed = word
            elif word[0] == "S":
                self.speed = word
            elif word[0] == "T":
                self.selected = word
            elif word in ("G0", "G1"):
                self.motion = word
            elif word[0] in "XYZ":
                self.at[word[0]] = float(word[1:])
        for word in words:
            self._switch(word)
        if "G4" in words:
            seconds = sum(float(word[1:]) for word in words if word[0] == "P")
            self.waited = {key: value + seconds for key, value in self.waited.items()}
        moves = any(word[0] in "XYZ" for word in words) and self.motion == "G1"
        down = self.spindle != "M5" and self.speed != "S0" if self.beam else self.at["Z"] <= 0.0
        if moves and down:
            did = (*self.modes, self.feed, self.speed, self.spindle, self.loaded or self.selected)
            on = ([] if self.beam else ["spindle"]) + (["air"] if self.air else [])
            self.needs = {key: self.needs.get(key, self.waited[key]) for key in on}
            where = before, dict(self.at)
            self.work.append((did, tuple(sorted(self.air)), where, self.needs, self.waited))

    def _switch(self, word):
        if word in ("M3", "M4", "M5"):
            if self.spindle == "M5":
                self.waited = {**self.waited, "spindle": 0.0}
                self.needs = {key: self.needs[key] for key in self.needs if key != "spindle"}
            self.spindle = word
        elif word in ("M7", "M8"):
            if word not in self.air:
                self.waited = {**self.waited, "air": 0.0}
                self.needs = {key: self.needs[key] for key in self.needs if key != "air"}
            self.air.add(word)
        elif word == "M9":
            self.air.clear()
        elif word == "M6":
            self.loaded = self.selected
            self.loads.append(self.loaded)
        elif word == "M0":
            self.loads.append(self.comment)


def _setting(rng):
    group = rng.choice(GROUPS[1:]).split()
    return rng.choice(group)


def _start(rng, dwell):
    """Start a spindle, and perhaps the air, in one of the ways in which files do."""
    spindle = rng.choice(["M3 S9000", "S12000 M3", "M3", "S800\nM4"])
    wait = rng.choice(["", "\nG4 P3", " G4 P1.5", "\nG0 X3\nG4 P2", "\nG4 P1\nG4 P0.5"])
    air = rng.choice(["", "", "M8\n", "M7\nG4 P0.4\n", "M8 M7\n"])
    late = rng.choice(["", "", "\nM8\nG4 P0.5", "\nM9"])
    return air + spindle + (wait if dwell else "") + late


def _change(rng, number):
    by_hand = f"M5\n(fit tool {number})\nT{number} M6\nM0"
    return rng.choice([by_hand, f"M5\nT{number} M6", f"T{number}\nM5\nM6"])


def router_program(rng, strokes):
    lines = [rng.choice(["G21", "G20"]), "G90 G17", "S6000", _change(rng, 1)]
    if rng.random() < 0.5:
        lines.append("G0 Z6")
    lines.append(_start(rng, dwell=True))
    number = 1
    for index in range(strokes):
        lines.append("G0 Z6" if rng.random() < 0.8 else "G0Z6")
        if rng.random() < 0.2:
            number += 1
            lines += [_change(rng, number), _start(rng, dwell=True)]
        if rng.random() < 0.2:
            lines.append(rng.choice(["S9999", "M3 S7000\nG4 P1", "M9", "M8\nG4 P0.7", "G4 P0.2"]))
        if rng.random() < 0.2:
            lines.append(_setting(rng))
        lines.append(f"G0 X{index + 1} Y{rng.randint(0, 90)}")
        lines.append(rng.choice(["G1 Z-2 F300", "G1 Z0.5 F300\nG1 Z-2", "G1 F200\nZ-1"]))
        lines.append(f"X{index + 9}" + rng.choice([" F900", "\nY7", ""]))
    return "\n".join([*lines, "G0 Z6", "M9", "M5", "M2", ""])


def beam_program(rng, strokes):
    style = rng.choice(["each", "s0", "g0", "s0 alone", "modal"])
    lines = ["G21 G90", rng.choice(["", "M8\nG4 P0.5", "M7"]), "G1 F900", "S500"]
    if style == "modal":
        lines += ["G0 X0 Y0", "G1", "M4 S0"]
    elif style != "each":
        lines += ["M5", "G0 X0 Y0", "M4"]
    for index in range(strokes):
        power = f"S{100 * rng.randint(1, 9)}" if rng.random() < 0.4 else ""
        to = f"X{index + 2}"
        if rng.random() < 0.2:
            lines.append(rng.choice(["M9", "M8\nG4 P0.3", "F700", _setting(rng)]))
        if style == "each":
            y = rng.choice(["", f" Y{index}"])
            lines += [f"M5\nG0 X{index + 1}{y}", f"M3 {power}".strip(), f"G1 {to}.5"]
        elif style == "modal":
            lines += ["S0", f"X{index + 1}", power or "S400", f"{to}.5"]
        elif style == "g0":
            lines += [f"G0 X{index + 1}", f"G1 {to}.5 {power}".strip()]
        elif style == "s0":
            lines += [f"G0 X{index + 1} S0", f"G1 {to}.5 {power or 'S400'}"]
        else:
            lines += ["S0", f"G0 X{index + 1} Y{index}", power or "S400", f"G1 {to}.5"]
    return "\n".join([*filter(None, lines), "S0", "M9", "M5", "M2", ""])


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("beam", [False, True], ids=["router", "beam"])
def test_what_is_left_is_done_as_it_would_have_been(tmp_path, seed, beam):
    rng = random.Random(f"{seed} {beam}")
    text = (beam_program if beam else router_program)(rng, 12)
    whole = Follower(beam).obey(text)
    path = tmp_path / "program.ngc"
    path.write_text(text)
    with cut_file(path, plugins.language("gcode"), 0.01) as file:
        assert file.strokes >= 10
        for unit in range(1, file.strokes):
            start = int(file.starts[unit])
            done = Follower(beam).obey(text[:start])
            left = Follower(beam)
            left.at = dict(done.at) | ({} if beam else {"Z": 6.0})
            left.obey(file.head(unit).decode() + text[start:])
            assert not file.not_restored(unit)
            _is_the_rest(left, whole, len(done.work), len(done.loads))


def _is_the_rest(left, whole, worked, loaded):
    """Compare what is left with a whole program of which so much was done."""
    expected = whole.work[worked:]
    assert [work[:3] for work in left.work] == [work[:3] for work in expected]
    if expected:
        (*_, needs, _), (*_, waited) = expected[0], left.work[0]
        assert all(waited[key] >= needs[key] - 1e-9 for key in needs)
    again = left.loads[: len(left.loads) - len(whole.loads[loaded:])]
    assert left.loads == again + whole.loads[loaded:]
    assert len(again) <= 2  # one change: M6, and a stop
