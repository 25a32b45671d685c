"""Two processes put, lend and read at once: SQLite's locks are met, nothing is lost or torn."""

import sqlite3
import subprocess
import sys
import time

import pytest
from entries import entry

from plotout.rack import care, putting, record, store
from plotout.rack.store import opened

TIMES = 25
PUTTER = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[3])
from entries import entry
from plotout.rack import putting, record
from plotout.rack.store import opened
for nth in range(int(sys.argv[4])):
    with opened(Path(sys.argv[1]), create=True) as rack:
        putting.put(rack, entry(files={"set.toml": f"# {sys.argv[2]} {nth}".encode()}))
        putting.put(rack, entry(style=f"{sys.argv[2]}-{nth}"))
        record.find(rack, "smock")
"""


@pytest.mark.parametrize("attempt", range(2))
def test_two_writers_at_once_from_nothing(tmp_path, request, attempt):
    path = tmp_path / "rack.sqlite"
    both = [
        subprocess.Popen(
            [sys.executable, "-c", PUTTER, str(path), who, str(request.path.parent), str(TIMES)],
            stderr=subprocess.PIPE, text=True,
        )
        for who in ("a", "b")
    ]  # fmt: skip
    for process in both:
        _, said = process.communicate(timeout=60)
        assert process.returncode == 0, said
    with opened(path) as rack:
        numbers = [each.number for each in record.versions(rack, record.named(rack, "BK-01:M"))]
        assert numbers == list(range(1, 2 * TIMES + 1))
        texts = {
            record.files_of(rack, record.named(rack, f"BK-01:M:{n}"))["set.toml"] for n in numbers
        }
        assert texts == {f"# {who} {n}".encode() for who in "ab" for n in range(TIMES)}
        assert len(record.listed(rack)) == 2 * TIMES + 1
        assert care.damage(rack) == []


def test_a_backup_taken_while_another_process_puts_is_whole(tmp_path, request):
    path = tmp_path / "rack.sqlite"
    with opened(path, create=True) as rack:
        putting.put(rack, entry())
    words = [sys.executable, "-c", PUTTER, str(path), "a", str(request.path.parent), "100000"]
    putter = subprocess.Popen(words, stderr=subprocess.PIPE)
    try:
        counts = []
        with opened(path) as rack:
            for nth in range(8):
                before = _wait_for_more(rack, putter, counts[-1] if counts else 1)
                care.back_up(rack, tmp_path / f"copy-{nth}.sqlite")
                assert putter.poll() is None  # it went on putting all the while
                with opened(tmp_path / f"copy-{nth}.sqlite") as copy:
                    there = record.listed(copy)
                    assert care.damage(copy) == []
                    assert all(record.files_of(copy, each) for each in there)
                counts.append(len(there))
                assert counts[-1] >= before
        assert counts == sorted(counts)
        assert counts[-1] > counts[0]
    finally:
        putter.kill()
        putter.communicate()


def _wait_for_more(rack, putter, than):
    """Wait until more sets are on the rack than that; return how many."""
    end = time.monotonic() + 30.0
    while len(record.listed(rack)) <= than:
        assert putter.poll() is None
        assert time.monotonic() < end
        time.sleep(0.005)
    return len(record.listed(rack))


@pytest.mark.parametrize("moment", range(4))
def test_a_rack_made_by_another_while_it_is_opened_is_a_rack(tmp_path, moment):
    """The other makes it just before one of the statements that ask what the file is."""
    path = tmp_path / "rack.sqlite"
    connection = sqlite3.connect(path, isolation_level=None)
    statements = []

    def making(statement):
        statements.append(statement)
        if len(statements) == moment + 1:
            with opened(path, create=True):
                pass

    connection.set_trace_callback(making)
    store._settle(connection, path, create=True)
    connection.set_trace_callback(None)
    assert len(statements) > moment
    assert record.listed(connection) == []
    connection.close()
