"""The pattern itself: pieces, the set file, truing and the walking of seams."""
