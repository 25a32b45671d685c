"""The order of the work: least travel under precedence."""

from plotout.route.order import Route, order

__all__ = ["Route", "order"]
