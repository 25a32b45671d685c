"""Growths read and worked out, against arithmetic by hand and by Python's own fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotout import UserError
from plotout.pattern.growth import Grown, Growth, increments, read_term


def at(text, index, base=1, **measures):
    return Growth(text, read_term(text)).at(index, base, measures)


@pytest.mark.parametrize(
    ("text", "step"),
    [("5 mm", 5.0), ("1 cm", 10.0), ("1 in / 2", 12.7), ("-(2 mm + 1 mm) * 2", -6.0), ("5", 5.0)],
)
def test_lengths_grow_by_the_step(text, step):
    assert [at(text, index) for index in range(4)] == pytest.approx([-step, 0.0, step, 2 * step])


def test_measurements_give_their_own_increments():
    chest = (-40.0, 0.0, 40.0, 100.0)
    assert [at("chest / 4 + 1 mm", k, chest=chest) for k in range(4)] == [-11.0, 0.0, 11.0, 27.0]


def test_a_listed_growth_is_against_the_base():
    growth = Grown("").read(["-5 mm", "0 mm", "6 mm"])
    assert [growth.at(k, 1, {}) for k in range(3)] == [-5.0, 0.0, 6.0]
    assert increments({"chest": growth}, 3, 0) == {"chest": (0.0, 5.0, 11.0)}


@given(st.integers(-99, 99), st.integers(1, 99), st.integers(-99, 99), st.sampled_from("+-"))
def test_sums_are_as_fractions_have_them(a, b, c, sign):
    exact = Fraction(a, b) + (c if sign == "+" else -c)
    assert at(f"({a} mm / {b}) {sign} ({c} mm)", 2) == pytest.approx(float(exact))


@pytest.mark.parametrize(
    "text",
    ["", "chest *", "2 mm + 3", "chest * chest", "5 mm / 0", "1 / chest", "((1 mm)", "a.b()",
     "__import__('os')", "5 furlongs", "(" * 99 + "1" + ")" * 99, "1 mm 2 mm", "+ " * 500 + "1"],
)  # fmt: skip
def test_anything_else_is_refused(text):
    with pytest.raises(UserError):
        read_term(text)
