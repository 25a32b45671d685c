"""A machine that answers whatever it likes to whatever it is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from fuzz.targets.machine_files import no_waiting, profile_of
from fuzz.targets.target import Target
from plotout import MachineError

# As written in the public notes of the open three-axis control (its 1.1 interface), from memory of
# other firmwares' acknowledgements, and from the pen plotters' instruction books.
GCODE = [
    b"\r\nControl 1.1h ['$' for help]\r\n[MSG:'$H'|'$X' to unlock]\r\nok\r\n",
    b"[VER:1.1h.20190830:]\r\n[OPT:VL,15,128]\r\nok\r\n",
    b"<Idle|MPos:0.000,0.000,5.000|Bf:15,128|FS:0,0|WCO:10.000,20.500,-3.000>\r\nok\r\n",
    b"<Hold:1|WPos:12.340,-5.000,-2.000|Bf:3,18|Ln:99|FS:500,8000>\r\n",
    b"<Alarm|MPos:0.000,0.000,0.000|FS:0,0|Pn:XYZ>\r\nALARM:3\r\nerror:9\r\n",
    b"$13=0\r\n$30=1000\r\n$32=1\r\n$110=8000.000\r\n$130=1300.000\r\nok\r\n",
    b"[GC:G0 G54 G17 G21 G90 G94 M5 M9 T0 F0 S0]\r\nok P15 B3\r\n",
    b"Resend: 12\r\nok\r\nbusy: processing\r\nX:0.00 Y:1.00 Z:2.00 E:0.00 Count X:0\r\nrs N12\r\n",
]
LINES = [
    b"start\necho:Plain 2.1\nok\n",
    b"ok N12 P15 B3\nX:0.00 Y:1.00 Z:5.00 E:0.00 Count X:0 Y:80 Z:2000\nok\n",
    b"X:10.00 Y:-1.50 Z:5.00\nok\nX:10.00 Y:-1.50 Z:5.00\nok\n",
    b"Error:checksum mismatch, Last Line: 11\nResend: 12\nok\n",
    b"Error:Line Number is not Last Line Number+1, Last Line: 0\nResend: 1\nok\n",
    b"echo:busy: processing\nrs 2\nok\nwait\n",
    b"FIRMWARE_NAME:Plain 2.1 SOURCE_CODE_URL:none\nok\n",
    b"Soft endstops: On  Min:  X0.00 Y0.00 Z0.00  Max:  X400.00 Y300.00 Z60.00\nok\n",
    b'echo:Unknown command: "M400"\nok\n!!\nError:Printer halted. kill() called!\n',
]
SOME = 230  # bytes: 20 ms at 115,200 baud
HPGL = [b"0,0,1\r", b"1016,-2032,0\r", b"255\r", b"1024\r0\r", b"0,0,12345,1016\r", b"\x06",
        b"16\r10,20,0\r", b"Plotter\r1.0\r"]  # fmt: skip


class Babbler:
    """A port at which each message is answered by the same bytes, as fast as a line can."""

    def __init__(self, answer: bytes) -> None:
        self.answer, self.said = answer, b""

    def write(self, data: bytes) -> int:
        """See Link."""
        _pass()
        self.said = self.answer
        return len(data)

    urge = write

    def read(self) -> bytes:
        """See Link."""
        said, self.said = self.said[:SOME], self.said[SOME:]
        if self.said:
            _pass()
        return said

    def held(self) -> bool:
        """See Link."""
        return False

    def nap(self, seconds: float) -> None:
        """See Link."""
        import time

        time.sleep(max(seconds, 0.1))


def _pass() -> None:
    """Let the time of SOME bytes pass: else a question asked until some moment never ends."""
    import time

    time.sleep(SOME / 11_520)


def _asked(language: str, profile: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, _folder: Path) -> None:
        questions = list(_questions(language, profile, Babbler(data)))
        refused: list[MachineError] = []
        with no_waiting():
            for ask in questions:
                try:
                    ask()
                except MachineError as fault:
                    refused.append(fault)
        if len(refused) == len(questions):
            raise refused[0]

    return take


def _questions(name: str, profile: str, link: Babbler) -> Iterator[Callable[[], object]]:
    from plotout import plugins
    from plotout.sending.talk import PortTalk

    language = plugins.language(name)
    talk = PortTalk(link, language)  # type: ignore[arg-type]
    yield lambda: language.identify(talk)
    yield lambda: language.differences(talk, profile_of(profile))
    yield lambda: language.receive_buffer(talk)
    yield lambda: language.account(talk)
    yield lambda: language.glance(talk, 128)
    yield lambda: language.held(talk, 128)
    yield lambda: language.settle(talk)
    yield lambda: language.make_safe(talk, b"")


ANSWERS = (
    Target("answers gcode", lambda: GCODE, _asked("gcode", "laser"), placed=False, share=0.5),
    Target(
        "answers lines",
        lambda: LINES,
        _asked("gcode-lines", "gantry-knife"),
        placed=False,
        share=0.5,
    ),
    Target("answers hpgl", lambda: HPGL, _asked("hpgl", "roll-plotter"), placed=False, share=0.5),
)
