"""A terminal that takes nothing must not hold up a machine at work."""

import threading

from plotout.cli import voice


def test_a_terminal_that_is_stopped_holds_up_nobody(monkeypatch):
    going, said = threading.Event(), []

    def stopped(text, **_how):
        going.wait(10.0)
        said.append(text)

    monkeypatch.setattr(voice.click, "echo", stopped)
    monkeypatch.setattr(voice, "ENDING", 0.05)
    speaks = voice.Voice()
    with speaks.apart():
        for number in range(3):
            speaks.say(str(number), err=True)
        assert said == []
    assert said == []
    going.set()
    speaks.say("3", err=True)
    assert "3" in said


def test_words_come_in_their_order(capsys):
    speaks = voice.Voice()
    speaks.say("1", err=False)
    with speaks.apart():
        speaks.say("2", err=False)
    speaks.say("3", err=False)
    assert capsys.readouterr().out == "1\n2\n3\n"
