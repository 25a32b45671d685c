"""The program's door: Ctrl-C ends it in words from its first moment to its last.

Loading takes a good part of a short command, and would end in a traceback. `cli.main` tells more
where there is more to say.
"""

from __future__ import annotations

import os
import signal

ONE_THREAD = "OPENBLAS_NUM_THREADS"


def main() -> None:
    """Run the command line.

    numpy's matrices are small here: in several threads they took twice the processor's time, and
    far longer beside other work. And sums are then made in the same order on every computer.
    """
    os.environ.setdefault(ONE_THREAD, "1")  # read when numpy is loaded
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as under nohup
        from plotout.cli import main as run

        run()
        return
    signal.signal(signal.SIGINT, _stopped)
    from plotout.cli import main as run

    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        run()
    except KeyboardInterrupt:  # once more, while the first is being reported
        _stopped()
    finally:
        signal.signal(signal.SIGINT, _stopped)


def _stopped(*_: object) -> None:
    os.write(2, b"Stopped.\n")
    os._exit(130)


if __name__ == "__main__":
    main()
