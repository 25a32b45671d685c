"""Machines that are not there: on a pseudo-terminal, for trying out and for tests.

They know nothing of the drivers, and parse by themselves. Each has a receive buffer of a stated
size, takes time for its motion, counts overruns, answers as its manual says, and draws what it
received.
"""

from plotout.wire.virtual.drawn import write_drawn
from plotout.wire.virtual.gcode import GcodeMachine
from plotout.wire.virtual.hpgl import HpglMachine
from plotout.wire.virtual.line import FAULTS, Fault, VirtualLine, VirtualMachine, fault_from
from plotout.wire.virtual.motion import Drawn, Motion

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
