"""Stock: the sheets, rolls and off-cuts from which cards are cut."""
