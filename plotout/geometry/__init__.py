"""Pure functions on arrays of points in millimetres; knows nothing of patterns."""
