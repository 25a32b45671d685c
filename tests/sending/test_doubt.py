"""What is in doubt after a break is shown on a picture, numbered as everywhere else."""

import math
import time
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image
from plain_link import PlainLink

from plotout import plugins
from plotout.errors import MachineError
from plotout.sending.cutfile import cut_file
from plotout.sending.doubt import worked, write_picture
from plotout.sending.find import Deciding, Doubt, find_unit
from plotout.sending.journal import Told
from plotout.sending.talk import PortTalk


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_each_stroke_is_what_the_file_means(hpgl_file, gcode_file, language):
    path, strokes = (hpgl_file if language == "hpgl" else gcode_file)(5)
    scale = 0.025 if language == "hpgl" else 1.0
    with cut_file(path, plugins.language(language), 0.025) as file:
        lines = dict(worked(file, range(1, 4)))
    assert sorted(lines) == [1, 2, 3]
    for unit, line in lines.items():
        assert np.allclose(line, np.array(strokes[unit]) * scale)


def test_an_arc_is_drawn_as_one(tmp_path):
    """G3 about I, J: a half circle of radius 10 is 10 pi long, within what its chords leave."""
    path = tmp_path / "arc.gcode"
    path.write_text("G21\nG90\nG0 Z5\nG0 X10 Y0\nG1 Z-1 F300\nG3 X-10 Y0 I-10 J0\nG0 Z5\nM5\nM2\n")
    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        ((_, line),) = worked(file, range(1))
    long = sum(math.dist(one, other) for one, other in pairwise(line))
    assert long == pytest.approx(10.0 * math.pi, rel=1e-3)
    assert max(y for _, y in line) == pytest.approx(10.0, abs=0.02)


def test_the_picture_darkens_what_is_in_doubt(hpgl_file, tmp_path):
    path, _ = hpgl_file(6)
    with cut_file(path, plugins.language("hpgl"), 0.025) as file:
        for name, least, most in (("few", 2, 3), ("many", 0, 6)):
            write_picture(file, Doubt("", least, most, most), tmp_path / f"{name}.png")
    dark = {}
    for name in ("few", "many"):
        pixels = np.asarray(Image.open(tmp_path / f"{name}.png").convert("L"))
        dark[name] = int((pixels[pixels.shape[0] // 4 :] < 90).sum())
    assert dark["many"] > dark["few"] > 0


@pytest.mark.parametrize(("doubt", "asked", "unit"), [((1, 4), [(1, 3)], 2), ((3, 4), [], 3)])
def test_a_files_ending_is_no_stroke_in_doubt(tmp_path, doubt, asked, unit):
    """It lifts the tool, and may be done twice: no stroke 4 of 3 is asked for."""
    path = tmp_path / "a.gcode"
    path.write_bytes(
        b"G21\nG90\n" + b"G0 Z5\nG0 X1 Y1\nG1 Z-1 F300\nG1 X9 Y9\n" * 3 + b"G0 Z5\nM5\nM2\n"
    )
    seen = []

    def which(found):
        seen.append((found.least, found.most))
        return 2

    with cut_file(path, plugins.language("gcode"), 0.025) as file:
        assert (file.strokes, file.units) == (3, 4)
        told = Told(job={}, sent=4, doubt=doubt)
        there = find_unit(file, None, told, Deciding(lambda _text: None, which, 1.0))
    assert (seen, there.unit) == (asked, unit)


class Deaf(PlainLink):
    """A port at which nothing answers."""

    def write(self, data):
        return len(data)

    def nap(self, seconds):
        time.sleep(seconds)


@pytest.mark.parametrize("language", ["hpgl", "gcode"])
def test_where_no_machine_tells_how_far_it_came_the_user_is_told_what_to_do(
    hpgl_file, gcode_file, language
):
    path, _ = (hpgl_file if language == "hpgl" else gcode_file)(5)
    told = Told({}, done=2, sent=4)
    with (
        cut_file(path, plugins.language(language), 0.025) as file,
        pytest.raises(MachineError, match="does not answer") as fault,
    ):
        find_unit(file, PortTalk(Deaf(), file.language), told, Deciding(print, print, 1.0))
    assert "look at the sheet: plotout resume --from N" in fault.value.fix
