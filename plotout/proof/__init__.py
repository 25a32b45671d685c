"""Reads files back, and draws pictures of every stage."""
