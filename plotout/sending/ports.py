"""Names, finds and opens ports."""

from __future__ import annotations

import contextlib
import errno
import math
import os
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from plotout.errors import MachineError, Place, UserError, shown
from plotout.machine import SendingSettings
from plotout.sending.flow_control import FLOWS
from plotout.sending.link import FileLink, Link, PortLink, told

NETWORK = ("socket", "rfc2217")  # of the kinds of pyserial's addresses: the others write files
DTR_ROOM = 80  # bytes that a plotter still takes once its DTR has fallen (common practice)
DTR_AHEAD = 16  # of these at least with the port at once, if nothing but DTR stops them
BITS = 10.0  # of a byte on the line: with a start and a stop bit
_AT_ONCE = getattr(os, "O_NONBLOCK", 0)  # to open a pipe that nobody reads without waiting


def open_link(port: str, settings: SendingSettings) -> Link:
    """Open a port: a device path or name, `socket://host:port`, `rfc2217://host:port`, `file:PATH`.

    Raises MachineError: no such port, no permission (naming the group to join), busy.
    """
    if port.startswith("file:"):
        return _file_link(Path(port.removeprefix("file:")))
    import serial

    _check_name(port)
    flow = FLOWS[settings.flow]
    with told(port, "can't be opened"):
        opened = serial.serial_for_url(
            port,
            baudrate=settings.baud,
            timeout=0,
            write_timeout=None if "://" in port else 0,
            exclusive=None if "://" in port else True,
            rtscts=flow.heeds == "cts",
        )
    _hurry(opened)
    return port_link(opened, settings)


def _hurry(port: Any) -> None:
    """Have a USB adapter hand over at once what comes in, where that can be asked (Linux): some
    keep it for up to 16 ms, in which a small buffer runs empty.
    """
    with contextlib.suppress(Exception):  # a network port, or a driver that can't
        port.set_low_latency_mode(True)


def _file_link(path: Path) -> FileLink:
    """Open a file for what would be sent: a new one, or a device. What exists isn't replaced."""
    if not path.name:
        raise UserError("no file is named", fix="Name a new file: --port file:PATH")
    device = path.exists() and not (path.is_file() or path.is_dir())
    try:
        if not device:
            return FileLink(path, path.open("xb"), new=True)
        handle = os.open(path, os.O_WRONLY | _AT_ONCE)
        os.set_blocking(handle, True)
        return FileLink(path, os.fdopen(handle, "wb"))
    except FileExistsError:
        what = "a folder" if path.is_dir() else "there already, and is not replaced"
        raise UserError(
            f"it is {what}", fix="Name a new file: --port file:PATH", place=Place(file=path)
        ) from None
    except (FileNotFoundError, NotADirectoryError) as fault:
        gone = isinstance(fault, FileNotFoundError)
        raise UserError(
            "there is no such folder" if gone else "it is a file, not a folder",
            fix="Name a file in a folder that exists.",
            place=Place(file=path.parent),
        ) from None
    except OSError as fault:
        why = "nobody reads from this pipe" if fault.errno == errno.ENXIO else fault.strerror
        raise MachineError(
            f"can't write to it: {why}",
            fix="Name another file: --port file:PATH",
            place=Place(file=path),
        ) from fault


def _check_name(port: str) -> None:
    """Raise UserError for what can be no port: an ordinary file, or an address without a number."""
    if Path(port).is_file() or Path(port).is_dir():
        raise UserError(
            f"'{port}' is a file or a folder, not a port", fix="'plotout ports' lists the ports."
        )
    kind = port.partition("://")[0]
    if "://" in port and kind not in NETWORK:
        raise UserError(
            f"{shown(kind)} is no kind of port",
            fix="Name a device, socket://HOST:PORT, rfc2217://HOST:PORT or file:PATH.",
        )
    if "://" in port:
        try:
            number = urlsplit(port).port
        except ValueError:
            number = 0
        if number == 0:
            raise UserError(
                f"{shown(port)} has no number from 1 to 65535", fix="Write socket://HOST:PORT."
            )


def port_link(port: Any, settings: SendingSettings) -> PortLink:
    """Return a link by an open port. One that only DTR stops gets no more than its machine still
    takes until the port reports that: what comes in `dtr_lag`, and what is with the port.
    """
    heeds, rate = FLOWS[settings.flow].heeds, settings.baud / BITS
    if heeds == "dsr" and not settings.answers:
        rate = min(rate, (DTR_ROOM - DTR_AHEAD) / settings.dtr_lag)
        return PortLink(port, heeds, rate, DTR_ROOM - math.ceil(rate * settings.dtr_lag))
    return PortLink(port, heeds, rate)


def find_port(port: str, usb: str) -> str:
    """Return the port's current name: it changes if the device with that USB identity moved.

    usb: `vendor:product:serial` in hex, as `usb_of` gives it, or "".
    """
    if not usb or Path(port).exists() or "://" in port:
        return port
    from serial.tools.list_ports import comports

    return next((p.device for p in comports() if _usb(p) == usb), port)


def usb_of(port: str) -> str:
    """Return the USB identity of the device behind a port, or ""."""
    if "://" in port or port.startswith("file:"):
        return ""
    from serial.tools.list_ports import comports

    real = os.path.realpath(port)
    return next((_usb(p) for p in comports() if os.path.realpath(p.device) == real), "")


def _usb(port: Any) -> str:
    return f"{port.vid:04x}:{port.pid:04x}:{port.serial_number or ''}" if port.vid else ""
