"""An answer that is lost on the line: what was worked is not worked again, and nothing waits."""

import pytest

from plotout import plugins
from plotout.conversation import Account
from plotout.sending.cutfile import cut_file
from plotout.sending.lost import first_missing
from plotout.sending.messages import messages


@pytest.fixture
def sent(gcode_file):
    """A file of three squares, and all that is sent of it."""
    path, _ = gcode_file(3)
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        yield file, list(messages(file, 0, marks=True))


def _stands(at, height):
    return Account(idle=True, stands=True, fresh=False, at=at, height=height)


@pytest.mark.parametrize("lost", [1, 2, 3])
def test_an_ending_without_its_answer_is_sent_again(sent, lost):
    """Z 5, M5 and M2 end the file: none of them does harm twice, and all squares are closed."""
    file, every = sent
    assert first_missing(file, _stands((30.0, 0.0), 5.0), every[-lost:]) in (0, 1)


def test_a_side_that_was_worked_is_not_worked_again(sent):
    """The last side of the last square, and the one before, without answers."""
    file, every = sent
    sides = [message for message in every if message.unit == 2 and b"G1 X" in message.data][-2:]
    assert first_missing(file, _stands((30.0, 0.0), -1.0), sides) == 2
    assert first_missing(file, _stands((30.0, 10.0), -1.0), sides) == 1
    assert first_missing(file, _stands((40.0, 10.0), -1.0), sides) == 0


def test_a_closed_square_without_any_answer_is_left_to_the_user(sent):
    """Where it began it ends."""
    file, every = sent
    sides = [message for message in every if message.unit == 2 and b"G1 X" in message.data]
    assert len(sides) == 4
    assert first_missing(file, _stands((30.0, 0.0), -1.0), sides) is None


def test_a_machine_that_stands_elsewhere_is_left_to_the_user(sent):
    file, every = sent
    assert first_missing(file, _stands((77.0, 5.0), 5.0), every[-2:]) is None


@pytest.mark.parametrize(
    ("line", "again"),
    [(b"M5", True), (b"G4 P0", True), (b"G4 P0.05", False), (b"T1 M6", False), (b"M0", False)],
)
def test_what_may_be_said_twice(line, again):
    assert plugins.language("gcode").repeatable(line + b"\n") is again
