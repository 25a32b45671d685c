"""What all tests share."""

from pathlib import Path

import pytest
from hypothesis import settings

from plotout.geometry.lettering import undrawable
from plotout.tongue import letters

settings.register_profile("plotout", deadline=None)  # a busy computer is no fault
settings.load_profile("plotout")

WHOLE = {"test_guides.py": 0, "test_make.py": 1, "test_readme.py": 2}


def pytest_collection_modifyitems(items):
    """Begin with the tests of whole commands: at the end, they would keep one processor waiting."""
    items.sort(key=lambda item: WHOLE.get(Path(item.path).name, len(WHOLE)))


@pytest.fixture
def drawable():
    """Skip a test in a language for whose letters this computer has no font."""

    def check(language):
        if undrawable(letters(language)):
            pytest.skip(f"no font here for the letters of '{language}'")

    return check
