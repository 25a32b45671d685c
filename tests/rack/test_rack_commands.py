"""The rack from the command line: what each command says, and what it refuses."""

import json
import re
import zipfile

import pytest
from click.testing import CliRunner
from conftest import SAMPLE
from entries import entry

from plotout.cli import plotout
from plotout.cli.rack_command import rack as rack_command
from plotout.errors import UserError
from plotout.rack import bundle, loans, putting, record
from plotout.rack.store import MIGRATIONS, opened
from plotout.sending import journal


def run(tmp_path, *words):
    done = CliRunner().invoke(
        rack_command, ["--at", str(tmp_path / "rack.sqlite"), *map(str, words)],
        catch_exceptions=True,
    )  # fmt: skip
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.output


@pytest.mark.parametrize("command", sorted(rack_command.commands))
def test_every_command_has_help_with_an_example(command):
    done = CliRunner().invoke(plotout, ["rack", command, "--help"])
    assert done.exit_code == 0
    assert f"Example: plotout rack {command}" in " ".join(done.output.split())


def cards(*names):
    return {"cards": [{"id": n, "title": n.title(), "orders": ["cut 1 self"]} for n in names]}


def test_a_lost_card_finds_its_hook(rack, tmp_path):
    putting.put(rack, entry(details=cards("gusset", "body")))
    putting.put(rack, entry(details=cards("gusset"), notes="without a body"))
    told = run(tmp_path, "find", "BK-01:M:1/gusset")
    assert told.startswith("BK-01:M:1  Beekeeper's smock; hook 12")
    shown = run(tmp_path, "show", "BK-01:M:1/gusset")
    assert re.search(r"gusset +Gusset +cut 1 self", shown)
    assert "Body" not in shown
    assert "Newer version: BK-01:M:2" in shown
    with pytest.raises(UserError, match="has no card 'body'"):
        run(tmp_path, "show", "BK-01:M/body")


def test_style_and_size_may_hold_the_marks_that_part_them(rack):
    put = putting.put(rack, entry(style="A/B", size="2:3", details=cards("x")))
    assert record.named(rack, "A/B:2:3").id == put.id
    assert record.named(rack, "A/B").id == put.id
    assert record.pointed(rack, "A/B:2:3:1/x") == (put, "x")
    for absent in ("A/B:2:3:7", "A/B:9", "A/B:9/x"):
        with pytest.raises(UserError, match=rf"'{absent}' is not on the rack") as caught:
            record.pointed(rack, absent)
        assert "A/B" in str(caught.value.fix)


def test_found_by_one_thing_alone(rack, tmp_path):
    putting.put(rack, entry(style="BK-01", size="M", place="hook 12", date="2026-04-11"))
    putting.put(rack, entry(style="AP-02", size="L", place="shelf 3", pieces=("Bib",), notes="M"))
    for option, word in (("--size", "M"), ("--place", "hook"), ("--piece", "slee"),
                         ("--date", "2026-04"), ("--style", "bk")):  # fmt: skip
        told = run(tmp_path, "find", option, word)
        assert "BK-01:M:1" in told, option
        assert option == "--date" or "AP-02" not in told, option
    with pytest.raises(UserError, match="no word to look for"):
        run(tmp_path, "find")


def test_another_hook_or_profile_is_a_new_version_and_is_told(rack):
    putting.put(rack, entry(machine="cutter", profile=b"scale-x = 1.0"))
    moved = putting.put(rack, entry(machine="cutter", profile=b"scale-x = 1.0", place="hook 3"))
    assert moved.changes == ["place: 'hook 12' is now 'hook 3'"]
    again = putting.put(rack, entry(machine="cutter", profile=b"scale-x = 1.01", place="hook 3"))
    assert (again.number, len(again.changes)) == (3, 1)
    assert "calibration" in again.changes[0]


def test_what_a_journal_tells_is_noted_once_and_its_file_kept(rack, tmp_path):
    import hashlib

    found = putting.put(rack, entry())
    sent = tmp_path / "bk-01-sheet-01.plt"
    sent.write_bytes(b"IN;PU0,0;")
    path = tmp_path / "20260411-093000-bk-01.journal"
    told = {"file": str(sent), "digest": hashlib.sha256(sent.read_bytes()).hexdigest(),
            "machine": "craft-cutter"}  # fmt: skip
    with journal.opened(path) as book:
        book.write(job=told)
        book.write(done=7)
    assert "stopped after 7 strokes" in run(tmp_path, "note", "BK-01", path)
    with journal.opened(path) as book:
        book.write(ended=True)
    assert "all of it" in run(tmp_path, "note", "BK-01", path)
    assert "already noted" in run(tmp_path, "note", "BK-01", path)
    assert json.loads(run(tmp_path, "note", "BK-01", path, "--json")) == {
        "set": "BK-01:M:1",
        "noted": [{"file": sent.name, "ended": True, "strokes": 7, "new": False}],
    }
    (noted,) = loans.cuttings(rack, found)
    assert (noted["machine"], noted["what"]) == ("craft-cutter", f"cut {sent.name}: all of it")
    sent.unlink()
    again = tmp_path / "again"
    words = ("recut", "BK-01", "--as-cut", "--out", again)
    assert run(tmp_path, *words) == f"{again / sent.name}\n"
    assert json.loads(run(tmp_path, *words, "--json"))["files"] == [str(again / sent.name)]
    assert (again / sent.name).read_bytes() == b"IN;PU0,0;"


def test_the_journal_of_another_set_is_refused(rack, tmp_path):
    putting.put(rack, entry())
    path = tmp_path / "j.journal"
    with journal.opened(path) as book:
        book.write(job={"file": str(tmp_path / "bk-010-x.plt"), "digest": "0" * 64, "machine": "m"})
    with pytest.raises(UserError, match="not a file of BK-01"):
        run(tmp_path, "note", "BK-01", path)


def test_a_file_changed_since_is_not_kept_as_the_one_that_was_sent(rack, tmp_path):
    putting.put(rack, entry())
    path = tmp_path / "j.journal"
    (tmp_path / "bk-01-x.plt").write_bytes(b"other")
    with journal.opened(path) as book:
        book.write(job={"file": str(tmp_path / "bk-01-x.plt"), "digest": "0" * 64, "machine": "m"})
    run(tmp_path, "note", "BK-01", path)
    with pytest.raises(UserError, match="no sent file"):
        run(tmp_path, "recut", "BK-01", "--as-cut", "--out", tmp_path / "again")


def test_a_rack_of_the_first_schema_is_brought_up_to_date(tmp_path):
    path = tmp_path / "rack.sqlite"
    with opened(path, create=True) as old:
        putting.put(old, entry())
        old.execute("ALTER TABLE loan DROP COLUMN taken")
        old.execute("DROP INDEX one_journal")
        for column in ("journal", "file", "hash"):
            old.execute(f"ALTER TABLE cutting DROP COLUMN {column}")
        old.execute("PRAGMA user_version = 1")
    with opened(path) as new:
        assert new.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS)
        found = record.named(new, "BK-01")
        assert record.files_of(new, found)["body.csv"] == b"x,y,run,kind\n"
        assert loans.cuttings(new, found) == []


@pytest.mark.parametrize(
    "change",
    [
        {"details": {"cards": 5}},
        {"details": {"notes": "mine"}},
        {"details": {"cards": [{"id": 1, "title": "x", "orders": []}]}},
        {"pieces": ["\x1b[2J"]},
        {"changes": [7]},
        {"told": {"style": "\x1b]0;x\x07"}},
    ],
)
def test_a_list_that_would_mislead_is_refused(rack, change, tmp_path):
    data = bundle.export(rack, putting.put(rack, entry()))
    target = tmp_path / "evil.zip"
    target.write_bytes(data)
    with zipfile.ZipFile(target) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    listing = json.loads(parts["rack.json"])
    for key, value in change.items():
        listing[key] = {**listing[key], **value} if key == "told" else value
    parts["rack.json"] = json.dumps(listing).encode()
    with zipfile.ZipFile(target, "w") as new:
        for name, part in parts.items():
            new.writestr(name, part)
    with pytest.raises(UserError, match="can't be imported"):
        run(tmp_path, "bring", target)


def test_a_deeply_nested_list_is_refused(tmp_path):
    target = tmp_path / "deep.zip"
    with zipfile.ZipFile(target, "w") as new:
        new.writestr("rack.json", b"[" * 200_000)
    with pytest.raises(UserError, match="can't be imported"):
        run(tmp_path, "bring", target)


def test_a_set_that_reads_elsewhere_is_not_recut(rack, tmp_path):
    text = (SAMPLE / "set.toml").read_text()
    outside = text.replace('file = "', 'file = "../', 1)
    assert outside != text
    files = {"set.toml": outside.encode()}
    putting.put(rack, entry(files=files, machine="craft-cutter"))
    with pytest.raises(UserError, match="outside the set's folder"):
        run(tmp_path, "recut", "BK-01", "--machine", "craft-cutter", "--out", tmp_path / "again")


def test_a_rack_that_is_only_to_be_read_gives_the_set_all_the_same(tmp_path, monkeypatch):
    """SQLite's query_only answers as a disk mounted read-only does (sqlite.org, pragma.html)."""
    source = tmp_path / "set.toml"
    source.write_text('[set]\nname = "A"\nstyle = "A"\nsize = "M"\n'
                      '[[piece]]\nname = "A"\nrectangle = ["90 mm", "60 mm"]\n')  # fmt: skip
    run(tmp_path, "put", source)
    noted = loans.note_cutting

    def note(connection, *words):
        connection.execute("PRAGMA query_only = 1")
        noted(connection, *words)

    monkeypatch.setattr(loans, "note_cutting", note)
    out = tmp_path / "again"
    told = run(tmp_path, "recut", "A", "--machine", "laser", "--out", out)
    assert "the rack has no note of these files" in told
    assert "only to be read" in told
    assert list(out.glob("*.ngc"))
