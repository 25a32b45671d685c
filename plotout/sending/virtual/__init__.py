"""Machines that are not there: on a pseudo-terminal, for trying out and for tests.

They know nothing of the drivers, and parse by themselves. Each has a receive buffer of a stated
size, takes time for its motion, counts overruns, answers as its manual says, and draws what it
received.
"""

from plotout.sending.virtual.gcode import GcodeMachine
from plotout.sending.virtual.hpgl import HpglMachine
from plotout.sending.virtual.line import FAULTS, Fault, VirtualLine, VirtualMachine, fault_from
from plotout.sending.virtual.motion import Drawn, Motion
from plotout.sending.virtual.picture import write_drawn

__all__ = [
    "FAULTS",
    "Drawn",
    "Fault",
    "GcodeMachine",
    "HpglMachine",
    "Motion",
    "VirtualLine",
    "VirtualMachine",
    "fault_from",
    "machine_for",
    "write_drawn",
]


def machine_for(language: str, buffer: int, speed: float = 0.0) -> VirtualMachine:
    """Return a virtual machine that speaks `language` with a receive buffer of that many bytes.

    speed: machine units a second (plotter units, or mm for G-code); 0: moves take no time.
    """
    if language == "gcode":
        return GcodeMachine(buffer, motion=Motion(speed))
    return HpglMachine(buffer, motion=Motion(speed))
