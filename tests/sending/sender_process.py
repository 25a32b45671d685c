"""Sends, or resumes, one file in a process of its own, so that it can be killed.

Usage: sender_process.py send|resume FILE PORT LANGUAGE BUFFER JOURNAL [STROKE TO GO ON AT]
"""

import sys
from pathlib import Path

from plotout.errors import PlotoutError
from plotout.machine import SendingSettings
from plotout.sending import journal, run
from plotout.sending.order import Order
from plotout.sending.resume import resume


def main() -> int:
    act, file, port, language, buffer, book, *go_from = sys.argv[1:]
    flow = "ok" if language == "gcode" else "enquiry"
    settings = SendingSettings(language, flow, 115200, int(buffer), answers=True)
    order = Order(Path(file), "virtual", port, settings, Path(book), 0.025, (-1e6, -1e6, 1e6, 1e6))
    try:
        if act == "send":
            run.run(order)
        else:
            told = journal.read(Path(book))
            resume(order, told, int(go_from[0]) - 1 if go_from else None)
    except PlotoutError as fault:
        print(fault, file=sys.stderr)
        return fault.exit_code
    return 0


if __name__ == "__main__":
    sys.exit(main())
