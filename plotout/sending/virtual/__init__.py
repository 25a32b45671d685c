"""The line to machines that are not there: on a pseudo-terminal, for trying out and for tests.

The machines themselves belong to the plugins of their languages. Each has a receive buffer of a
stated size, takes time for its motion, counts overruns, answers as its manual says, and draws what
it received.
"""

from plotout.sending.virtual.head import Head, HeadStroke
from plotout.sending.virtual.line import FAULTS, FLOWS, Fault, VirtualLine, fault_from
from plotout.sending.virtual.picture import write_drawn

__all__ = [
    "FAULTS",
    "FLOWS",
    "Fault",
    "Head",
    "HeadStroke",
    "VirtualLine",
    "fault_from",
    "write_drawn",
]
