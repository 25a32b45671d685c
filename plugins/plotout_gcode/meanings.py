"""The meanings of `error:n` and `ALARM:n` on most small G-code controls.

Common practice, from memory; the control's own manual takes precedence.
"""

ERRORS = {
    1: "a word that does not begin with a letter",
    2: "a number that is missing or not a number",
    3: "a setting that it does not know",
    8: "this is only allowed while it is at rest",
    9: "it is locked: home it or unlock it first",
    11: "the line is too long",
    15: "the move would leave its travel",
    20: "a code that it does not know",
    21: "two codes on one line that exclude each other",
    22: "no feed has been set",
    23: "a whole number is needed",
    26: "no axis is named",
    28: "a value is missing",
    33: "the arc's end does not lie on its circle",
    34: "the arc's radius can't be right",
    35: "the arc's centre is missing",
    36: "unused words",
}
ALARMS = {
    1: "a limit switch was hit, and it has lost its place",
    2: "the move would leave its travel",
    3: "it was reset while it moved, and has lost its place",
    8: "homing failed",
    9: "homing failed: no switch was found",
}
