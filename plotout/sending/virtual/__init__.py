"""The line to virtual machines: on a pseudo-terminal, for trials and tests.

The machines themselves belong to the plugins of their languages. They have a receive buffer of a
stated size, take time for motion, count overruns, answer according to their manual, and draw what
they receive.
"""

from plotout.sending.virtual.head import Head, HeadStroke
from plotout.sending.virtual.line import FAULTS, FLOWS, Fault, VirtualLine, fault_from
from plotout.sending.virtual.picture import drawn_of, write_drawn

__all__ = [
    "FAULTS",
    "FLOWS",
    "Fault",
    "Head",
    "HeadStroke",
    "VirtualLine",
    "drawn_of",
    "fault_from",
    "write_drawn",
]
