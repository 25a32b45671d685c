"""Tests of the pattern room."""
