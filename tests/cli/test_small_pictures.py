"""Pictures in terminals that say that they show them; words alone everywhere else.

The terminal is a pseudo-terminal whose other end answers as terminals do: to the question for its
attributes (DA1, ECMA-48 8.3.24) with "4" among them where it draws sixels (DEC's VT340 manual, from
memory), to kitty's question by its graphics protocol. Sixels begin with DCS q: ESC P ... q.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import sys
import termios
import time

import pytest

SET = """[set]
name = "Apron"
style = "AP-1"
[[piece]]
name = "Bib"
rectangle = [120, 180]
cut = [{ cloth = "self" }]
[[piece]]
name = "Band"
rectangle = [300, 40]
cut = [{ cloth = "self" }]
"""
SIXEL = re.compile(rb"\x1bP[\d;]*q")


def on_terminal(
    folder, attributes: bytes, *words: str, term: str = "xterm-256color", size=(24, 80, 800, 480)
) -> bytes:
    """Return what the command writes to a terminal with these attributes."""
    pid, master = pty.fork()
    if pid == 0:
        os.chdir(folder)
        os.environ["TERM"] = term
        code = "from plotout.cli import main; main()"
        os.execv(sys.executable, [sys.executable, "-c", code, *words])
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("4H", *size))
    seen, answered, until = b"", 0, time.monotonic() + 60
    while time.monotonic() < until:
        if not select.select([master], [], [], 0.5)[0]:
            continue
        try:
            seen += os.read(master, 65536)
        except OSError:
            break
        for _ in range(seen.count(b"\x1b[c") - answered):
            answered += 1
            os.write(master, attributes)
    os.waitpid(pid, 0)
    os.close(master)
    return seen


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("pictures")
    (made / "set.toml").write_text(SET)
    return made


@pytest.mark.parametrize(("command", "pictures"), [("show", 2), ("check", 1)])
def test_a_terminal_that_draws_sixels_gets_them(folder, command, pictures):
    seen = on_terminal(folder, b"\x1b[?62;4;22c", command, "set.toml")
    assert len(SIXEL.findall(seen)) == pictures
    if command == "show":
        assert b"Bib: 120 x 180 mm" in seen


@pytest.mark.parametrize(
    ("attributes", "term", "size"),
    [
        (b"\x1b[?62;22c", "xterm", (24, 80, 800, 480)),
        (b"\x1b[?62;4c", "dumb", (24, 80, 800, 480)),
        (b"\x1b[?62;4c", "xterm", (0, 0, 0, 0)),
    ],
)
def test_any_other_terminal_gets_words(folder, attributes, term, size):
    seen = on_terminal(folder, attributes, "show", "set.toml", term=term, size=size)
    assert b"Bib: 120 x 180 mm" in seen
    assert not SIXEL.search(seen)
    assert not re.search("[\u2580-\u259f]", seen.decode("utf-8", "replace"))  # nor blocks for it


def test_json_holds_nothing_else(folder):
    seen = on_terminal(folder, b"\x1b[?62;4c", "show", "set.toml", "--json")
    assert seen.lstrip().startswith(b"{")
    assert b"\x1b" not in seen
