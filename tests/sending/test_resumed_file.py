"""Resumed at any unit, a file must make the machine do what is left of it, and nothing else.

What it does is read back by the interpreters, which know nothing of the sender.
"""

import pytest

from plotout import job, plugins
from plotout.sending.cutfile import cut_file

PLOTS = {
    "a move to every stroke": b"IN;SP1;VS5;PU100,100;PD200,200;PU400,400;PD500,100,600,90;PU;SP0;",
    "none where the last ended": b"IN;SP1;VS5;PU100,100;PD200,200;PU;PD300,300;PU;PD9,9;PU;SP0;",
    "several moves": b"IN;SP1;PU100,100;PD200,200;PU;PA;PU300,1;PD2,2;PU;SP2;PD4,4;PU;SP0;",
    "a pen change between": b"IN;SP1;PU100,100;PD200,200;PU;SP2;VS9;PU7,8;PD;PU;SP0;",
    "encoded, relative": b"IN;SP1;PU100,100;PE7iied;PU;PE7<iied;PU;PE7di;PU5,5;PD7,7;PU;SP0;",
}
HEAD = "G21 G90 G17 G94 M5 !G0 Z6!T2 M6!M3 S9000!"
DOWN = "!G1 Z-1 F300!"
PROGRAMS = {
    "a move to every stroke": f"G0 X5 Y5{DOWN}G1 X9 F900!G0 Z6!G0 X1 Y2{DOWN}G1 X3 F900!",
    "deeper at the same place": f"G0 X5 Y5{DOWN}G1 X9 F900!G0 Z6!G1 Z-2 F300!G1 X5 F900!",
    "one axis only": f"G0 X5 Y5{DOWN}G1 X9 F900!G0 Z6!G0 Y8{DOWN}G1 X3!G0 Z6!G0 X1{DOWN}G1 Y30!",
    "modal": f"G0 X5 Y5{DOWN}X9 F900!Y11!G0 Z6!X1 Y1{DOWN}X2 F900!",
    "an arc": f"G0 X5 Y5{DOWN}G2 X9 Y9 I4 J0 F900!G0 Z6{DOWN}G3 X5 Y5 I0 J-4 F900!",
}
CASES = [(f"{name}.plt", data, "craft-cutter") for name, data in PLOTS.items()]
CASES += [
    (f"{name}.ngc", f"{HEAD}{text}G0 Z6!M5!M2!".replace("!", "\n").encode(), "router")
    for name, text in PROGRAMS.items()
]


@pytest.mark.parametrize(("name", "data", "machine"), CASES, ids=[case[0] for case in CASES])
def test_what_is_left_is_worked_and_nothing_else(tmp_path, name, data, machine):
    profile = job.load_machine(machine)
    language = plugins.language("hpgl" if name.endswith("plt") else "gcode")
    interpreter = plugins.interpreter_for(profile.driver)

    def strokes(text):
        reading = interpreter.read(text, profile)
        assert reading.ends_safe
        assert not reading.unsafe
        return [(one.points.tolist(), one.tool, one.feed) for one in reading.traced]

    whole = strokes(data)
    path = tmp_path / name
    path.write_bytes(data)
    with cut_file(path, language, profile.step) as file:
        for unit in range(file.strokes):
            left = data[int(file.starts[unit]) :]
            found = strokes(file.head(unit) + left)
            assert len(found) == len(whole) * (file.strokes - unit) // file.strokes
            assert found == whole[len(whole) - len(found) :]
