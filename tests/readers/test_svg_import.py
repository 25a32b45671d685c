"""Reading an SVG leaves svgpathtools whole, though scipy's integrals are not imported with it."""

import subprocess
import sys

SAID = """
import sys
from plotout_svg.paths import subpaths
(((arc,), _),) = subpaths("M0 0 A 3 2 0 0 1 6 0")
assert "scipy.integrate" not in sys.modules
import svgpathtools
assert isinstance(arc, svgpathtools.Arc) and svgpathtools.path._quad_available
length = arc.length()
import scipy.integrate
from scipy.special import ellipe  # half the ellipse's perimeter: 2 a E(1 - b2/a2)
assert abs(length - 6.0 * ellipe(1.0 - 4.0 / 9.0)) < 1e-6, length
assert scipy.integrate.__file__
"""


def test_lengths_are_integrated_when_asked_for():
    done = subprocess.run([sys.executable, "-c", SAID], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
