"""What is found in a file before it is sent."""

from plotout import job, plugins
from plotout.sending.inspect import look


def seen(tmp_path, lines, name="sheet.ngc", machine="router"):
    profile = job.load_machine(machine)
    language = plugins.language("hpgl" if name.endswith("plt") else "gcode")
    path = tmp_path / name
    path.write_text("\n".join(lines))
    return look(path, profile, language, ["router", "craft-cutter", "roll-plotter"])
