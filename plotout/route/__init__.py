"""The order of the work: least travel under precedence."""
