"""Plots without semicolons on the virtual plotter. HP-GL, from memory: an instruction ends with a
semicolon or with the first letter of the next one; a label with ETX.
"""

import pytest
from plotout_hpgl.virtual import HpglMachine

from plotout.kit import Head


@pytest.mark.parametrize(
    "plot",
    [
        b"INSP1PU100,100PD1000,100PUSP0",
        b"IN SP1 PU100 100 PD1000 100 PU SP0 ",
        b"IN;SP1;PUPA100,100PDPA1000,100PUSP0;",
        b"IN;SP1;LBPU5,5;PD9,9\x03PU100,100;PD1000,100;PU;SP0;",
    ],
)
def test_an_instruction_ends_where_the_next_begins(plot):
    machine = HpglMachine(1024, head=Head(speed=0.0))
    machine.receive(plot + b"IP3,0;OP;")
    while machine.step() is not None:
        pass
    assert [stroke.points for stroke in machine.head.strokes] == [[(100, 100), (1000, 100)]]
    assert list(machine.answers) == [b"3,0,1003,1000\r"]
