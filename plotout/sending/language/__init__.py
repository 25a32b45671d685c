"""What a file is made of, and what a machine says: HP-GL and G-code."""

from collections.abc import Mapping

from plotout.sending.language.gcode import Gcode
from plotout.sending.language.hpgl import HPGL_ROUND, Hpgl
from plotout.sending.language.model import Heard, Language, Point

LANGUAGES: Mapping[str, Language] = {"hpgl": Hpgl(), "gcode": Gcode()}

__all__ = ["HPGL_ROUND", "LANGUAGES", "Gcode", "Heard", "Hpgl", "Language", "Point"]
