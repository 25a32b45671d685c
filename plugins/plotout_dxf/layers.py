"""Layers, and words of ours, for reading and for writing.

Source: ASTM D6673-10: 4 notches (V and slit), 80 T, 81 castle, 82 check, 83 U. It has a layer for
what a line is, not for what is done along it. Here a layer holds one kind of work: lines of another
kind than is usual for theirs are on a layer named after both, such as `4 draw` for a notch that is
drawn; its record, a point, stays on the standard's.
"""

from functools import lru_cache

from plotout import NotchKind, Work

NOTCHES = {
    NotchKind.SLIT: "4",
    NotchKind.V: "4",
    NotchKind.T: "80",
    NotchKind.CASTLE: "81",
    NotchKind.CHECK: "82",
    NotchKind.U: "83",
}
NOT_WORKED = ("2", "3", "5", "6", "14")
"""Layers of what describes the piece; no tool follows it."""
ONE_WAY = "ANNOTATION: one way"
BIAS = "ANNOTATION: grain line shown on the bias"
"""Of a piece whose card shows the bias: layer 7 holds its threads, 45 degrees counter-clockwise."""
_CUT = ("1", "11", *NOTCHES.values())
_PUNCHED = ("13", "hanging hole")


@lru_cache(1024)  # asked of every entity, for every role
def layer_for(layer: str, work: Work) -> str:
    """Return the layer of lines that belong on `layer`, by their work."""
    usual = Work.CUT if layer in _CUT else Work.PUNCH if layer in _PUNCHED else Work.DRAW
    return layer if work is usual and layer not in NOT_WORKED else f"{layer} {work.value}"


@lru_cache(1024)
def plain_layer(layer: str) -> str:
    """Return the standard's layer of one made by `layer_for`; any other unchanged."""
    head, _, work = layer.rpartition(" ")
    return head if work.lower() in list(Work) and head else layer
