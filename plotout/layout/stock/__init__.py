"""Stock: the sheets, rolls and off-cuts that cards are cut from."""
