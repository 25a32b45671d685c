"""Pure functions on arrays of points in millimetres, independent of patterns."""
