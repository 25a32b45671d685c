"""The record of sets: find, trust and recut them."""
