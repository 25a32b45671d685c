"""From a Piece to its Cards: allow, notch, fold, split, derive, letter, punch."""
