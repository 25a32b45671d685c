"""The record of sets: put, find, check and recut them."""
