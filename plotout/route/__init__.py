"""The order of the work: least travel under precedence."""

from plotout.route.cache import first_time
from plotout.route.order import Route, order

__all__ = ["Route", "first_time", "order"]
