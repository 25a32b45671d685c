"""Kinds of value that a file can hold. A field of a model is one line that names its kind:

    offset: Annotated[float, Length("Blade tip behind its pivot.", most=1.5)] = 0.0

A kind reads the value, says what may be written (for `plotout explain`), and gives its JSON Schema.
"""

from plotout.tables.kinds.kind import Given, Here, KeyName, Kind
from plotout.tables.kinds.nested import ByName, Free, Inner, ListOf, Many, Point
from plotout.tables.kinds.numbers import (
    SIGNED,
    Acceleration,
    Angle,
    Count,
    Force,
    Length,
    Number,
    Quantity,
    Seconds,
    Share,
    Speed,
)
from plotout.tables.kinds.words import Choice, Date, Flag, Name, Words

__all__ = [
    "SIGNED",
    "Acceleration",
    "Angle",
    "ByName",
    "Choice",
    "Count",
    "Date",
    "Flag",
    "Force",
    "Free",
    "Given",
    "Here",
    "Inner",
    "KeyName",
    "Kind",
    "Length",
    "ListOf",
    "Many",
    "Name",
    "Number",
    "Point",
    "Quantity",
    "Seconds",
    "Share",
    "Speed",
    "Words",
]
