"""What a program has put in force up to a place, so that a job can be resumed there.

Source: NIST IR 6556, table 4 (modal groups), 3.5 to 3.7 (F, S, T, M3 to M9). G90.1 and G91.1 (the
centres of arcs) and G95 are common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from plotout_gcode.words import Going, Word, comment_of, dwell_of, motion_of

_GROUPS = (
    b"G20 G21",
    b"G90 G91",
    b"G90.1 G91.1",
    b"G17 G18 G19",
    b"G93 G94 G95",
    b"G43 G49",
    b"G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    b"G61 G61.1 G64",
    b"G98 G99",
    b"M48 M49",
)
_MODES = {word: group for group, words in enumerate(_GROUPS) for word in words.split()}
_ALONE = (*_GROUPS, b"G0 G1 G2 G3 G80", b"G40 G41 G42", b"M0 M1 M2 M30 M60", b"M3 M4 M5")
GROUPS = {word: group for group, words in enumerate(_ALONE) for word in words.split()}
"""Of two words of one group only one may be in a line."""
_WITH_MORE = (b"G43", b"G64")  # H, a tool's length; P, how far from its path it may go
_PASSING = b"G0 G1 G2 G3 G4 G40 G50 G80 M0 M1 M2 M3 M4 M5 M6 M7 M8 M9 M30"
_UNDERSTOOD = frozenset(_PASSING.split()) | _MODES.keys()


@dataclass(slots=True)
class Tool:
    """selected: the tool that T named last; loaded: the one that M6 changed to. by_hand: its change
    ended with M0; about: the comment before it.
    """

    selected: bytes = b""
    loaded: bytes = b""
    by_hand: bool = False
    about: bytes = b""
    _changes: bool = False

    def take(self, word: bytes, comment: bytes) -> None:
        """Take T, M6 and M0."""
        if word.startswith(b"T"):
            self.selected, self.about, self.by_hand = word, comment, False
        elif word == b"M6":
            self.loaded = self.selected
        elif word == b"M0":
            self.by_hand = self.by_hand or self._changes
        self._changes = self._changes or word != b"M0"

    def works(self) -> None:
        """Take the end of its change: an M0 after it is for something else."""
        self._changes = False

    def lines(self) -> list[bytes]:
        """Return what changes to it again."""
        change = [self.loaded + b" M6"] if self.loaded else []
        change += [self.selected] if self.selected not in (b"", self.loaded) else []
        about = self.about or b"(tool %s)" % self.selected[1:]
        return [about, *change, b"M0"] if change and self.by_hand else change


@dataclass(slots=True)
class Start:
    """The dwells between the start of something and its first work, in which it came up to speed,
    and those after a change of its speed: the longest of them. Each is a time, and its line.
    """

    _longest: list[tuple[float, bytes]] = field(default_factory=list)
    _last: list[tuple[float, bytes]] = field(default_factory=list)
    _waits: bool = False

    def begin(self, anew: bool) -> None:
        """Begin anew, or change its speed."""
        if not self._waits:
            self._longest, self._last = [] if anew else self.dwells, []
        self._waits = True

    def dwell(self, time: float, line: bytes) -> None:
        """Take a dwell."""
        if self._waits:
            self._last.append((time, line))

    def works(self) -> None:
        """Take its first work, or its end."""
        self._waits = False

    @property
    def dwells(self) -> list[tuple[float, bytes]]:
        """The dwells that it needs."""
        return max(self._longest, self._last, key=_time)


@dataclass(slots=True)
class InForce:
    """The words in force. flood: M7 and M8, as far as they are on. others: words whose effect isn't
    known.
    """

    going: Going
    modes: dict[int, bytes] = field(default_factory=dict)
    feed: bytes = b""
    power: bytes = b""
    spindle: bytes = b""
    flood: dict[bytes, None] = field(default_factory=dict)
    others: dict[bytes, None] = field(default_factory=dict)
    tool: Tool = field(default_factory=Tool)
    spins: Start = field(default_factory=Start)
    floods: Start = field(default_factory=Start)
    _comment: bytes = b""

    @property
    def runs(self) -> bool:
        """Whether the spindle or the beam is on."""
        return self.spindle in (b"M3", b"M4")

    def take(self, words: list[Word], line: bytes) -> None:
        """Take in a line, with its words."""
        self._comment = comment_of(line) or self._comment
        dwell = dwell_of(words)
        for letter, number in words:
            word = letter + number
            if word in _MODES:
                more = [a + b for a, b in words if a in b"HP" and word in _WITH_MORE]
                self.modes[_MODES[word]] = b" ".join([word, *more])
            elif letter == b"F":
                self.feed = word
            elif letter == b"S" and word not in dwell:
                self._speed(word)
            elif letter in b"GM" and word not in _UNDERSTOOD:
                self.others[word] = None
        for word in sorted((a + b for a, b in words if a in b"TM"), key=_t_first):
            self._switch(word)
        if dwell:
            time = float(dwell[-1][1:]) if len(dwell) > 1 else 0.0
            self.spins.dwell(time, b" ".join(dwell))
            self.floods.dwell(time, b" ".join(dwell))
        if self.going.works(words):
            self.spins.works()
            self.floods.works()
            self.tool.works()
            self._comment = b""

    def _speed(self, word: bytes) -> None:
        if word != self.power and self.runs:
            self.spins.begin(anew=False)
        self.power = word

    def _switch(self, word: bytes) -> None:
        if word[:1] == b"T" or word in (b"M0", b"M6"):
            self.tool.take(word, self._comment)
        elif word in (b"M3", b"M4"):
            if word != self.spindle:
                self.spins.begin(anew=True)
            self.spindle = word
        elif word == b"M5":
            self.spins.works()
            self.spindle = word
        elif word in (b"M7", b"M8"):
            if word not in self.flood:
                self.floods.begin(anew=True)
            self.flood[word] = None
        elif word == b"M9":
            self.flood.clear()

    def settings(self, coming: Sequence[list[Word]]) -> list[bytes]:
        """Return what restores all but what runs. coming: what the file does up to its next work; a
        tool that it changes there isn't changed before.
        """
        change = b"M6" if self.tool.loaded else b"T"
        changes = any((a + b).startswith(change) for words in coming for a, b in words)
        tool = [] if changes else self.tool.lines()
        modes = [line for _, line in sorted(self.modes.items())]
        off = [self._with_power(self.spindle)] if not self.runs else []
        return [line for line in (*modes, self.feed, *off, *tool) if line]

    def _with_power(self, switch: bytes) -> bytes:
        """Return a switch with the power in one line, as controls that only read lines want it."""
        return b" ".join((switch or b"M5", self.power)) if self.power else switch

    def switches(self, coming: Sequence[list[Word]]) -> list[bytes]:
        """Return what switches on again what ran, once the lifted tool is where its work goes on.

        A spindle is waited for as before its first work. A beam that is never switched off, but has
        no power, or none in G0, is switched on again just so. What the file itself switches before
        its next work is left to it.
        """
        beam = not self.going.by_z
        runs = self.runs and not _is_switched(coming, beam)
        spins = self.spins.dwells if runs and not beam else []
        floods = self.floods.dwells if self.flood else []
        waits = [line for _, line in max(spins, floods, key=_time)]
        on = [self._with_power(self.spindle), *waits] if runs else waits
        if self.runs and not runs:
            on = [*waits, self._with_power(b"M5")]
        if runs and beam:
            power = b"S0" if any(a == b"S" for words in coming for a, _ in words) else self.power
            on = [*waits, b"G0", b" ".join(filter(None, (self.spindle, power)))]
        first = next((words for words in coming if _moves(words)), [])
        own = any(map(motion_of, first))
        on += [self.going.motion] if self.going.motion == b"G1" and not own else []
        return [line for line in (*self.flood, *on) if line]


def _is_switched(coming: Sequence[list[Word]], beam: bool) -> bool:
    """Return whether a file switches its spindle or beam itself before it works again. A spindle
    that runs already, and is told to run, needs the time that it had to come up to speed.
    """
    words = [letter + number for line in coming for letter, number in sorted(line)]
    said = [word for word in words if word in (b"M0", b"M3", b"M4", b"M5", b"M6")]
    turned = [word for word in said if word not in (b"M0", b"M6")]
    runs_on = not beam and said[:1] in ([b"M3"], [b"M4"])
    return bool(turned) and not runs_on


def _t_first(word: bytes) -> bool:
    return not word.startswith(b"T")


def _time(dwells: Sequence[tuple[float, bytes]]) -> float:
    return sum(time for time, _ in dwells)


def _moves(words: Sequence[Word]) -> bool:
    return any(letter in b"XYZ" for letter, _ in words)
