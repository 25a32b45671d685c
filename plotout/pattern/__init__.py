"""The pattern: pieces, the set file, truing, and walking seams."""
