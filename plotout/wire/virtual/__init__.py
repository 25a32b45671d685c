"""Machines that are not there: on a pseudo-terminal, for trying out and for tests.

They know nothing of the drivers, and parse by themselves. Each has a receive buffer of a stated
size, takes time for its motion, counts overruns, answers as its manual says, and draws what it
received.
"""
