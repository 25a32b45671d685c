"""Inner loops as machine code: compiled with the package, or in the first run on a computer."""
