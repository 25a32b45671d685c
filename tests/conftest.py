"""What all tests share."""

from pathlib import Path

from hypothesis import settings

settings.register_profile("plotout", deadline=None)  # a busy computer is no fault
settings.load_profile("plotout")

WHOLE = {"test_guides.py": 0, "test_make.py": 1, "test_readme.py": 2}


def pytest_collection_modifyitems(items):
    """Begin with the tests of whole commands: at the end, they would keep one processor waiting."""
    items.sort(key=lambda item: WHOLE.get(Path(item.path).name, len(WHOLE)))
