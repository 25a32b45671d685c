"""svgpathtools without the integrals that it takes from scipy: to import those takes 0.3 s.

Only the length of a curve needs them. They are imported when one is taken.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any

_INTEGRALS = "scipy.integrate"


def parsed(data: str) -> list[Any]:
    """Return a path's segments by svgpathtools, which raises whatever comes up for a bad one."""
    return list(_svgpathtools().parse_path(data))


def _svgpathtools() -> Any:
    stands_in = _INTEGRALS not in sys.modules
    if stands_in:
        module = ModuleType(_INTEGRALS)
        vars(module)["quad"] = _quad
        sys.modules[_INTEGRALS] = module
    try:
        import svgpathtools
    finally:
        if stands_in:
            del sys.modules[_INTEGRALS]
    return svgpathtools


def _quad(*given: Any, **named: Any) -> Any:
    from scipy.integrate import quad

    return quad(*given, **named)
