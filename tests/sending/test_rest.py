"""A job is done when its machine is seen at the end of the file, whatever state it names."""

from types import SimpleNamespace

import pytest

from plotout import plugins
from plotout.conversation import Account
from plotout.errors import MachineError
from plotout.sending import stalled
from plotout.sending.cutfile import cut_file
from plotout.sending.looks import Looks
from plotout.sending.silence import Silence
from plotout.sending.stalled import ASK_AFTER, SILENCE, see_rest
from plotout.sending.watch import Watch

PATIENCE = 60.0
AT_END = Account(idle=False, stands=True, at=(75.0, 0.0), height=5.0)
IN_STROKE = Account(idle=False, stands=True, at=(80.0, 0.0), height=-1.0)


@pytest.fixture
def seen(gcode_file, monkeypatch):
    """Have a machine looked at that always says the same; return how long that took, s."""
    clock = [0.0]
    monkeypatch.setattr("time.monotonic", lambda: clock[0])

    def _seen(account):
        def look(_state):
            clock[0] += 1.0
            return account

        def progressed():
            state.progressed_at = clock[0]

        def hear(seconds):
            clock[0] += seconds

        monkeypatch.setattr(stalled, "look", look)
        path, _ = gcode_file(6)
        with cut_file(path, plugins.language("gcode"), 0.025) as file:
            state = SimpleNamespace(
                file=file, watch=Watch(), talk=SimpleNamespace(hear=hear), turns=None, answers=True,
                looks=Looks(), progressed_at=0.0, progressed=progressed,
                silence=Silence(), payload=100, answered_at=0.0,
            )  # fmt: skip
            see_rest(state, PATIENCE)
        return clock[0]

    return _seen


def test_one_that_never_says_that_it_is_idle_rests_at_the_file_s_end(seen):
    assert ASK_AFTER < seen(AT_END) < 3.0 * ASK_AFTER


def test_one_that_stands_within_a_stroke_does_not_rest(seen):
    """Its feed may be set to nothing, or a dwell be waiting that it had acknowledged at once."""
    with pytest.raises(MachineError, match="does not come to rest"):
        seen(IN_STROKE)


def test_one_that_says_nothing_more_was_not_seen_to_rest(seen):
    with pytest.raises(
        MachineError, match=f"said nothing for {ASK_AFTER + SILENCE:.0f}|nothing for"
    ):
        seen(None)
