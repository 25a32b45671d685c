"""A job's journal: what was sent and what is known to be done, kept through a crash.

A text file that only grows: one record per line, with its number and its own checksum, flushed to
the disk. Everything before the first incomplete or damaged record counts. If a number is missing,
nobody knows what that record said: what is done is then asked.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from plotout.errors import MachineError, Place, UserError, counted
from plotout.files import is_full, read_whole
from plotout.sending import now
from plotout.sending.journal_lines import last_number, line_of, record_of, sound_lines
from plotout.sending.lock import job_locked
from plotout.sending.now import Now, Reached

Units = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Told:
    """What a journal says. sent: units handed to the port; done: units known to be finished.

    adrift: the machine was reset after that, or had an error, so its own count means nothing.
    settled: the machine was stopped, and `done` is what it reported as done; partly: it stopped
    within the next unit. rested: where it was stopped, as it reported that, or (). doubt: it was
    stopped after one of these numbers of units; nobody knows which. reached: the last message that
    the sender reached; None if unknown. overtaken: another job has used the port since, and
    the machine's report is not of this one. sound: False if the journal is incomplete or damaged;
    `note` says where. gaps: records are missing since the last one that says all. records: how many
    were written, by the number of the last one. left: units left out by the user's own choice, not
    known to be done: the first, and that after the last.
    """

    job: dict[str, Any]
    sent: int = 0
    done: int = 0
    ended: bool = False
    adrift: bool = False
    settled: bool = False
    partly: bool = False
    rested: tuple[float, ...] = ()
    doubt: tuple[int, ...] = ()
    reached: Reached | None = None
    overtaken: bool = False
    sound: bool = True
    gaps: bool = False
    note: str = ""
    records: int = 0
    left: tuple[Units, ...] = ()

    @property
    def seen(self) -> bool:
        """Return whether the machine can report what is done: else the end means only `sent`."""
        return (self.job.get("settings") or {}).get("answers") is not False


@dataclass(slots=True)
class Journal:
    """An open journal. Records: `sent`, `done`, `begun` and `settled` with a count of units,
    `left` with pairs, `doubt` with several, `adrift`, `partly`, `rested`, `ended`; `n` is their
    number, from 1. broken: one could not be written. written: number of the last one.
    """

    path: Path
    now: Now
    _file: Any = field(repr=False)
    _writer: ThreadPoolExecutor = field(repr=False)
    _last: Future[None] | None = field(default=None, repr=False)
    broken: bool = False
    written: int = 0

    def write(self, **record: Any) -> None:
        """Add a record and flush it to the disk. Raises MachineError if the disk is full."""
        self.later(**record).result()

    def later(self, **record: Any) -> Future[None]:
        """Add a record in the background; its result means that it is on the disk.

        Raises MachineError if an earlier one could not be written.
        """
        if self._last is not None and self._last.done():
            self._last.result()
        self._last = self._writer.submit(self._put, record)
        return self._last

    def _put(self, record: dict[str, Any]) -> None:
        self.written += 1
        line = line_of(record | {"n": self.written})
        try:
            while line:  # a disk that fills up takes a part without an error
                line = line[self._file.write(line) :]
            os.fdatasync(self._file.fileno())
        except OSError as fault:
            self.broken = True
            raise _cannot(self.path, fault, "The job was stopped for that.") from fault

    def close(self, **record: Any) -> str:
        """Add a last record, if that is possible; else return in words why not, once."""
        try:
            self.write(**record)
        except MachineError as fault:
            return fault.problem
        return "" if self.path.exists() else "its journal was removed meanwhile"


NOT_BEGUN = "Nothing is cut without a journal."
AGAIN = (
    "Send the file from the start. What is cut already would be cut again: look at the sheet first."
)
MOST_FIRST = 1 << 20
MOST_BYTES = 1 << 30
"""A stroke takes some tens of bytes."""


@contextlib.contextmanager
def opened(path: Path, *, sends: bool = True) -> Iterator[Journal]:
    """Open a journal to append to it; a damaged end is cut off first. sends: the job goes on, and
    what is noted of the messages sent before is forgotten.

    Raises MachineError if another process has it open, or it can't be kept.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with job_locked(path), _opened(path, sends) as journal:
            yield journal
    except OSError as fault:
        raise _cannot(path, fault) from fault


@contextlib.contextmanager
def _opened(path: Path, sends: bool) -> Iterator[Journal]:
    lines = list(sound_lines(path.read_bytes())) if path.exists() else []
    whole = sum(map(len, lines))
    with path.open("ab", buffering=0) as file, ThreadPoolExecutor(1) as writer:
        file.truncate(whole)
        try:
            with now.opened(path) if sends else now.aside() as memory:
                yield Journal(path, memory, file, writer, written=last_number(lines))
        finally:
            if path.exists() and not path.stat().st_size:  # the job was not started
                path.unlink()
                now.path_of(path).unlink(missing_ok=True)


def read(path: Path, fix: str = AGAIN) -> Told:
    """Return what the journal says, as far as it is sound.

    Raises UserError, which ends with `fix`, if nothing is.
    """
    data = read_whole(path, "journal", MOST_BYTES)
    lines = list(sound_lines(data))
    records = [record_of(line, path, index, fix) for index, line in enumerate(lines, 1)]
    if not records or "job" not in records[0]:
        raise UserError(
            "this is not a journal, or its beginning is damaged",
            fix=fix,
            place=Place(path),
        )
    whole = sum(map(len, lines)) == len(data)
    state, missing = _together(records)
    state = replace(state, records=last_number(lines))
    notes = [] if whole else [f"damaged after {len(records)} records; used up to there"]
    if missing:
        notes.append(f"incomplete: {missing}")
    return replace(
        state,
        reached=now.read(path),
        overtaken=_overtaken(path, state.job.get("port")),
        sound=not notes,
        note="; and ".join(notes),
    )


def _together(records: list[dict[str, Any]]) -> tuple[Told, str]:
    """Return what records say together, and in words which are missing.

    After a gap only a record that says all, `begun` or `settled`, is certain: until then at least
    what was done by the least of the others is done, and at most what was sent by the greatest.
    """
    state, missing, expected = Told(job=records[0]["job"]), "", 1
    for index, record in enumerate(records):
        number = record.get("n", expected)  # an older version wrote none
        if number != expected:
            missing = missing or _gap(index, number - expected)
            doubt = (state.done, state.sent)
            state = replace(state, gaps=True, doubt=doubt, settled=False, partly=False)
        expected = number + 1
        low, high = min((state.done, *state.doubt)), max((state.sent, *state.doubt))
        state = _after(state, record)
        if state.gaps:
            counts = [record[key] for key in ("done", "sent") if key in record]
            state = replace(state, doubt=(min(low, *counts, low), max(high, *counts, high)))
    return state, missing


def _gap(index: int, less: int) -> str:
    """Return in words what is wrong after the first `index` records, of which `less` are missing;
    a negative number: they are there twice, or not in their order.
    """
    if less < 0:
        return f"the records after the first {index} are not in their order"
    return f"{counted(less, 'record')} missing after the first {index}"


def _overtaken(path: Path, port: object) -> bool:
    """Return whether a journal beside this one, of the same port, was written later."""
    last = path.stat().st_mtime_ns
    later = (one for one in path.parent.glob("*.journal") if one.stat().st_mtime_ns > last)
    return any(_port_of(one) == port for one in later)


def _port_of(path: Path) -> object:
    """Return the port of a journal's job, None if it isn't one."""
    with path.open("rb") as file:
        first = next(sound_lines(file.readline(MOST_FIRST)), b"")
    try:
        job = json.loads(first[9:])["job"]
    except (ValueError, KeyError, TypeError):
        return None
    return job.get("port") if isinstance(job, dict) else None


def _after(state: Told, record: dict[str, Any]) -> Told:
    """Return what a journal says after one more record."""
    if "begun" in record:
        begun = record["begun"]
        left = left_before(begun, (*state.left, *record.get("left", ())))
        return Told(state.job, sent=begun, done=begun, left=left)
    if "settled" in record:
        settled = record["settled"]
        part = record.get("partly", False)
        at = tuple(record.get("rested", ()))
        return replace(
            state, sent=settled, done=settled, settled=True, partly=part, rested=at, gaps=False
        )
    if "doubt" in record:
        at = tuple(record.get("rested", state.rested))
        return replace(state, doubt=tuple(record["doubt"]), rested=at)
    sent = max(state.sent, record.get("sent", 0))
    return replace(
        state,
        sent=sent,
        done=max(state.done, record.get("done", 0)),
        ended=state.ended or "ended" in record,
        adrift=record.get("adrift", state.adrift),
        settled=state.settled and sent == state.sent,
        partly=state.partly and sent == state.sent,
        rested=tuple(record.get("rested", state.rested if sent == state.sent else ())),
    )


def left_before(begun: int, left: Iterable[Units]) -> tuple[Units, ...]:
    """Return what is still left out of a job that was resumed at unit `begun`."""
    return tuple((a, min(b, begun)) for a, b in left if a < begun)


def _cannot(path: Path, fault: OSError, left: str = NOT_BEGUN) -> MachineError:
    if is_full(fault):
        remedy = "Make room on the disk."
    elif path.exists():  # another folder would hold another job's
        remedy = "Make this file and its folder writable again."
    else:
        remedy = "Name another folder in PLOTOUT_JOBS."
    return MachineError(
        f"can't keep the journal: {fault.strerror or fault}",
        fix=f"{remedy} {left}",
        place=Place(path),
    )
