"""What plotout wrote in a folder, and for which job: so that no other job's file is overwritten
and no stale file remains to be cut.

A folder's `plotout-files.json` lists the files of every job with their SHA-256. Files that a job no
longer makes are removed if nobody has changed them since.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from plotout.errors import Place, UserError, is_text, shown
from plotout.files import LONGEST_NAME, staged, write_whole
from plotout.tables import ByName, Fault, Free, KeyName, read, read_json, table

NAME = "plotout-files.json"
_MOVE_AWAY = "Move the list away, or choose another folder."

Jobs = dict[str, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Job:
    """The job that files belong to. stem: how their names begin. what: set, style, size ..."""

    stem: str
    what: Mapping[str, str]


def write_files(
    folder: Path,
    job: Job,
    files: Mapping[str, bytes],
    *,
    kept: Collection[str] = (),
    carried: Collection[str] = (),
    part: bool = False,
    force: bool = False,
) -> tuple[str, ...]:
    """Write a job's files to a folder and list them; return in words what was removed or kept.

    kept: names of files that stay as they are if they exist: the user writes in them. carried: of
    those whose contents were read, and go on in what is written now. part: the job's other files
    are not made this time, and stay. Raises UserError, before anything is written, if a file is
    another job's, or was changed since it was written, unless `force`; MachineError, with every
    file as it was, where there is no room for all of them.
    """
    jobs = _read(folder)
    stem = _own_stem(jobs, job)
    mine = jobs.get(stem, {"job": dict(job.what), "files": {}})
    before: dict[str, list[str]] = mine["files"]
    prints = {name: _print(data) for name, data in files.items()}
    if not force:
        for name, new in prints.items():
            if name not in kept and name not in carried:
                _may_replace(folder, name, new, mine, jobs)
    wanted = {name: data for name, data in files.items()
              if name not in kept or not (folder / name).exists()}  # fmt: skip
    for other in jobs.values():  # what is replaced is no longer theirs
        other["files"] = {name: old for name, old in other["files"].items()
                          if other is mine or name not in prints}  # fmt: skip
    both = {name: [*before.get(name, ()), new] for name, new in prints.items()}
    jobs[stem] = {"job": dict(job.what), "files": before | both}
    with staged({folder / name: data for name, data in wanted.items()}) as move:
        _write(folder, jobs)  # first, so that a run interrupted here recognises its files
        move()
    gone = [] if part else [name for name in before if name not in files]
    notes = tuple(_cleared(folder, gone, before))
    stays = {name: prints for name, prints in before.items() if name not in (*files, *gone)}
    now = {name: [_print((folder / name).read_bytes())] if name in kept and name not in wanted
           else [new] for name, new in prints.items()}  # fmt: skip
    jobs[stem] = {"job": dict(job.what), "files": stays | now}
    _write(folder, jobs)
    return notes


def own_stem(folder: Path, job: Job) -> str:
    """Return how a job's file names begin in a folder.

    That is its stem, unless files of another job begin so there, or as a file system that knows no
    capital letters would take for the same; then it also has a digest of what the job is.
    """
    return _own_stem(_read(folder), job)


def named_alike(folder: Path, job: Job) -> str:
    """Return in words another job in a folder whose file names begin as this one's; "" if none."""
    return next(map(_words, _others_alike(_read(folder), job)), "")


def listed_job(path: Path) -> Mapping[str, str]:
    """Return what identifies the job that a file is listed under in its folder; empty if none."""
    jobs = _read(path.parent).values()
    return next((job["job"] for job in jobs if path.name in job["files"]), {})


def _own_stem(jobs: Jobs, job: Job) -> str:
    apart = f"{job.stem}-{_digest(job.what)}"
    for stem in (job.stem, apart):
        if stem in jobs and jobs[stem]["job"] == dict(job.what):
            return stem
    return apart if any(_others_alike(jobs, job)) else job.stem


def _others_alike(jobs: Jobs, job: Job) -> Iterator[dict[str, Any]]:
    for stem, other in jobs.items():
        if _alike(stem) == _alike(job.stem) and other["job"] != dict(job.what):
            yield other


def _alike(stem: str) -> str:
    return unicodedata.normalize("NFKC", stem).casefold()


def _digest(what: Mapping[str, str]) -> str:
    return "x" + _print(json.dumps(dict(what), sort_keys=True).encode())[:6]


def is_listed(path: Path) -> bool:
    """Return whether a file is among those that plotout wrote in its folder."""
    return any(path.name in job["files"] for job in _read(path.parent).values())


def write_file(path: Path, data: bytes, what: Mapping[str, str], *, force: bool = False) -> None:
    """Write one file that the user named, as `write_files` does. what: which job it is of.

    Raises UserError where that would replace a file of another job, or of nobody's, unless `force`.
    """
    write_files(path.parent, Job(path.name, what), {path.name: data}, force=force)


def check_file(path: Path, what: Mapping[str, str], *, force: bool = False) -> None:
    """Raise UserError where `write_file` would, before work whose file is written at its end."""
    if not force:
        jobs = _read(path.parent)
        mine = jobs.get(_own_stem(jobs, Job(path.name, what)), {})
        _may_replace(path.parent, path.name, None, mine, jobs)


def _may_replace(
    folder: Path, name: str, new: str | None, mine: Mapping[str, Any], jobs: Jobs
) -> None:
    """Raise UserError where an existing file may not be replaced by the job `mine`.

    new: its hash, where known.
    """
    path = folder / name
    if not path.exists():
        return
    there = _print(path.read_bytes()) if path.is_file() else ""
    owner = next((other for other in jobs.values() if name in other["files"]), None)
    if there == new:
        return
    if owner is None:
        problem = "it exists already, and plotout did not write it"
    elif there not in owner["files"][name]:
        problem = "it has been changed since plotout wrote it"
    elif owner is mine:
        return
    else:
        problem = f"it belongs to another job: {_words(owner)}"
    raise UserError(
        f"{problem}; nothing was written",
        fix="Choose another folder, move the file away, or add --force to replace it.",
        place=Place(file=path),
    )


def _can_be(name: str) -> bool:
    """Return whether a file can be called so."""
    return is_text(name) and len(name.encode()) <= LONGEST_NAME


def _cleared(folder: Path, names: list[str], before: Mapping[str, list[str]]) -> Iterator[str]:
    """Remove files that a job no longer makes; yield what was done in words."""
    for name in names:
        path = folder / name
        if not path.exists():
            continue
        if path.is_file() and _print(path.read_bytes()) in before[name]:
            path.unlink()
            yield f"removed {path}: an earlier run made it, and this one does not"
        else:
            yield (
                f"{path} was made by an earlier run and not by this one; it has been changed "
                "since, so it is kept: don't cut it by mistake"
            )


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class _JobInFile:
    """A job in the list. job: what it is; files: the hashes of each file's contents."""

    stem: Annotated[str, KeyName()]
    job: Annotated[dict[str, Any], Free("What the job is.")]
    files: Annotated[dict[str, Any], Free("Its files.")]

    def wrong(self) -> Iterator[Fault]:
        """Give the faults: a name that leads elsewhere, a value of the wrong type."""
        for name, prints in self.files.items():
            if Path(name).name != name or name == ".." or not _can_be(name):
                problem = f"{shown(name)} is not a file of this folder"
                yield Fault(("files", name), problem, _MOVE_AWAY)
            elif not isinstance(prints, list) or not all(map(is_text, prints)):
                yield Fault(("files", name), "its hashes are not a list of text", _MOVE_AWAY)
        for key, value in self.job.items():
            if not is_text(value):
                yield Fault(("job", key), f"{shown(value)} is not text", _MOVE_AWAY)
        if not is_text(str(self.stem)):
            yield Fault((), f"{shown(self.stem)} is not a name", _MOVE_AWAY)


@table
@dataclass(frozen=True, slots=True)
class _FolderFile:
    """The whole list."""

    jobs: Annotated[tuple[_JobInFile, ...], ByName("The jobs.")] = ()


def _read(folder: Path) -> Jobs:
    path = folder / NAME
    if not path.exists():
        return {}
    listed = read(_FolderFile, read_json(path, "list of files written here", _MOVE_AWAY))
    return {
        str(job.stem): {
            "job": {key: str(value) for key, value in job.job.items()},
            "files": {name: [str(one) for one in prints] for name, prints in job.files.items()},
        }
        for job in listed.jobs
    }


def _write(folder: Path, jobs: Jobs) -> None:
    text = json.dumps({"jobs": {stem: jobs[stem] for stem in sorted(jobs)}}, indent=1,
                      ensure_ascii=False)  # fmt: skip
    write_whole(folder / NAME, (text + "\n").encode("utf-8", "replace"))  # half a letter: "?"


def _print(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _words(owner: Mapping[str, Any]) -> str:
    return ", ".join(f"{key} {value}" for key, value in owner["job"].items() if value)
