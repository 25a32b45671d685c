"""The layers of notches, for reading and for writing.

Source: ASTM D6673-10: 4 notches (V and slit), 80 T, 81 castle, 82 check, 83 U.
"""

from plotout import NotchKind

NOTCHES = {
    NotchKind.SLIT: "4",
    NotchKind.V: "4",
    NotchKind.T: "80",
    NotchKind.CASTLE: "81",
    NotchKind.CHECK: "82",
    NotchKind.U: "83",
}
