"""Nesting: cards laid close together on stock."""
