"""A front for the review room's tests."""

import pytest
from garments import a_front


@pytest.fixture
def front():
    return a_front()
