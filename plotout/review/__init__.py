"""What a set says of itself before a card is cut: faults, notes, and what may have been meant."""
