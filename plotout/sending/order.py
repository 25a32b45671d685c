"""What is to be sent where: asked at the command line, or read from a journal."""

from __future__ import annotations

import contextlib
import itertools
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from plotout import folders
from plotout.errors import Place, UserError
from plotout.files import slug
from plotout.machine import Machine, SendingSettings
from plotout.machine.axes import machine_matrix
from plotout.sending.extent import Box
from plotout.sending.find import Doubt
from plotout.sending.journal import Told
from plotout.sending.ports import usb_of
from plotout.sending.settings import settings_of
from plotout.sending.watch import Wish
from plotout.tables import Source, Table, read_table

TO_FILE: dict[str, Any] = {"answers": False, "flow": "paced", "baud": 10**9}
"""The settings of a file instead of a machine: it has no pace, and never answers."""


@dataclass(frozen=True, slots=True)
class Progress:
    """Progress of a job: strokes known to be finished, of how many, and mm of work."""

    done: int
    strokes: int
    mm: float
    mm_whole: float


@dataclass(frozen=True, slots=True)
class Calls:
    """How to inform and ask the user. said: a line of text; done: the job's progress;
    by_hand, waiting: see `watch.Watch`; which: takes what is unknown and the possible strokes,
    returns the stroke to resume at, from 0, or None if nobody can say; sending: entered while
    bytes go out, so that keys and signals are heard; True: the last time, after which a signal may
    not hide how the job ended. told: all that was said.
    """

    said: Callable[[str], None] = lambda _text: None
    done: Callable[[Progress], None] = lambda _progress: None
    agreed: Callable[[str], bool] = lambda _question: True
    by_hand: Callable[[str], bool] = lambda _what: True
    waiting: Callable[[str], bool] = lambda _what: False
    which: Callable[[Doubt], int | None] = lambda _doubt: None
    sending: Callable[[bool], contextlib.AbstractContextManager[None]] = lambda _last: (
        contextlib.nullcontext()
    )
    wish: Wish = field(default_factory=Wish)
    told: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be sent where. journal: the file that the job is noted in.

    profile: the machine's profile, to compare with its report; None: unknown.
    virtual: the port is private, and nothing moves behind it. digest: of the file that was looked
    through, "" if none was. usb: the device behind the port; see `ports.usb_of`. profile_at: where
    the profile is, if it is a file of the user's own.
    """

    file: Path
    machine: str
    port: str
    settings: SendingSettings
    journal: Path
    step: float
    bed: Box
    calls: Calls = field(default_factory=Calls)
    profile: Machine | None = None
    virtual: bool = False
    digest: str = ""
    usb: str = ""
    profile_at: str = ""


def bed_of(machine: Machine) -> Box:
    """Return the bed in the machine's own mm: least x, least y, greatest x, greatest y."""
    length, width = machine.bed.length, machine.bed.width
    matrix = machine_matrix(machine, length, width)
    corners = [matrix[:, :2] @ corner + matrix[:, 2] for corner in ((0, 0), (length, width))]
    xs, ys = zip(*corners, strict=True)
    return float(min(xs)), float(min(ys)), float(max(xs)), float(max(ys))


def new_journal(file: Path) -> Path:
    """Return the path of an empty journal for a job that starts now; one that exists is another
    job's. It isn't there if it can't be made, which its opening tells.

    In the order of their names they are in the order of their beginnings.
    """
    name = f"{time.strftime('%Y%m%d-%H%M%S')}-{slug(file.stem)}"
    names = itertools.chain([name], (f"{name}_{number}" for number in itertools.count(2)))
    paths = (folders.journals() / f"{one}.journal" for one in names)
    return next(filter(_made_anew, paths))


def _made_anew(path: Path) -> bool:
    """Make an empty file; return False if it exists."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.open("x").close()
    except FileExistsError:
        return False
    except OSError:
        return True
    return True


def told(order: Order, digest: str, says: Sequence[str], zero: str) -> dict[str, Any]:
    """Return what the journal must hold so that the job can be resumed from it alone. says:
    what the machine says of itself. zero: see `Language.zero`.
    """
    return {
        "file": str(order.file.resolve()),
        "digest": digest,
        "machine": order.machine,
        "profile": order.profile_at,
        "port": order.port,
        "usb": usb_of(order.port),
        "settings": asdict(order.settings),
        "step": order.step,
        "bed": order.bed,
        "says": list(says),
        "zero": zero,
    }


def order_from(path: Path, record: Told, calls: Calls, port: str = "") -> Order:
    """Return a journal's order, at another port if one is given."""
    job = record.job
    try:
        left, bottom, right, top = job["bed"]
        settings = _settings_from(job["settings"], path)
        if not (settings.flow and settings.language and settings.buffer):
            raise ValueError("it does not say how the machine was connected")
        file, machine, step = Path(job["file"]), job["machine"], job["step"]
        bed = (left, bottom, right, top)
        at, usb, profile_at = port or job["port"], job.get("usb", ""), job.get("profile", "")
        return Order(
            file, machine, at, settings, path, step, bed, calls, usb=usb, profile_at=profile_at
        )
    except (KeyError, TypeError, ValueError) as fault:
        raise UserError(
            "the journal is of another version of plotout",
            fix="Send the file from the start.",
            place=Place(path),
        ) from fault


def as_profile_is(order: Order, profile: Machine) -> Order:
    """Return a journal's order by its machine's profile as it is now, and tell what has changed in
    its connection. Raises UserError for one with another language, in which nothing was counted.
    """
    before, now = order.settings, settings_of(profile)
    if now.language != before.language:
        raise UserError(
            f"its language is {now.language} now, and was {before.language}",
            fix="Correct the profile, or send the file from its start.",
        )
    changed = [key for key, value in asdict(now).items() if value != asdict(before)[key]]
    for key in changed:
        words = f"'{key.replace('_', '-')}' is {_said(now, key)} now, was {_said(before, key)}"
        order.calls.said(f"Note: the profile was changed since the job was begun: {words}.")
    return replace(order, settings=now)


def _said(settings: SendingSettings, key: str) -> str:
    value = getattr(settings, key)
    if value in (None, ""):
        return "unknown"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _settings_from(settings: dict[str, Any], path: Path) -> SendingSettings:
    """Return how the machine was connected, read by the model of a profile's `[sending]`."""
    given = {
        key.replace("_", "-"): value
        for key, value in settings.items()
        if (value or value is False) and value != TO_FILE["baud"]
    }
    return read_table(SendingSettings, given, Source(path, Table(settings=given)), ("settings",))
