"""What all tests share."""

from hypothesis import settings

settings.register_profile("plotout", deadline=None)  # a busy computer is no fault
settings.load_profile("plotout")
