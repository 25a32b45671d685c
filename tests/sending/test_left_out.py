"""A job that is resumed by its user's own choice, or at another machine than it was begun on."""

import json
import os
import signal

import pytest
from plotout_gcode.virtual import GcodeMachine
from processes import Terminal, plotout

from plotout.kit import Head
from plotout.sending import journal
from plotout.sending.journal_lines import line_of, sound_lines


@pytest.fixture
def stopped(serve, gcode_file, profile, tmp_path):
    """Stop a job of 30 squares after some of them; return its machine, its line and its strokes."""
    path, strokes = gcode_file(30)
    machine = GcodeMachine(128, head=Head(speed=250.0))
    with serve(machine) as line:
        words = (path, "--machine", profile("gcode", "ok", buffer=128), "--port", line.link)
        run = Terminal(tmp_path / "jobs", "send", *words)
        run.until(lambda: b"safe to move" in run.said)
        run.key(b"y\n")
        run.until(lambda: len(machine.head.strokes) > 5)
        os.kill(run.pid, signal.SIGTERM)
        assert run.end() == 1
        machine.head.speed *= 1000.0
        yield machine, strokes


def _done(machine, strokes):
    return [stroke.points for stroke in machine.head.strokes if stroke.points in strokes]


def test_what_from_leaves_out_is_told_to_the_end(stopped, tmp_path):
    machine, strokes = stopped
    jobs = tmp_path / "jobs"
    record = journal.read(next(jobs.glob("*.journal")))
    first = record.done + 1
    result = plotout("resume", "--yes", "--from", 20, jobs=jobs)
    assert result.returncode == 0, result.stderr
    said = result.stdout + result.stderr
    assert f"The job: {record.job['file']}, on " in said
    assert f"Strokes {first} to 19 are not known to be done, and left out." in said
    assert f"{30 - 19 + record.done} of 30 strokes done" in said
    assert f"Strokes {first} to 19 were left out" in said
    again = plotout("resume", "--yes", jobs=jobs)
    assert again.returncode == 2
    assert f"To cut what was left out: plotout resume --from {first}" in again.stderr
    before = len(_done(machine, strokes))
    result = plotout("resume", "--yes", "--json", "--from", first, jobs=jobs)
    told = json.loads(result.stdout)
    assert (told["done"], told["left_out"]) == (30, [])
    assert [points for points in strokes if points not in _done(machine, strokes)] == []
    assert len(_done(machine, strokes)) - before == 30 - record.done


def test_from_the_next_stroke_leaves_nothing_out(stopped, tmp_path):
    jobs = tmp_path / "jobs"
    first = journal.read(next(jobs.glob("*.journal"))).done + 1
    result = plotout("resume", "--yes", "--from", first, jobs=jobs)
    assert "left out" not in result.stdout + result.stderr
    assert "30 of 30 strokes done" in result.stdout + result.stderr


def test_another_machine_at_the_port_is_not_sent_the_rest(stopped, tmp_path):
    """It says another name than the one with which the job was begun."""
    machine, strokes = stopped
    machine.name = "another one"
    before = len(machine.head.strokes)
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 1
    assert "'[another one]', and the machine on which the job was begun '[plotout virtual]'" in (
        result.stderr
    )
    assert len(machine.head.strokes) == before
    result = plotout("resume", "--yes", "--from", 20, jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    assert "Caution: it says '[another one]'" in result.stdout + result.stderr
    assert strokes[-1] in _done(machine, strokes)


def test_another_machine_of_the_same_make_is_not_sent_the_rest(stopped, tmp_path):
    """Only the name differs: its options are those of the make."""
    machine, _ = stopped
    path = next((tmp_path / "jobs").glob("*.journal"))
    lines = list(sound_lines(path.read_bytes()))
    first = json.loads(lines[0][9:])
    first["job"]["says"] = ["[VER:1.1h:north]", "[OPT:V,15,128]"]
    path.write_bytes(b"".join([line_of(first), *lines[1:]]))
    machine.name = "VER:1.1h:south]\r\n[OPT:V,15,128"
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 1
    assert "'[VER:1.1h:south]', and the machine" in result.stderr


def test_a_stroke_that_is_cut_in_part_is_named_before_it_is_cut_again(stopped, tmp_path):
    record = journal.read(next((tmp_path / "jobs").glob("*.journal")))
    assert record.partly  # it was stopped in the middle of a stroke
    result = plotout("resume", "--yes", "--json", "--back", 2, jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    report = json.loads(result.stdout)
    assert report["cut_twice"] == [record.done - 1, record.done + 1]
    assert any("may already be cut" in words for words in report["told"])
    assert f"Strokes {record.done - 1} to {record.done + 1} may already be cut" in result.stderr


def test_what_was_left_out_is_told_where_only_the_end_was_not_noted(stopped, tmp_path):
    """Killed between its last stroke and the note that it has ended."""
    path = next((tmp_path / "jobs").glob("*.journal"))
    done = journal.read(path).done
    with journal.opened(path) as book:
        book.write(begun=19, left=[[done, 19]])
        book.write(settled=31)
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    assert f"Strokes {done + 1} to 19 were left out" in result.stdout
    result = plotout("resume", "--yes", "--from", 40, jobs=tmp_path / "jobs")
    assert result.returncode == 2
    assert "left out" not in result.stdout + result.stderr


@pytest.mark.parametrize("says", [None, ["[plotout virtual]", "more"]])
def test_a_machine_of_which_nothing_else_is_known_is_sent_the_rest(stopped, tmp_path, says):
    """An older journal doesn't tell its name; one may have said more then."""
    path = next((tmp_path / "jobs").glob("*.journal"))
    lines = list(sound_lines(path.read_bytes()))
    first = json.loads(lines[0][9:])
    assert first["job"].pop("says") == ["[plotout virtual]"]
    if says:
        first["job"]["says"] = says
    path.write_bytes(b"".join([line_of(first), *lines[1:]]))
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr


def test_a_profile_that_was_corrected_since_is_gone_by_and_told(stopped, profile, tmp_path):
    """Many messages say: correct it in the profile, then resume."""
    profile("gcode", "ok", buffer=80, baud=57600)
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    said = result.stdout + result.stderr
    since = "Note: the profile was changed since the job was begun:"
    assert f"{since} 'buffer' is 80 now, was 128." in said
    assert f"{since} 'baud' is 57600 now, was 115200." in said
    assert said.count(since) == 2


@pytest.mark.parametrize(("identity", "code"), [("plotout virtual", 0), ("CUTTER 2", 1)])
def test_a_machine_that_calls_itself_otherwise_than_its_profile_is_refused(
    serve, gcode_file, profile, tmp_path, identity, code
):
    path, _ = gcode_file(3)
    machine = GcodeMachine(128)
    settings = profile("gcode", "ok", buffer=128)
    settings.write_text(settings.read_text().replace("baud", f'identity = "{identity}"\nbaud'))
    with serve(machine) as line:
        words = (path, "--machine", settings, "--port", line.link, "--yes")
        result = plotout("send", *words, jobs=tmp_path / "jobs")
    assert result.returncode == code, result.stderr
    told = "it says '[plotout virtual]', and the identity in its profile is 'CUTTER 2'"
    assert (told in " ".join(result.stderr.split())) is bool(code)
    assert len(machine.head.strokes) == (0 if code else 3)


@pytest.mark.parametrize("now", ["G54:7.000,0.000,-4.000", "G54:0.000,0.000,-6.500"])
def test_a_zero_that_was_set_anew_since_is_named(stopped, tmp_path, now):
    """`$#` tells it; here it is the machine's answer to that."""
    machine, _ = stopped
    path = next((tmp_path / "jobs").glob("*.journal"))
    lines = list(sound_lines(path.read_bytes()))
    first = json.loads(lines[0][9:])
    first["job"] |= {"zero": "G54:0.000,0.000,-4.000", "says": []}
    path.write_bytes(b"".join([line_of(first), *lines[1:]]))
    machine.name = now
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    said = " ".join((result.stdout + result.stderr).split())
    assert f"work was G54:0.000,0.000,-4.000 when the job was begun, and is {now} now" in said


@pytest.mark.parametrize("off", [0.0, pytest.param(-5.0, marks=pytest.mark.thorough), 35.0])
def test_a_machine_at_another_height_than_it_was_stopped_at_is_named(stopped, tmp_path, off):
    """As after a power cycle at the file's own x and y: it would work too deep or too high."""
    machine, _ = stopped
    machine.z += off
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    said = " ".join((result.stdout + result.stderr).split())
    assert ("If nobody has moved or homed it, it was reset" in said) == bool(off)
    assert (f"z {5.0 + off:.2f} mm. If nobody" in said) == bool(off)


def test_another_machine_by_its_profile_is_not_sent_the_rest(stopped, profile, tmp_path):
    machine, _ = stopped
    settings = profile("gcode", "ok", buffer=128)
    settings.write_text(settings.read_text().replace("baud", 'identity = "CUTTER 2"\nbaud'))
    before = len(machine.head.strokes)
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 1
    assert "the identity in its profile is 'CUTTER 2'" in " ".join(result.stderr.split())
    assert len(machine.head.strokes) == before


@pytest.mark.parametrize("wrong", ["", "baud = ["])
def test_a_profile_that_is_of_no_use_any_more_is_told(stopped, profile, tmp_path, wrong):
    settings = profile("gcode", "ok", buffer=128)
    if wrong:
        settings.write_text(wrong)
    else:
        settings.unlink()
    result = plotout("resume", "--yes", jobs=tmp_path / "jobs")
    assert result.returncode == 0, result.stderr
    said = " ".join((result.stdout + result.stderr).split())
    assert "the job goes by its machine as it was, since: " in said
