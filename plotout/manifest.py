"""What plotout wrote in a folder, and for which job: nothing of another's is lost, nothing stale
stays to be cut.

A folder's `plotout-files.json` lists each job's files with the SHA-256 of what was written. Files
that a job no longer makes are removed if nobody has changed them since.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from plotout.errors import Place, UserError
from plotout.files import write_whole

NAME = "plotout-files.json"

Jobs = dict[str, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Job:
    """Which job files are of. stem: how their names begin. what: set, style, size, machine ..."""

    stem: str
    what: Mapping[str, str]


def write_files(
    folder: Path,
    job: Job,
    files: Mapping[str, bytes],
    *,
    kept: Collection[str] = (),
    part: bool = False,
    force: bool = False,
) -> tuple[str, ...]:
    """Write a job's files to a folder and list them; return in words what was removed or left.

    kept: names of files that stay as they are where they exist: somebody writes in them. part: the
    job's other files are not made this time, and stay. Raises UserError, before anything is
    written, where a file is another job's, or was changed since it was written, unless `force`.
    """
    jobs = _read(folder)
    mine = jobs.get(job.stem, {"job": dict(job.what), "files": {}})
    before: dict[str, list[str]] = mine["files"]
    same_job = mine["job"] == dict(job.what)
    prints = {name: _print(data) for name, data in files.items()}
    if not force:
        for name, new in prints.items():
            if name not in kept:
                _may_replace(folder, name, new, job, jobs, same_job)
    wanted = {name: data for name, data in files.items()
              if name not in kept or not (folder / name).exists()}  # fmt: skip
    both = {name: [*before.get(name, ()), new] for name, new in prints.items()}
    jobs[job.stem] = {"job": dict(job.what), "files": before | both}
    _write(folder, jobs)  # first: a run that is cut short here knows its files again
    for name, data in wanted.items():
        write_whole(folder / name, data)
    gone = [] if part else [name for name in before if name not in files]
    told = tuple(_cleared(folder, gone, before))
    stays = {name: prints for name, prints in before.items() if name not in (*files, *gone)}
    now = {name: [_print((folder / name).read_bytes())] if name in kept and name not in wanted
           else [new] for name, new in prints.items()}  # fmt: skip
    jobs[job.stem] = {"job": dict(job.what), "files": stays | now}
    _write(folder, jobs)
    return told


def _may_replace(folder: Path, name: str, new: str, job: Job, jobs: Jobs, same_job: bool) -> None:
    """Raise UserError where a file that is there may not be replaced."""
    path = folder / name
    if not path.exists():
        return
    there = _print(path.read_bytes())
    owner = next((other for other in jobs.values() if name in other["files"]), None)
    if there == new:
        return
    if owner is None:
        problem = "it is there already, and plotout did not write it"
    elif there not in owner["files"][name]:
        problem = "it was changed since plotout wrote it"
    elif owner is jobs.get(job.stem) and same_job:
        return
    else:
        problem = f"it is of another job: {_words(owner)}"
    raise UserError(
        f"{problem}; nothing was written",
        fix="Choose another folder, move the file away, or add --force to replace it.",
        place=Place(file=path),
    )


def _cleared(folder: Path, names: list[str], before: Mapping[str, list[str]]) -> Iterator[str]:
    """Remove files that a job no longer makes; tell each."""
    for name in names:
        path = folder / name
        if not path.exists():
            continue
        if _print(path.read_bytes()) in before[name]:
            path.unlink()
            yield f"removed {path}: it was of an earlier run, and this one does not make it"
        else:
            yield (
                f"{path} is of an earlier run, and this one does not make it; it was changed "
                "since, so it stays: don't cut it by mistake"
            )


def _read(folder: Path) -> Jobs:
    path = folder / NAME
    if not path.exists():
        return {}
    try:
        read = json.loads(path.read_text(encoding="utf-8"))
        jobs = {str(stem): {"job": dict(job["job"]), "files": {
            str(name): [str(one) for one in prints] for name, prints in job["files"].items()
        }} for stem, job in read["jobs"].items()}  # fmt: skip
    except (ValueError, KeyError, TypeError, AttributeError, OSError) as fault:
        raise UserError(
            "the list of what was written here can't be read",
            fix="Move it away, or choose another folder.",
            place=Place(file=path),
        ) from fault
    if any(Path(name).name != name for listed in jobs.values() for name in listed["files"]):
        raise UserError(
            "the list of what was written here names a file of another folder",
            fix="Move it away, or choose another folder.",
            place=Place(file=path),
        )
    return jobs


def _write(folder: Path, jobs: Jobs) -> None:
    text = json.dumps({"jobs": {stem: jobs[stem] for stem in sorted(jobs)}}, indent=1,
                      ensure_ascii=False)  # fmt: skip
    write_whole(folder / NAME, (text + "\n").encode())


def _print(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _words(owner: Mapping[str, Any]) -> str:
    return ", ".join(f"{key} {value}" for key, value in owner["job"].items() if value)
