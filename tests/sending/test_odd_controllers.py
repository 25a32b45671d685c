"""Controllers that answer in odd ways: what is understood goes on, what can't be counted stops.

The controller is the one from the notes (tests/bench/machines_from_notes), on a
simulated clock; each differs from it in one habit.
"""

import random
import re
import signal
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from breaks import gcode_file
from line_use import curves
from line_use import gcode_file as line_file
from machines_from_notes import gcode
from simulated_job import doubt_of

from plotout import plugins


class Xon(gcode.Controller):
    """Sends XOFF and XON within its answers."""

    def _say(self, line):
        super()._say(line[:1] + b"\x13\x11" + line[1:])


class Stale(gcode.Controller):
    """Still says what it had to say to an earlier job."""

    left = b"ok\r\n<Run|MPos:12.000,3.000,-1.000|FS:900,500>\r\nok\r\nok\r\n"

    def advance(self, seconds):
        super().advance(seconds)
        if self.left and self.now > 0.03:
            self.out, self.left = self.out + self.left, b""


class Late(gcode.Controller):
    """Answers each line so many s late; it reports its state, and a reset, at once."""

    def __init__(self, habits, late=1.0):
        self.late, self.to_say = late, []
        super().__init__(habits)

    def _say(self, line):
        if line.startswith((b"<", self.habits.greeting)):
            super()._say(line)
        else:
            self.to_say.append((self.now + self.late, line))

    def advance(self, seconds):
        super().advance(seconds)
        while self.to_say and self.to_say[0][0] <= self.now:
            super()._say(self.to_say.pop(0)[1])


class LateQuestion(gcode.Controller):
    """Answers its eighth `$G`, the last of the job, so many s late."""

    late, asked, until = 1.0, 0, 0.0

    def __init__(self, habits):
        self.to_say = []
        super().__init__(habits)

    def _system(self, line):
        self.asked += line == b"$G"
        if line == b"$G" and self.asked == 8:
            self.until = self.now + self.late
        return super()._system(line)

    def _say(self, line):
        self.to_say.append(line)

    def advance(self, seconds):
        super().advance(seconds)
        while self.to_say and self.now >= self.until:
            super()._say(self.to_say.pop(0))


class Early(gcode.Controller):
    """Answers a dwell before its moves have ended."""

    def _waits_for_rest(self, line):
        return False


class Stalls(gcode.Controller):
    """Reads nothing for a while; it says that it is idle, since it has worked all that it read."""

    since = 0.0

    def _work_line(self):
        if not self.since and self.lines > 24 and len(self.received) > 80:
            self.since = self.now
        return self.now > self.since + 5.0 * bool(self.since) and super()._work_line()


class Twice(gcode.Controller):
    """Answers every line twice."""

    def _answer(self, answer):
        super()._answer(answer)
        super()._answer(answer)


class OnceTwice(gcode.Controller):
    """Answers one line twice."""

    def _answer(self, answer):
        super()._answer(answer)
        if self.lines == 20:
            super()._answer(answer)


class NowAndThen(gcode.Controller):
    """Answers a line twice now and then."""

    every, losing = 25, False

    def _answer(self, answer):
        odd = self.lines > 40 and self.lines % self.every == 0
        if not (odd and self.losing):
            super()._answer(answer)
        if odd and not self.losing:
            super()._answer(answer)


class Losing(NowAndThen):
    """Loses an answer now and then."""

    losing = True


class Refuses(NowAndThen):
    """Does not know `$G`."""

    def _system(self, line):
        return b"error:3" if line == b"$G" else super()._system(line)


class Unknowing(NowAndThen):
    """Says that it does not know `$G`, and acknowledges it."""

    def _system(self, line):
        if line != b"$G":
            return super()._system(line)
        self._say(b'echo:Unknown command: "$G"')
        return b"ok"


class Silent(NowAndThen):
    """Acknowledges `$G`, and no more; it refuses what is no line."""

    def _system(self, line):
        return b"ok" if line == b"$G" else super()._system(line)


class Obliging(Silent):
    """Acknowledges whatever it is sent."""

    def _block(self, line):
        return b"ok" if line == b"Q" else super()._block(line)


class Forgetful(gcode.Controller):
    """Forgets its beam's power when the beam is switched off."""

    def _block(self, line):
        answer = super()._block(line)
        self._modal["s"] *= self.power
        return answer


class Wordy(gcode.Controller):
    """Tells its modes in two lines."""

    def _modes(self):
        modes, feed, rest = super()._modes().partition(b" F")
        self._say(modes + b"]")
        return b"[GC:" + feed.strip() + rest


class Door(gcode.Controller):
    """Its door is opened for six seconds while it works."""

    opened_at = 0.0

    def advance(self, seconds):
        if self.state == "Run" and self.lines > 20 and not self.opened_at:
            self.state, self._resting, self.opened_at = "Door:0", True, self.now
        if self.state == "Door:0" and self.now > self.opened_at + 6.0:
            self.state = "Run"
        super().advance(seconds)


class Talks(gcode.Controller):
    """Says something of its own every second."""

    said_at = 0.0

    def advance(self, seconds):
        super().advance(seconds)
        if self.now > self.said_at + 1.0:
            self.said_at = self.now
            self._say(b"Temperatur %d Grad" % (20 + self.now))


class Boots(gcode.Controller):
    """Answers nothing; it boots when its port is opened, and may greet then."""

    greets = True

    def advance(self, seconds):
        super().advance(seconds)
        self.out = self.out if self.greets and self.out.startswith(b"\r\nGrind") else b""


class Forgets(Silent):
    """Is reset once, when it has read so many lines, and says nothing of it. It keeps its place, or
    believes that it is at its origin. It knows `$G`, refuses it, or acknowledges it and no more.
    """

    losing, every, reset_at = False, 10**9, 0.0
    after, keeps, knows = 30, True, "silent"

    def advance(self, seconds):
        super().advance(seconds)
        if self.lines >= self.after and self.head.queue and not self.reset_at:
            self.reset_at = self.now
            self.head.drop()
            if not self.keeps:
                self.head.lose_place((0.0, 0.0, 0.0))
            self._power_up(0.0)

    def _greet(self):
        if self.reset_at:
            self._greeted = True
        else:
            super()._greet()

    def _system(self, line):
        if line == b"$G" and self.knows != "silent":
            return b"error:3" if self.knows == "refused" else gcode.Controller._system(self, line)
        return super()._system(line)


class Dwells(gcode.Controller):
    """Stands still for a dwell, and then answers it; some answer it first."""

    until, answers_first = 0.0, False

    def _work_line(self):
        found = re.match(rb"(?:N\d+ )?G4 P([1-9]\d*)\n", self.received)
        if self.now < self.until or (found and self.head.queue):
            return False
        if found and not self.until:
            self.until = self.now + int(found[1])
            return self.answers_first and super()._work_line()
        self.until = 0.0
        return super()._work_line()

    def _report(self):
        if self.now < self.until:
            self.state = "Run"
        super()._report()


@pytest.mark.parametrize("answers_first", [False, True])
def test_a_dwell_longer_than_anybody_s_patience_is_waited_for(sent, answers_first):
    """Patience is 8 s here; NIST IR 6556, 3.5.4: the P word is the dwell, s."""
    data = gcode_file(random.Random(16), 3, beam=False).replace(b"G0 Z5", b"G4 P30\nG0 Z5", 2)
    machine = Dwells(gcode.Habits())
    machine.answers_first = answers_first
    code, said, missing, _ = sent(machine, data)
    assert (code, missing) == (0, []), said
    assert machine.now > 60.0


@pytest.mark.parametrize("keeps", [True, False])
@pytest.mark.parametrize("after", [13, 14, 15, 17, 18, 20, 22, 25, 28, 31, 33])
def test_a_reset_that_nobody_is_told_of_counts_nothing_as_done(sent, tmp_path, keeps, after):
    """What it answers after that is to what reached it since: it has lost what it held. Interface
    notes: no feed is in force after a reset, and `$G` says so.
    """
    machine = Forgets(gcode.Habits(line_numbers=False, room=False))
    machine.knows, machine.keeps, machine.after = "known", keeps, after
    code, said, missing, _ = sent(machine, baud=115200)
    assert machine.reset_at
    assert missing
    assert code == 1, said
    assert doubt_of(tmp_path)[0] <= missing[0], said


@pytest.mark.parametrize("kind", [Xon, Stale, Early, Stalls, Wordy])
def test_a_controller_that_is_understood(sent, kind):
    machine = kind(gcode.Habits())
    code, said, missing, at_rest = sent(machine)
    assert (code, missing, at_rest, machine.overflows) == (0, [], True, 0), said


def test_a_stop_within_the_last_stroke_does_not_count_it(sent, tmp_path):
    """All is acknowledged before it is worked; a stop drops what is not."""
    data = gcode_file(random.Random(3), 8, beam=False).replace(b"F15000", b"F600")
    machine = Early(gcode.Habits(line_numbers=False, room=False))
    lines, since, pressed = 0, 0.0, []

    def during(sender):
        nonlocal lines, since
        if machine.lines > lines:
            lines, since = machine.lines, machine.now
        last = lines > 60 and machine.now > since + 1.0 and 1 <= len(machine.head.queue) <= 3
        if last and not pressed:
            pressed.append(sender.signal(signal.SIGINT))

    code, said, missing, _ = sent(machine, data, during=during)
    assert pressed
    assert (code, missing) == (1, [7]), said
    assert doubt_of(tmp_path)[0] <= 7, said


class RefusesOneQuestion(gcode.Controller):
    """Refuses to say its modes once, in mid-job."""

    asked = 0

    def _system(self, line):
        self.asked += line == b"$G"
        return b"error:20" if line == b"$G" and self.asked == 6 else super()._system(line)


def test_a_refused_question_is_named(sent):
    machine = RefusesOneQuestion(gcode.Habits())
    code, said, _, _ = sent(machine)
    assert machine.asked >= 6
    assert code == 1, said
    assert "the machine answered 'error:20'" in said
    assert "it has refused '$G'" in said
    assert re.search(r"plotout resume\. Its journal: \S+\.journal$", said.strip())


@pytest.mark.parametrize("late", [0.3, 0.7, 1.2, 2.5])
def test_a_controller_that_answers_late_is_waited_for(sent, late):
    """Each answer is to the line that it is to: none is taken for one to a later question."""
    code, said, missing, at_rest = sent(Late(gcode.Habits(), late))
    assert (code, missing, at_rest) == (0, [], True), said
    assert "does not say" not in said


def test_one_that_acknowledges_early_is_known_by_where_it_stands(sent, tmp_path):
    """It is stopped within the third of eight strokes, of which it has acknowledged more."""
    data = gcode_file(random.Random(3), 8, beam=False).replace(b"F15000", b"F600")
    machine = Early(gcode.Habits(line_numbers=False, room=False))
    pressed = []

    def during(sender):
        if not pressed and any(mark[0] > 69.0 for mark in machine.head.marks):
            pressed.append(sender.signal(signal.SIGINT))

    code, said, missing, _ = sent(machine, data, during=during)
    assert pressed
    assert (code, missing[0]) == (1, 2), said
    low, high = doubt_of(tmp_path)
    assert low <= 2 < high, said


def test_a_door_that_is_opened_is_waited_for(sent):
    """The interface notes: after the door is closed the job goes on at the machine's panel."""
    code, said, missing, _ = sent(Door(gcode.Habits()))
    assert (code, missing) == (0, []), said
    assert said.count("The machine waits: its door is or was open") == 1


def test_words_that_differ_in_numbers_are_judged_once(sent):
    code, said, missing, _ = sent(Talks(gcode.Habits()))
    assert (code, missing) == (0, []), said
    assert said.count("Waiting to see whether it was reset") == 1


@pytest.mark.parametrize(
    ("kind", "words"),
    [(Twice, "answers one line more than once"), (OnceTwice, "answered more often than it was")],
)
def test_answers_that_can_not_be_counted_stop_the_job(sent, kind, words):
    code, said, missing, _ = sent(kind(gcode.Habits()))
    up = "The tool is up and off" if kind is Twice else "by its own count, which a reset may"
    assert (code, words in said, up in said) == (1, True, True), said
    assert len(missing) == (3 if kind is Twice else 2)  # before anything moves; soon after


@pytest.mark.parametrize("late", [0.5, 1.2, 4.6])
def test_a_late_answer_to_the_last_question_is_not_one_too_many(sent, late):
    machine = LateQuestion(gcode.Habits())
    machine.late = late
    code, said, missing, _ = sent(machine)
    assert (code, missing, machine.asked >= 8) == (0, [], True), said


@pytest.mark.parametrize("kind", [NowAndThen, Refuses, Unknowing, Silent])
@pytest.mark.parametrize("every", [25, 7])
def test_an_answer_too_many_stops_the_job_before_anything_is_lost(sent, every, kind):
    """The machine works as fast as it reads, so that its buffer would soon run over."""
    machine = kind(gcode.Habits(speed=1e6, room=False, line_numbers=False))
    machine.every = every
    code, said, _, _ = sent(machine, line_file(curves(6000, 40)))
    assert (code, machine.overflows) == (1, 0)
    refused = "answered 'error:1" in said  # what is no line: an answer before it was one too many
    assert "answered more often than it was asked" in said or refused, said
    assert machine.lines < 100


@pytest.mark.parametrize("kind", [Refuses, Unknowing, Silent, Obliging])
def test_a_controller_that_does_not_know_the_question(sent, kind):
    """All goes well; the user is told beforehand of one that shows nothing."""
    machine = kind(gcode.Habits(speed=1e6))
    machine.every = 10**6
    code, said, missing, _ = sent(machine, line_file(curves(6000, 40)))
    assert (code, missing, machine.overflows) == (0, [], 0), said
    assert ("nothing by which an answer too many, or a reset without" in said) is (kind is Obliging)
    assert "a reset without a word" in said


def test_a_controller_that_echoes_what_it_is_sent(sent):
    """Its echo of a question is not the answer to it: that tells the modes in force."""
    code, said, missing, _ = sent(gcode.Controller(gcode.Habits(speed=1e6, echo=True)))
    assert (code, missing) == (0, []), said
    assert "does not say which modes" not in said


def test_a_beam_that_is_off_may_have_no_power(sent):
    """Its `$G` says S0 after M5 and S500 within a stroke: no reset."""
    machine = Forgetful(gcode.Habits(beam=True, settings={32: 1}))
    long = "".join(f"G1 X{10 + n % 2}.125 Y{10 + n / 8:.3f}\n" for n in range(60))
    data = gcode_file(random.Random(16), 3, beam=True)
    first, _, rest = data.partition(b"\nG0 X40")
    code, said, missing, _ = sent(machine, first + b"\n" + long.encode() + b"M5\nG0 X40" + rest)
    assert (code, missing) == (0, []), said


def test_a_refused_question_out_of_step_stops_the_job(sent):
    """An answer was lost, so that the refusal seems to be that of a line."""
    machine = Refuses(gcode.Habits(speed=1e6))
    machine.losing = True
    code, said, _, _ = sent(machine, line_file(curves(6000, 40)))
    assert (code, machine.overflows) == (1, 0)
    assert "or an answer of it was lost" in said
    assert "by its own count, which a reset may have spoilt" in said


def test_an_answer_that_is_lost_is_left_to_the_user(sent, tmp_path):
    """The line that it is to may be what was lost, by a reset that nobody is told of."""
    machine = Losing(gcode.Habits(speed=1e6))
    code, said, missing, _ = sent(machine, line_file(curves(6000, 40)))
    assert (code, machine.overflows) == (1, 0), said
    assert "answers of the machine are missing, or lines to it were lost" in said
    low, high = doubt_of(tmp_path)
    assert low <= missing[0] <= high <= low + 3


def test_what_a_control_obeys_at_once_is_not_sent_within_a_comment(sent):
    """`!` would halt it, 0x18 reset it, 0x84 open its door (the interface notes)."""
    data = gcode_file(random.Random(16), 3, beam=False)
    first, _, rest = data.partition(b"G0 X")
    data = first + "(cut! \x18 \x84 „so“ ~?)\n".encode() + b"G0 X" + rest
    machine = gcode.Controller(gcode.Habits())
    code, said, missing, _ = sent(machine, data)
    assert (code, missing, machine.resets) == (0, [], 0), said
    pieces = list(plugins.language("gcode").split(data))
    assert all(byte in b"\n\t" or 32 <= byte < 127 for piece in pieces for byte in piece)
    assert not set(b"".join(pieces)) & set(b"!~?")


@pytest.mark.parametrize("greets", [True, False])
def test_a_board_that_boots_when_its_port_is_opened_loses_nothing(sent, greets):
    """Boards take 0.2 to 5 s to start (common practice), and lose what they are sent meanwhile."""
    machine = Boots(gcode.Habits(boot=2.0, boots_on_open=True))
    machine.greets = greets
    code, said, missing, _ = sent(machine, wire="answers = false", flow="paced")
    assert "Waiting 5 s: a machine that starts when its port is opened" in said
    assert "nothing holds the bytes back" in said
    assert (code, missing) == (3, []), said
    assert machine.now < 60.0
